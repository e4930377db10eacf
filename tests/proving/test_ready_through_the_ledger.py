"""The same property through the database: movements, trials, settings and readings as services write them.

Whatever is done, in any order, what the database says of a board is what the plain history says of it, and
ready is only said where every item passes.
"""

from collections.abc import Iterator
from dataclasses import replace
from decimal import Decimal
from typing import Any

import pytest
from hypothesis import example, given, settings
from hypothesis import strategies as st

from inventory import ledger
from inventory.ledger import Refused, Spot
from inventory.models import Board, Design, Holding, Lot
from repairs import bringing_up, readiness, trials
from repairs.proving import ready
from repairs.proving.rails import BoardRailReading, with_negative_first
from tests.examples import examples
from tests.factories import BoardFactory, DesignFactory, PartFactory, PlaceFactory, stock
from tests.proving.test_ready import DRAWN, REQUIRED, STEPS, WHOLE_WAY, History

pytestmark = pytest.mark.django_db
PROTECTED = ("U1", "U2")
DESIGN = replace(
    DRAWN, rails=with_negative_first(DRAWN.rails, {ref: [spec] for ref, spec in REQUIRED.items()})[0]
)
DRAWN_AS_DATA = {
    "links": [
        {
            "name": "LK1", "settings": ["1-2", "2-3"],
            "rules": [
                {"setting": "1-2", "when": {"bank": "memory", "make": "Hitachi"}},
                {"setting": "2-3", "when": {"bank": "memory", "make": "NEC"}},
            ],
        }
    ],
    "rails": [{"name": "-5V", "nominal": "-5", "low": "-5.25", "high": "-4.75", "order": 1}],
    "banks": [{"name": "memory", "refs": ["U1", "U2"], "equal": ["make"], "counts": [2]}],
}  # fmt: skip


class Bench(History):
    """Does each thing at the bench, and writes it into the plain history where the bench did not refuse."""

    board: Board
    tray: Any

    def fit(self, ref: str, make: str = "", condition: str = "good") -> None:
        if ref not in self.pieces:
            there = stock(part=PartFactory(of=replace(REQUIRED[ref], make=make)), condition=condition)
            ledger.fit(there.lot, Spot(there.place_id), self.board, ref, by=None)
        super().fit(ref, make, condition)

    def remove(self, ref: str) -> None:
        if ref in self.pieces:
            ledger.remove(self.board, ref, Spot(self.tray.pk), by=None)
        super().remove(ref)

    def try_out(self, ref: str, condition: str) -> None:
        if ref in self.pieces:
            trials.record(by=None, lot=self.lot_at(ref), method="look", verdict=condition)
        super().try_out(ref, condition)

    def lot_at(self, ref: str) -> Lot:
        return Holding.objects.get(place_id=self.board.place_id, ref=ref, quantity=1).lot

    def set_link(self, setting: str) -> None:
        bringing_up.set_links(self.board, {"LK1": setting}, by=None)
        super().set_link(setting)

    def confirm(self, check: str, ref: str, right: bool) -> None:
        try:
            if check == "orientation":
                bringing_up.confirm_orientation(self.board, [ref], by=None, right=right)
            else:
                bringing_up.confirm(self.board, check, by=None, right=right)
        except Refused:
            assert ref not in self.pieces
            return
        super().confirm(check, ref, right)

    def read_rail(self, stage: str, amount: str, ref: str = "") -> None:
        refs = [ref] if ref else []
        bringing_up.read_rail(self.board, "-5V", stage, Decimal(amount), by=None, refs=refs)
        facts = self.facts()
        filled = tuple(each for each in PROTECTED if each in self.pieces)
        self.readings.append(
            BoardRailReading("-5V", stage, Decimal(amount), facts.stamp, ref, "", PROTECTED, filled)
        )

    def accept(self, check: str, subject: str) -> None:
        try:
            bringing_up.accept(self.board, check, [subject], "known from before", by=None)
        except Refused:
            return
        super().accept(check, subject)


def at_the_bench() -> Bench:
    design = DesignFactory(positions=REQUIRED)
    Design.objects.filter(pk=design.pk).update(**DRAWN_AS_DATA)
    design.positions.filter(ref__in=PROTECTED).update(socketed=True)
    design.refresh_from_db()
    bench = Bench(design=DESIGN)
    bench.board = BoardFactory(design=design, purpose="under_repair")
    bench.tray = PlaceFactory()
    return bench


def findings_of(answer: ready.Readiness) -> list[tuple[str, str, str, tuple[str, ...]]]:
    return sorted((item.check, item.subject, item.state, item.refs) for item in answer.items)


def states(bench: Bench, steps: list[tuple[Any, ...]]) -> Iterator[str]:
    for step in steps:
        getattr(bench, step[0])(*step[1:])
        answer, plain = readiness.judge(bench.board), ready.judge(bench.facts())
        assert findings_of(answer) == findings_of(plain), bench.events
        assert (answer.verdict == "ready") == all(item.state == "pass" for item in answer.items)
        yield answer.verdict


# U2 is a three-rail memory too: it goes in after the rail, and is measured at its pins as well.
LAST = ("fit", "U2", "Hitachi")
WAY = [step for step in WHOLE_WAY if step != LAST]
WAY.insert(WAY.index(("fit", "U1", "Hitachi")), LAST)
WAY.append(("read_rail", "at_pins", "-5.0", "U2"))


def test_the_whole_way_leads_to_ready_through_the_database() -> None:
    *on_the_way, last = states(at_the_bench(), WAY)
    assert "ready" not in on_the_way
    assert last == "ready"


@settings(max_examples=examples(4, 24))
@given(st.lists(STEPS, max_size=8), st.integers(0, len(WAY)))
@example([("set_link", "2-3"), ("set_link", "1-2")], len(WAY))
@example([("remove", "C1"), ("fit", "C1")], len(WAY))
@example([("try_out", "U1", "faulty"), ("accept", "condition", "U1")], len(WAY))
def test_no_sequence_at_the_bench_is_ready_with_an_open_or_failed_item(
    disturbance: list[tuple[Any, ...]], at: int
) -> None:
    for _verdict in states(at_the_bench(), [*WAY[:at], *disturbance, *WAY[at:]]):
        pass
