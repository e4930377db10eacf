"""A trace is true: held against every way in which the very pieces can have moved."""

from collections.abc import Iterator
from decimal import Decimal
from itertools import combinations
from typing import Any

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from inventory import ledger
from inventory.ledger import Refused, Spot
from inventory.models import Holding, Lot, Movement, Place
from inventory.traces import trace_lot
from tests.factories import BoardFactory, PartFactory, PersonFactory, PlaceFactory, stock

Node = tuple[int, int]  # a lot and a place; -1 is outside
Life = list[tuple[int | None, Node]]  # of one piece: the line that carried it, and where to


def lives() -> Iterator[list[Life]]:
    """Every way in which single pieces can have gone through the movements, one after another."""
    outside = Place.outside().pk
    lines = [
        (
            line.pk,
            line.quantity,
            None if line.from_place_id == outside else (line.lot_id, line.from_place_id),
            None if line.to_place_id == outside else (line.to_lot_id or line.lot_id, line.to_place_id),
        )
        for line in Movement.objects.order_by("id")
    ]

    def go(index: int, pieces: list[Life]) -> Iterator[list[Life]]:
        if index == len(lines):
            yield pieces
            return
        pk, quantity, source, target = lines[index]
        end: Node = target or (-1, -1)
        if source is None:
            yield from go(index + 1, [*pieces, *([(pk, end)] for _ in range(quantity))])
            return
        here = [number for number, life in enumerate(pieces) if life[-1][1] == source]
        for chosen in combinations(here, quantity):
            moved = [[*life, (pk, end)] if number in chosen else life for number, life in enumerate(pieces)]
            yield from go(index + 1, moved)

    yield from go(0, [])


def expected(lot: Lot) -> tuple[set[int | None], set[Node], set[Node]]:
    """Lines that can have carried a piece of this lot, where such pieces can be, and where others can."""
    answer: set[int | None] = set(Movement.objects.filter(lot=lot).values_list("id", flat=True))
    answer |= set(Movement.objects.filter(to_lot=lot).values_list("id", flat=True))
    ours: set[Node] = set()
    others: set[Node] = set()
    for pieces in lives():
        for life in pieces:
            if any(node[0] == lot.pk for _line, node in life):
                answer |= {line for line, _node in life}
                ours.add(life[-1][1])
            else:
                others.add(life[-1][1])
    return answer, ours - {(-1, -1)}, others


STEP = st.tuples(
    st.sampled_from(["receive", "move", "split", "merge", "merge", "count", "reverse"]),
    st.integers(0, 5),
    st.integers(0, 5),
    st.integers(1, 2),
)


def act(step: tuple[str, int, int, int], part: Any, places: list[Place]) -> None:
    """One thing done at the bench, if it can be."""
    what, first, second, quantity = step
    held = list(Holding.objects.filter(quantity__gt=0).select_related("lot").order_by("id"))
    if what == "receive" and sum(each.quantity for each in held) < 4:
        stock(quantity, part=part, place=places[first % 2])
        return
    if not held:
        return
    here = held[first % len(held)]
    at, to = Spot(here.place_id), Spot(places[second % 2].pk)
    if what == "move":
        ledger.move(here.lot, at, to, quantity, by=None)
    elif what == "split":
        ledger.split(here.lot, at, quantity, condition=here.lot.condition, by=None)
    elif what == "merge":
        ledger.merge(here.lot, held[second % len(held)].lot, at, to, quantity, by=None)
    elif what == "count":
        ledger.count(here.lot, at, max(here.quantity + (second % 3) - 1, 0), by=None)
    elif what == "reverse":
        lines = list(Movement.objects.order_by("id"))
        ledger.reverse(lines[second % len(lines)], by=None)


@pytest.mark.django_db
@settings(max_examples=120, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(steps=st.lists(STEP, min_size=2, max_size=9))
def test_a_trace_tells_what_can_have_happened_and_nothing_else(
    steps: list[tuple[str, int, int, int]],
) -> None:
    from django.db import transaction

    with transaction.atomic():
        part, places = PartFactory(), [PlaceFactory(), PlaceFactory()]
        for step in steps:
            try:
                act(step, part, places)
            except Refused:
                continue
        for lot in Lot.objects.all():
            answer, ours, others = expected(lot)
            trace = trace_lot(lot)
            assert [line.pk for line in trace.movements] == sorted(pk for pk in answer if pk is not None)
            now = {(there.holding.lot_id, there.holding.place_id): there.mixed for there in trace.now}
            assert now.keys() == ours
            for node, mixed in now.items():
                assert mixed == (node[0] != lot.pk and node in others)
            own = sum(there.holding.quantity for there in trace.now if there.holding.lot_id == lot.pk)
            assert own == sum(lot.holdings.values_list("quantity", flat=True))
        transaction.set_rollback(True)


@pytest.mark.django_db
def test_pieces_that_left_before_a_spot_was_filled_anew_have_no_part_in_it() -> None:
    """All three go to a tray, two more turn up in the drawer: what is split off those never saw the tray."""
    held = stock(3)
    tray = PlaceFactory()
    ledger.move(held.lot, Spot(held.place_id), Spot(tray.pk), 3, by=None)
    found = ledger.count(held.lot, Spot(held.place_id), 2, by=None)
    apart = ledger.split(held.lot, Spot(held.place_id), 2, condition="good", by=None)
    trace = trace_lot(apart.to_lot)
    assert [line.pk for line in trace.movements] == [found.pk, apart.pk]


@pytest.mark.django_db
def test_merged_pieces_are_shown_among_others() -> None:
    one, other = stock(2), stock(3)
    assert one.lot.part == other.lot.part
    ledger.merge(one.lot, other.lot, Spot(one.place_id), Spot(other.place_id), 2, by=None)
    there = trace_lot(one.lot).now
    assert [(where.holding.lot_id, where.holding.quantity, where.mixed) for where in there] == [
        (other.lot_id, 5, True)
    ]
    came = trace_lot(other.lot).movements
    assert {line.lot_id for line in came} == {one.lot_id, other.lot_id}


@pytest.mark.django_db
def test_what_is_split_off_is_known_as_well_as_what_stays() -> None:
    """Whatever column a lot has, a new one too."""
    held = stock(5, condition="untested")
    known = {
        "origin_source": "board", "origin_board": BoardFactory(), "origin_ref": "C7", "origin_from": "Wren",
        "marking": "104K", "measured": 98, "measured_tolerance": Decimal("0.5"), "note": "case cracked",
        "owner": PersonFactory(),
    }  # fmt: skip
    own = {"id", "part", "condition", "split_from", "version"}
    assert {column.name for column in Lot._meta.concrete_fields} == {*known, *own}
    for name, value in known.items():
        setattr(held.lot, name, value)
    held.lot.save()
    off = ledger.split(held.lot, Spot(held.place_id), 2, condition="good", by=None).to_lot
    off.refresh_from_db()
    assert {name: getattr(off, name) for name in known} == known
    assert (off.part, off.condition, off.split_from) == (held.lot.part, "good", held.lot)
