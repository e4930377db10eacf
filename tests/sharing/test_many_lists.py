"""Of a great many lists: as much is read as could be used, and what a short search leaves open is told."""

from decimal import Decimal
from typing import Any

import pytest
from django.core.management import call_command

from repairs.friends import exchange, offered, parcels
from repairs.friends.match import fewest_parcels, friends
from repairs.friends.offered import FriendsShelf
from repairs.sharing_models import Friend, FriendAsk, FriendLine
from repairs.supply_and_demand import planned
from tests.factories import JobFactory, NeedFactory, spec
from tests.sharing.test_friends import CHIP, RESISTOR, a_list, friend_with

pytestmark = pytest.mark.django_db
NEEDED = {"tolerance_percent": Decimal(5), "watts": Decimal("0.25")}


def shelf() -> FriendsShelf:
    bench, plan = planned()
    return FriendsShelf.load(plan.lacking(bench.demands), bench.recorded)


@pytest.fixture
def many(monkeypatch: Any) -> None:
    """Ten workshops with two resistors each, of which more lines than are read."""
    job = JobFactory(name="Mend the Tern")
    NeedFactory(of=spec(**NEEDED), quantity=5, job=job)
    NeedFactory(of=spec("ic", None, number="4116"), quantity=1, job=job)
    for number in range(10):
        friend_with(RESISTOR, name=f"Workshop {number}", postage=f"{9 - number // 2}.00")
    friend_with(CHIP, name="The chip", postage="1.00")
    exchange.ask(FriendLine.objects.filter(friend__name="Workshop 9").get(), 1)
    monkeypatch.setattr(offered, "ALL_LINES", 10)
    monkeypatch.setattr(offered, "FIRST_LINES", 1)


def test_the_lines_of_least_postage_are_read_until_all_that_is_lacking_is_covered(many: None) -> None:
    """Five and the one asked for: three lines of two pieces, of the workshops with the least postage."""
    found = shelf()
    assert not found.complete
    names = sorted(line.friend.name for line in found.lines.values())
    assert names == ["The chip", "Workshop 6", "Workshop 8", "Workshop 9"]
    assert sum(each.quantity for each in found.plan()) == 6, "the plan is as good as with every line"


def test_the_fewest_parcels_see_every_list_all_the_same(many: None) -> None:
    exchange.take_list(Friend.objects.get(name="Workshop 0"), a_list(RESISTOR, RESISTOR, RESISTOR))
    here = shelf()
    found, sent = fewest_parcels(here, here.not_asked_for())
    assert not found.truncated
    assert {line.friend.name for line, _, _ in sent} == {"The chip", "Workshop 0"}
    assert sum(quantity for _, quantity, _ in sent) == 6
    assert all(quantity <= line.left for line, quantity, _ in sent)


def test_what_is_open_is_shown_however_much_was_asked_since(many: None, client: Any, viewer: Any) -> None:
    waiting = FriendAsk.objects.get()
    FriendAsk.objects.bulk_create(
        FriendAsk(
            friend=waiting.friend, line=waiting.line, spec=waiting.spec, quantity=1, condition="good",
            state="cancelled",
        )
        for _each in range(1000)
    )  # fmt: skip
    client.force_login(viewer.person)
    assert [*client.get("/friends/").context["asked"]] == [waiting]


def test_how_far_a_short_search_may_be_from_the_best_is_told_everywhere(
    many: None, viewer: Any, client: Any, capsys: Any, monkeypatch: Any
) -> None:
    monkeypatch.setattr(parcels, "MAX_COLUMNS", 0)
    told = viewer.get("/api/v1/friends/").json()["parcels"]
    assert (told["truncated"], told["jobs_at_most"], len(told["closes"])) == (True, 1, 1)
    assert 1 <= told["parcels_at_least"] <= len(told["parcels"]) == 4
    words = friends().parcels.how_far
    assert "no choice closes more jobs" in words
    call_command("friends")
    assert words in capsys.readouterr().out
    client.force_login(viewer.person)
    assert words in client.get("/friends/").content.decode()
