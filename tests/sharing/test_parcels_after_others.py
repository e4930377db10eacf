"""Parcels are planned for what others at this bench could not give, who send none."""

import random
from decimal import Decimal
from typing import Any

import pytest
from django.contrib.auth.models import User
from django.core.management import call_command

from inventory.models import Lot, Part
from repairs.friends import parcels
from repairs.friends.exchange import take_list
from repairs.friends.files import written
from repairs.friends.lists import SpareDocument, SpareEntry
from repairs.friends.match import friends
from repairs.friends.parcels import JobLack, Offered
from repairs.models import Need
from repairs.sharing_models import Friend
from tests.factories import JobFactory, NeedFactory, spec, stock
from tests.sharing.test_parcels import by_trying

pytestmark = pytest.mark.django_db

CHIPS = ("4116", "2114", "6845", "8255")
"""None serves for another: whoever has one has just that."""


def chip(number: str) -> Any:
    return spec("ic", None, number=number)


def has(friend: str, postage: str, pieces: dict[str, int]) -> None:
    entries = [
        SpareEntry(f"L{at}", written(chip(number)), count, "good", "", "", "", "")
        for at, (number, count) in enumerate(pieces.items(), 1)
    ]
    made = Friend.objects.create(name=friend, postage=Decimal(postage))
    take_list(made, SpareDocument("rehome-spare", 1, "2026-11-30", entries, []))


def here(owner: User, number: str, pieces: int) -> None:
    held = stock(pieces, part=Part.of(chip(number)))
    Lot.objects.filter(pk=held.lot_id).update(owner=owner)


@pytest.mark.parametrize("seed", range(15))
def test_no_choice_of_friends_does_better_for_what_others_leave(seed: int, merle: User) -> None:
    """Others' pieces go to the first jobs in line, by hand; of the rest every choice is tried."""
    drawn = random.Random(seed)
    at_others = {number: drawn.randint(0, 3) for number in CHIPS}
    wanted = {
        (f"job {job}", number): drawn.randint(1, 3)
        for job in range(4)
        for number in drawn.sample(CHIPS, drawn.randint(1, 2))
    }
    lists = {
        f"f{each}": {number: drawn.randint(1, 4) for number in drawn.sample(CHIPS, 2)} for each in range(3)
    }
    postage = {name: drawn.choice([120, 250, 480]) for name in lists}
    jobs = {f"job {each}": JobFactory(name=f"job {each}", priority=each + 1) for each in range(4)}
    for (job, number), pieces in wanted.items():
        NeedFactory(of=chip(number), job=jobs[job], quantity=pieces)
    for number, pieces in at_others.items():
        if pieces:
            here(merle, number, pieces)
    for name, pieces_of in lists.items():
        has(name, str(Decimal(postage[name]) / 100), pieces_of)

    lacks, given = [], 0
    for (job, number), pieces in wanted.items():  # in the order of their jobs
        of_others = min(pieces, at_others[number])
        at_others[number] -= of_others
        given += of_others
        if pieces > of_others:
            lacks.append(JobLack((job, number), job, pieces - of_others))
    offers = [
        Offered((name, number), name, pieces, frozenset(each.id for each in lacks if each.id[1] == number))
        for name, pieces_of in lists.items()
        for number, pieces in pieces_of.items()
    ]

    found = friends().parcels
    assert not found.truncated
    assert found.of_others == given
    best = by_trying(lacks, offers, postage)
    assert (len(found.closes), len(found.parcels), int(found.postage * 100)) == best


@pytest.fixture
def both_could(merle: User) -> Need:
    """Five are wanted, of which somebody here has two and a friend three."""
    here(merle, "4116", 2)
    need: Need = NeedFactory(of=chip("4116"), quantity=5, job=JobFactory(name="Mend the Tern"))
    has("Fenland", "1.00", {"4116": 3})
    return need


def test_what_others_could_give_is_in_no_parcel_and_is_said(
    both_could: Need, viewer: Any, client: Any, capsys: Any
) -> None:
    told = viewer.get("/api/v1/friends/").json()["parcels"]
    assert (told["closes"], told["of_others"]) == (["Mend the Tern"], 2)
    assert [line["quantity"] for each in told["parcels"] for line in each["lines"]] == [3]
    client.force_login(viewer.person)
    page = client.get("/friends/").content.decode()
    assert "No parcel is planned for 2 pieces that others here could give" in page
    call_command("friends")
    assert "others here could give 2 first: ask them" in capsys.readouterr().out


def test_a_search_cut_short_that_found_nothing_is_said_on_the_page(
    both_could: Need, client: Any, viewer: Any, monkeypatch: Any
) -> None:
    monkeypatch.setattr(
        "repairs.friends.match.fewest",
        lambda *_: parcels.Parcels(truncated=True, jobs_at_most=1, parcels_at_least=0),
    )
    client.force_login(viewer.person)
    page = client.get("/friends/").content.decode()
    assert "No parcel was found that closes a job. The search was cut short: at most 1 more could" in page
