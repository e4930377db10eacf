"""Whatever a bench does: nothing appears, vanishes, is promised twice or forgets its origin."""

from collections import Counter
from collections.abc import Callable
from decimal import Decimal

import pytest
from django.db import transaction
from hypothesis import HealthCheck, settings
from hypothesis import strategies as st
from hypothesis.stateful import (
    RuleBasedStateMachine,
    invariant,
    precondition,
    rule,
    run_state_machine_as_test,
)

from inventory import ledger
from inventory.ledger import Arrival, Origin, Refused, Spot
from inventory.models import Board, Design, Holding, Lot, Movement, Part, Place, Position, StoredSpec
from repairs import jobs, loans, reservations
from repairs.audit import audit
from repairs.loans import all_loans
from repairs.models import Job, Need, Reservation
from tests.examples import examples
from tests.factories import PlaceFactory, spec
from tests.parts import RESISTOR

REFS = ["R1", "R2", "R3", "C1"]
CAPACITOR = spec("capacitor", "100n", volts=Decimal(63), dielectric="film")
few = st.integers(1, 4)
pick = st.integers(0, 10_000)


class Bench(RuleBasedStateMachine):
    """A small workshop: two drawers, a person, a donor, a working board and a board under repair."""

    def __init__(self) -> None:
        super().__init__()
        self.outer = transaction.atomic()
        self.outer.__enter__()
        self.parts = [Part.of(RESISTOR), Part.of(CAPACITOR)]
        self.drawers = [PlaceFactory(), PlaceFactory(type=Place.Type.TRAY)]
        self.person = PlaceFactory(type=Place.Type.PERSON)
        design = Design.objects.create(name="Plover", revision="A")
        for ref in REFS:
            Position.objects.create(
                design=design, ref=ref, spec=StoredSpec.keep(CAPACITOR if ref[0] == "C" else RESISTOR)
            )
        self.donor, self.working, self.target = (
            Board.objects.create(
                name=purpose,
                design=design,
                purpose=purpose,
                place=Place.objects.create(name=purpose, type=Place.Type.BOARD),
            )
            for purpose in ("donor", "working", "under_repair")
        )
        self.job = jobs.open_job(refs="all", by=None, name="Bring Plover back", board=self.target)
        self.pieces: Counter[int] = Counter()  # part -> pieces that should exist, counted here by hand
        self.origins: dict[int, tuple[int | None, str]] = {}
        self.done = 0

    def teardown(self) -> None:
        transaction.set_rollback(True)
        self.outer.__exit__(None, None, None)

    def attempt(self, act: Callable[[], object]) -> object | None:
        """Do it or be refused; anything else is a fault of the ledger."""
        before = self.snapshot()
        try:
            with transaction.atomic():
                answer = act()
        except Refused:
            assert self.snapshot() == before, "a refusal changes nothing"
            return None
        self.done += 1
        return answer

    def snapshot(self) -> tuple[object, ...]:
        return (
            list(Holding.objects.order_by("id").values_list("id", "quantity", "promised")),
            list(Need.objects.order_by("id").values_list("id", "promised", "fitted")),
            Movement.objects.count(),
        )

    def holding(self, number: int) -> Holding | None:
        held = list(
            Holding.objects.filter(quantity__gt=0).select_related("lot__part__spec", "place").order_by("id")
        )
        return held[number % len(held)] if held else None

    @rule(quantity=few, part=st.integers(0, 1), drawer=st.integers(0, 1))
    def receive(self, quantity: int, part: int, drawer: int) -> None:
        arrival = Arrival(
            part=self.parts[part],
            quantity=quantity,
            to=Spot(self.drawers[drawer].pk),
            origin=Origin(source="bought", giver="Harbour Radio"),
            condition="good",
        )
        ledger.receive(arrival, by=None)
        self.pieces[self.parts[part].pk] += quantity

    def off_a_board(self, board: Board, ref: str, act: Callable[[], object]) -> None:
        """Lift a piece; one that was not on record before is one piece more."""
        on_record = Holding.objects.filter(
            lot__origin_board=board, lot__origin_ref=ref, quantity__gt=0
        ).exists()
        if lines := self.attempt(act):
            assert isinstance(lines, list)
            lot = lines[0].lot
            if (lot.origin_board_id, lot.origin_ref) == (board.pk, ref) and not on_record:
                self.pieces[lot.part_id] += 1

    @rule(ref=st.sampled_from(REFS), drawer=st.integers(0, 1))
    def lift(self, ref: str, drawer: int) -> None:
        to = Spot(self.drawers[drawer].pk)
        self.off_a_board(self.donor, ref, lambda: reservations.lift(self.donor, [ref], to, by=None))

    @rule(ref=st.sampled_from(REFS))
    def borrow(self, ref: str) -> None:
        to = Spot(self.drawers[0].pk)
        self.off_a_board(
            self.working, ref, lambda: loans.borrow(self.working, [ref], to, by=None, job=self.job)
        )

    @precondition(lambda self: self.done > 3)
    @rule(number=pick, like=st.booleans())
    def give_back(self, number: int, like: bool) -> None:
        owed = list(all_loans().filter(owed__gt=0))
        if not owed:
            return
        loan = owed[number % len(owed)]
        here = self.holding(number) if like else None
        self.attempt(
            lambda: loans.give_back(
                loan,
                by=None,
                lot=here.lot if here and loan.movement.borrow else None,
                source=Spot(here.place_id, here.ref) if here and loan.movement.borrow else None,
            )
        )

    @rule(number=pick, drawer=st.integers(0, 1), quantity=few)
    def move(self, number: int, drawer: int, quantity: int) -> None:
        if here := self.holding(number):
            source, target = Spot(here.place_id, here.ref), Spot(self.drawers[drawer].pk)
            some = min(quantity, here.quantity)
            self.attempt(lambda: reservations.move(here.lot, source, target, some, by=None))

    @rule(number=pick, need=pick, quantity=st.sampled_from([1, 1, 1, 2]))
    def promise(self, number: int, need: int, quantity: int) -> None:
        if here := self.holding(number):
            same = list(self.job.needs.filter(spec=here.lot.part.spec).order_by("id"))
            self.attempt(lambda: reservations.reserve(same[need % len(same)], here, quantity, by=None))

    @rule(number=pick, fit=st.booleans())
    def keep_or_release_a_promise(self, number: int, fit: bool) -> None:
        held = list(Reservation.objects.order_by("id"))
        if held:
            promise = held[number % len(held)]
            self.attempt(
                lambda: reservations.fit_promised(promise, by=None) if fit else reservations.release(promise)
            )

    @rule(number=pick, ref=st.sampled_from(REFS))
    def fit(self, number: int, ref: str) -> None:
        if here := self.holding(number):
            spot = Spot(here.place_id, here.ref)
            self.attempt(lambda: reservations.fit(here.lot, spot, self.target, ref, by=None))

    @precondition(lambda self: Holding.objects.filter(place=self.target.place_id, quantity__gt=0).exists())
    @rule(ref=st.sampled_from(REFS), drawer=st.integers(0, 1))
    def remove(self, ref: str, drawer: int) -> None:
        self.attempt(lambda: reservations.remove(self.target, ref, Spot(self.drawers[drawer].pk), by=None))

    @rule(number=pick, quantity=few)
    def lend(self, number: int, quantity: int) -> None:
        if here := self.holding(number):
            self.attempt(
                lambda: loans.lend(here.lot, Spot(here.place_id, here.ref), self.person, quantity, by=None)
            )

    @rule(number=pick, quantity=few)
    def scrap(self, number: int, quantity: int) -> None:
        if here := self.holding(number):
            self.attempt(lambda: ledger.scrap(here.lot, Spot(here.place_id, here.ref), quantity, by=None))

    @rule(number=pick, quantity=st.integers(0, 5))
    def count(self, number: int, quantity: int) -> None:
        if here := self.holding(number):
            part, was = here.lot.part_id, here.quantity
            if self.attempt(lambda: ledger.count(here.lot, Spot(here.place_id, here.ref), quantity, by=None)):
                self.pieces[part] += quantity - was

    @rule(number=pick, quantity=few, condition=st.sampled_from(["suspect", "faulty"]))
    def split(self, number: int, quantity: int, condition: str) -> None:
        if here := self.holding(number):
            spot = Spot(here.place_id, here.ref)
            self.attempt(lambda: ledger.split(here.lot, spot, quantity, condition=condition, by=None))

    @rule(number=pick, other=pick, quantity=few)
    def merge(self, number: int, other: int, quantity: int) -> None:
        here, there = self.holding(number), self.holding(other)
        if here and there:
            source, target = Spot(here.place_id, here.ref), Spot(there.place_id, there.ref)
            self.attempt(lambda: ledger.merge(here.lot, there.lot, source, target, quantity, by=None))

    @precondition(lambda self: self.done > 2)
    @rule(number=pick)
    def reverse(self, number: int) -> None:
        lines = list(Movement.objects.select_related("lot", "from_place", "to_place").order_by("id"))
        if not lines:
            return
        line = lines[-1 - number % len(lines)]
        if self.attempt(lambda: reservations.reverse(line, by=None)):
            if line.from_place.type == Place.Type.OUTSIDE:
                self.pieces[line.lot.part_id] -= line.quantity
            if line.to_place.type == Place.Type.OUTSIDE:
                self.pieces[line.lot.part_id] += line.quantity

    @precondition(lambda self: self.done % 5 == 4)
    @rule()
    def finish(self) -> None:
        if self.attempt(lambda: jobs.set_status(self.job, Job.Status.DONE)):
            jobs.set_status(self.job, Job.Status.OPEN)

    @invariant()
    def everything_agrees_with_the_movements(self) -> None:
        assert audit() == []

    @invariant()
    def no_piece_appears_or_vanishes(self) -> None:
        held: Counter[int] = Counter()
        for part, quantity in Holding.objects.values_list("lot__part_id", "quantity"):
            held[part] += quantity
        assert +held == +self.pieces

    @invariant()
    def every_piece_remembers_where_it_came_from(self) -> None:
        now = {
            pk: (board, ref)
            for pk, board, ref in Lot.objects.values_list("id", "origin_board_id", "origin_ref")
        }
        for lot, origin in self.origins.items():
            assert now[lot] == origin
        self.origins = now

    @invariant()
    def a_position_holds_one_piece(self) -> None:
        taken = Counter(Holding.objects.filter(quantity__gt=0).exclude(ref="").values_list("place_id", "ref"))
        assert all(count == 1 for count in taken.values())


@pytest.mark.django_db
def test_the_ledger_holds_whatever_a_bench_does() -> None:
    run_state_machine_as_test(
        Bench,
        settings=settings(
            max_examples=examples(12, 50),
            stateful_step_count=25,
            deadline=None,
            suppress_health_check=list(HealthCheck),
        ),
    )  # fmt: skip
