"""A club on one database: what the plan leaves alone is named with whom to ask, and refereed one by one."""

import random
from decimal import Decimal
from typing import Any

import pytest
from django.contrib.auth.models import User
from django.core.management import CommandError, call_command
from django.urls import reverse

from inventory.models import Holding, Lot, Part
from inventory.spec import fits
from repairs import offers, planning
from repairs.answers.buy.listing import to_buy
from repairs.answers.make_up.plan import made_up_for_required
from repairs.answers.shortages import shortages, suppose
from repairs.answers.why.explaining import explain
from repairs.friends.exchange import take_list
from repairs.friends.files import written
from repairs.friends.lists import SpareDocument, SpareEntry
from repairs.models import Job, Need, Purchase
from repairs.sharing_models import Friend
from repairs.supply_and_demand import planned
from repairs.wanted import wanted
from tests.factories import BoardFactory, JobFactory, NeedFactory, PartFactory, spec, stock

pytestmark = pytest.mark.django_db


def owned(holding: Holding, owner: User | None) -> Holding:
    Lot.objects.filter(pk=holding.lot_id).update(owner=owner)
    return Holding.objects.select_related("lot").get(pk=holding.pk)


def test_what_is_anothers_stays_short_and_says_whom_to_ask(merle: User, wren: User) -> None:
    owned(stock(2), merle)
    need = NeedFactory(job=JobFactory(name="Mend the Tern", owner=wren), quantity=3)
    [row] = shortages()
    assert (row.free, row.short, row.at_others) == (0, 3, 2)
    [may] = row.others
    assert (may.owner, may.quantity, may.job_name, may.grade) == ("merle", 2, "Mend the Tern", "same")
    assert f"ask merle for lot {may.lot}" in row.next_step
    assert "merle has 2 pieces" in " ".join(explain(need).sentences)
    [line] = to_buy().results
    assert line.needed == 3, "until she says yes it is short"
    assert line.friends_words.startswith("merle here has 2: same")
    assert [each.owner for each in made_up_for_required(need.spec).others] == ["merle"]
    [offer] = offers.offers(need)
    assert (offer.fit.grade, offer.fit.reasons[0].property) == ("ask", "owner")
    [found] = wanted(Lot.objects.get(pk=may.lot))
    assert found.fit.reasons[0].property == "owner"


def test_what_if_a_board_is_stripped_that_is_anothers_names_what_it_would_give(
    merle: User, wren: User
) -> None:
    donor = BoardFactory(name="Her Plover", owner=merle)
    owned(stock(1, place=donor.place, ref="R1", source="board", board=donor), merle)
    NeedFactory(job=JobFactory(owner=wren))
    [row] = suppose(["strip:Her Plover"]).results
    assert (row.short, row.at_others) == (1, 1)
    assert [(each.owner, each.tier) for each in row.others] == [("merle", "drawer")]


def test_ones_own_pieces_serve_ones_own_jobs_as_they_always_did(merle: User) -> None:
    owned(stock(2), merle)
    need = NeedFactory(job=JobFactory(owner=merle), quantity=2)
    [row] = shortages()
    assert (row.free, row.short, row.at_others, row.others) == (2, 0, 0, [])
    assert offers.offers(need)[0].fit.grade == "same"


def test_a_job_that_is_everybodys_takes_nobodys_own(merle: User) -> None:
    owned(stock(2), merle)
    NeedFactory(quantity=1)
    [row] = shortages()
    assert (row.free, row.short, row.at_others) == (0, 1, 1)


def test_friends_are_asked_for_what_others_here_could_not_fill(merle: User) -> None:
    owned(stock(2), merle)
    need = NeedFactory(quantity=5)
    entry = SpareEntry("L1", written(need.spec.spec), 9, "good", "", "", "", "")
    take_list(
        Friend.objects.create(name="Fenland"), SpareDocument("rehome-spare", 1, "2026-11-30", [entry], [])
    )
    [row] = shortages()
    assert (row.short, row.at_others, row.at_friends) == (5, 2, 3)
    [line] = to_buy().results
    assert (line.needed, [each.would for each in line.friends]) == (5, [3]), "the same on the buy list"
    assert [each.would for each in made_up_for_required(need.spec).friends] == [3]


def test_others_are_looked_through_once_for_a_plan_and_not_at_all_where_nobody_owns_anything(
    merle: User, monkeypatch: pytest.MonkeyPatch
) -> None:
    held = stock(2)
    NeedFactory(quantity=5)
    looked: list[object] = []
    really = planning.plan

    def counted(*args: Any, **named: Any) -> Any:
        looked.append(named)
        return really(*args, **named)

    bench, plan = planned()
    monkeypatch.setattr(planning, "plan", counted)
    assert (bench.of_others(plan).takes, looked) == ((), [])
    owned(held, merle)
    bench, plan = planned()
    looked.clear()
    assert bench.of_others(plan) is bench.of_others(plan)
    assert [each.quantity for each in bench.of_others(plan).takes] == [2]
    assert len(looked) == 1


def test_nothing_of_anothers_is_made_up(merle: User, wren: User) -> None:
    required = spec("resistor", "2k35", tolerance_percent=Decimal(5), watts=Decimal("0.25"))
    owned(stock(2), merle)
    need = NeedFactory(of=required, job=JobFactory(owner=wren))
    assert made_up_for_required(need.spec).ways == []
    Job.objects.update(owner=merle)
    assert [way.arrangement for way in made_up_for_required(need.spec).ways] == ["4k7 ∥ 4k7"]


@pytest.mark.parametrize("seed", range(12))
def test_who_has_what_is_what_judging_piece_by_piece_finds(seed: int, merle: User, wren: User) -> None:
    """By trying: no more is found than there is, none of it one's own or everybody's, and nothing that
    would serve is left where a job is short of it."""
    dice = random.Random(seed)
    people = [None, merle, wren]
    specs = [
        spec("resistor", value, watts=Decimal(watts)) for value in ("4k7", "10k") for watts in ("0.25", "1")
    ]
    for _lot in range(dice.randint(3, 8)):
        owned(stock(dice.randint(1, 3), part=PartFactory(of=dice.choice(specs))), dice.choice(people))
    for _job in range(dice.randint(2, 5)):
        job = JobFactory(owner=dice.choice(people), priority=dice.randint(1, 5))
        NeedFactory(job=job, of=dice.choice(specs), quantity=dice.randint(1, 4))
    bench, plan = planned()
    found = bench.of_others(plan)
    used: dict[Any, int] = {}
    for take in [*plan.takes, *found.takes]:
        used[take.supply] = used.get(take.supply, 0) + take.quantity
    owners = dict(Job.objects.values_list("id", "owner_id"))
    for take in found.takes:
        assert take.supply.owner not in (0, owners[take.demand.job])
    left = {alike: shelf.free - used.get(alike, 0) for alike, shelf in bench.shelves.items()}
    assert min(left.values(), default=0) >= 0
    given: dict[Any, int] = {}
    for take in found.takes:
        given[take.demand] = given.get(take.demand, 0) + take.quantity
    required = {need.spec_id: need.spec.spec for need in Need.objects.select_related("spec")}
    offered = {part.pk: part.spec.spec for part in Part.objects.select_related("spec")}
    for line, short in plan.short.items():
        if short > given.get(line, 0):
            for alike, pieces in left.items():
                anothers = alike.owner not in (0, owners[line.job])
                serves = fits(required[line.spec], offered[alike.part]).grade not in ("ask", "no")
                assert not (pieces and anothers and serves)


@pytest.fixture
def both_could(merle: User) -> Need:
    """Five are wanted, of which somebody here has two and a friend nine."""
    owned(stock(2), merle)
    need: Need = NeedFactory(quantity=5, job=JobFactory(name="Mend the Tern"))
    entry = SpareEntry("L1", written(need.spec.spec), 9, "good", "", "", "", "")
    friend = Friend.objects.create(name="Fenland", postage=Decimal("1.00"))
    take_list(friend, SpareDocument("rehome-spare", 1, "2026-11-30", [entry], []))
    Part.objects.update(price=Decimal("0.50"))
    return need


@pytest.mark.parametrize("friends", ["first", "cost"])
def test_others_here_come_before_friends_whichever_way_friends_are_asked(
    both_could: Need, viewer: Any, friends: str
) -> None:
    told = viewer.get(f"/api/v1/buy/?friends={friends}").json()
    [here], [away] = told["ask_others"], told["ask_friends"]
    assert (here["owner"], here["quantity"], here["requirement"]) == ("merle", 2, both_could.spec_id)
    assert (away["friend_name"], away["quantity"]) == ("Fenland", 3)
    assert (told["totals"]["from_others"], told["totals"]["from_friends"], told["results"]) == (2, 3, [])
    assert told["completions"] == [], "nothing that is bought completes it"


def test_the_buy_page_and_command_say_what_is_asked_of_others_here(
    both_could: Need, bench: Any, client: Any, capsys: Any
) -> None:
    client.force_login(bench.person)
    page = " ".join(client.get(f"{reverse('buy')}?friends=first").content.decode().split())
    assert "2 pieces left off the list, to be asked of others here first" in page
    assert "Nothing is left to buy if others here and your friends say yes" in page
    assert f'<a href="{reverse("shortage", args=[both_could.spec_id])}">Ask merle</a>' in page
    anyway = " ".join(client.get(reverse("buy")).content.decode().split())
    assert "Others here and friends have some of it" in anyway
    assert "On the list, though others here have it" in anyway
    assert f'<a href="{reverse("shortage", args=[both_could.spec_id])}">Ask merle</a>' in anyway
    call_command("buy", "--friends", "first")
    told = capsys.readouterr().out
    assert "to be asked of others here: 2 pieces" in told
    assert "to be asked of friends: 3 pieces" in told


def test_orders_by_command_are_of_the_list_as_friends_leave_it(both_could: Need, capsys: Any) -> None:
    Need.objects.update(quantity=15)
    part = str(Part.objects.get().pk)
    with pytest.raises(CommandError, match="--friends never: expected first, anyway, cost"):
        call_command("buy", "order", part, "--friends", "never")
    with pytest.raises(CommandError, match="--postage dear"):
        call_command("buy", "order", part, "--friends", "cost", "--postage", "dear")
    assert not Purchase.objects.exists()
    call_command("buy", "order", part, "--friends", "first")
    assert Purchase.objects.get().quantity == 4, "15 less 2 of others here and 9 of the friend"
