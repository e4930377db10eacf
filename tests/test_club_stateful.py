"""Whatever people of a club do: nothing of another's is reserved or fitted without a yes of whose it is.

The referee keeps its own account of who agreed to what, from who did each thing and whether it was refused,
and knows nothing of requests on record.
"""

from collections import Counter
from contextlib import suppress

import pytest
from django.contrib.auth.models import User
from django.db import transaction
from hypothesis import HealthCheck, settings
from hypothesis import strategies as st
from hypothesis.stateful import RuleBasedStateMachine, invariant, rule, run_state_machine_as_test

from inventory import ledger, ownership
from inventory.ledger import Refused, Spot
from inventory.models import Board, Holding, Lot, Place
from repairs import asks, jobs, reservations
from repairs.answers.shortages import reserve
from repairs.audit import audit
from repairs.models import Job, Need, PieceAsk, Reservation
from tests.examples import examples
from tests.factories import JobFactory, NeedFactory, PersonFactory, PlaceFactory, stock

pick = st.integers(0, 10_000)
few = st.integers(1, 3)
Pair = tuple[int, int]
"""A need and a lot."""


class Club(RuleBasedStateMachine):
    """Three people, four lots in two drawers, a job for each of them and one that is everybody's."""

    def __init__(self) -> None:
        super().__init__()
        self.outer = transaction.atomic()
        self.outer.__enter__()
        self.people = [PersonFactory() for _person in range(3)]
        self.drawers = [PlaceFactory(), PlaceFactory()]
        self.lots = [stock(4, place=self.drawers[0]).lot_id for _lot in range(4)]
        # Each has one from the start, not in the order of the jobs: small numbers would meet only their own.
        for lot, owner in zip(self.lots, (self.people[1], self.people[2], self.people[0]), strict=False):
            Lot.objects.filter(pk=lot).update(owner=owner)
        self.jobs = []
        for owner in (*self.people, None):
            place = Place.objects.create(name=f"board {len(self.jobs)}", type=Place.Type.BOARD)
            board = Board.objects.create(name=place.name, purpose="under_repair", place=place)
            job = JobFactory(owner=owner, board=board)
            self.jobs.append(job.pk)
            for _need in range(2):
                NeedFactory(job=job, quantity=3)
        self.agreed: Counter[Pair] = Counter()

    def teardown(self) -> None:
        transaction.set_rollback(True)
        self.outer.__exit__(None, None, None)

    def person(self, at: int) -> User:
        return self.people[at % len(self.people)]

    def lot(self, at: int) -> Lot:
        return Lot.objects.select_related("owner", "part__spec").get(pk=self.lots[at % len(self.lots)])

    def need(self, at: int) -> Need:
        needs = Need.objects.select_related("job__board", "spec").order_by("id")
        return needs[at % needs.count()]

    def used(self, pair: Pair) -> int:
        """Pieces of the lot that are reserved or fitted for the need."""
        rows = Reservation.objects.filter(need=pair[0], holding__lot=pair[1], status__in=("held", "fitted"))
        return sum(rows.values_list("quantity", flat=True))

    def is_anothers(self, need: Need, lot: Lot) -> bool:
        return lot.owner_id is not None and lot.owner_id != need.job.owner_id

    @rule(lot=pick, to=st.integers(0, 3), by=pick)
    def a_lot_changes_hands(self, lot: int, to: int, by: int) -> None:
        this, actor = self.lot(lot), self.person(by)
        heir = None if to == 3 else self.people[to]
        held = Reservation.objects.filter(holding__lot=this, status__in=("held", "fitted"))
        there = {(need, this.pk) for need in held.values_list("need", flat=True)}
        may = this.owner_id in (None, actor.pk)
        try:
            ownership.give_lots([this.pk], heir, by=actor)
        except Refused:
            assert not may
            return
        assert may or heir == this.owner
        for pair in there:  # who hands it over lets be what is there
            self.agreed[pair] = max(self.agreed[pair], self.used(pair))

    @rule(job=pick, to=st.integers(0, 3), by=pick)
    def a_job_changes_hands(self, job: int, to: int, by: int) -> None:
        this, actor = Job.objects.get(pk=self.jobs[job % 4]), self.person(by)
        before = this.owner
        heir = None if to == 3 else self.people[to]
        try:
            jobs.change(this, version=this.version, by=actor, owner=heir)
        except Refused:
            assert actor != before or heir not in (None, actor)
            return
        assert heir in (None, actor, before), "a job is nobody's who did not take it"
        if actor == before:
            own = Reservation.objects.filter(need__job=this, holding__lot__owner=before)
            for pair in own.values_list("need", "holding__lot"):
                self.agreed[pair] = max(self.agreed[pair], self.used(pair))

    @rule(need=pick, lot=pick, pieces=few, by=pick)
    def pieces_are_asked_for(self, need: int, lot: int, pieces: int, by: int) -> None:
        held = Reservation.objects.count()
        with suppress(Refused):
            asks.ask(self.need(need), self.lot(lot), pieces, by=self.person(by))
        assert Reservation.objects.count() == held

    @rule(ask=pick, yes=st.booleans(), by=pick)
    def a_request_is_answered(self, ask: int, yes: bool, by: int) -> None:
        rows = PieceAsk.objects.select_related("need", "lot").order_by("id")
        if not rows:
            return
        this, actor = rows[ask % rows.count()], self.person(by)
        was = this.state
        try:
            done = asks.answer(this, yes, by=actor)
        except Refused:
            return
        pair = this.need_id, this.lot_id
        assert this.lot.owner_id in (None, actor.pk)
        if done.state == "agreed":
            self.agreed[pair] += this.quantity
        elif was == "agreed":  # taken back
            self.agreed[pair] -= this.quantity

    @rule(ask=pick, by=pick)
    def a_request_is_taken_back(self, ask: int, by: int) -> None:
        rows = PieceAsk.objects.order_by("id")
        if rows:
            with suppress(Refused):
                asks.withdraw(rows[ask % rows.count()], by=self.person(by))

    @rule(need=pick, lot=pick, pieces=few, by=pick)
    def somebody_reserves(self, need: int, lot: int, pieces: int, by: int) -> None:
        this, of, actor = self.need(need), self.lot(lot), self.person(by)
        here = Holding.objects.filter(lot=of, place__in=self.drawers, quantity__gt=0).order_by("id").first()
        if here is None:
            return
        pair, before = (this.pk, of.pk), self.used((this.pk, of.pk))
        try:
            reservations.reserve(this, here, pieces, by=actor)
        except Refused:
            return
        if self.is_anothers(this, of) and actor.pk == of.owner_id:
            self.agreed[pair] = max(self.agreed[pair], before + pieces)

    @rule(job=pick, by=pick)
    def the_plan_is_reserved(self, job: int, by: int) -> None:
        this = Job.objects.get(pk=self.jobs[job % 4])
        for made in reserve(this, by=self.person(by)).made:
            assert made.holding.lot.owner_id in (None, this.owner_id)

    @rule(at=pick)
    def one_is_given_up(self, at: int) -> None:
        held = Reservation.objects.filter(status="held").select_related("need", "holding").order_by("id")
        if held:
            reservations.release(held[at % held.count()])

    @rule(at=pick, by=pick)
    def one_is_fitted(self, at: int, by: int) -> None:
        held = Reservation.objects.filter(status="held", quantity=1).order_by("id")
        rows = held.select_related("need__job__board", "holding__lot")
        if rows:
            reservations.fit_promised(rows[at % rows.count()], by=self.person(by))

    @rule(lot=pick, job=pick, by=pick)
    def a_loose_piece_is_fitted(self, lot: int, job: int, by: int) -> None:
        this, actor = self.lot(lot), self.person(by)
        board = Board.objects.get(jobs=self.jobs[job % 4])
        try:
            reservations.fit(this, Spot(self.drawers[0].pk), board, "", by=actor)
        except Refused:
            return
        assert this.owner_id in (None, actor.pk, board.owner_id)

    @rule(lot=pick, by=pick, away=st.booleans())
    def a_piece_is_scrapped_or_moved(self, lot: int, by: int, away: bool) -> None:
        this, actor = self.lot(lot), self.person(by)
        here, there = (Spot(each.pk) for each in self.drawers)
        try:
            if away:
                ledger.scrap(this, here, 1, by=actor)
            else:
                reservations.move(this, here, there, 1, by=actor)
        except Refused:
            return
        assert not away or this.owner_id in (None, actor.pk)

    @invariant()
    def nothing_of_anothers_is_held_without_a_yes(self) -> None:
        held: Counter[Pair] = Counter()
        rows = Reservation.objects.filter(status="held").select_related("need__job", "holding__lot")
        for row in rows:
            if self.is_anothers(row.need, row.holding.lot):
                held[row.need_id, row.holding.lot_id] += row.quantity
        for pair, pieces in held.items():
            assert pieces <= self.agreed[pair], (pair, pieces, self.agreed[pair])

    @invariant()
    def everything_adds_up(self) -> None:
        assert audit() == []


@pytest.mark.both_databases
@pytest.mark.django_db
def test_a_club_whatever_it_does() -> None:
    run_state_machine_as_test(
        Club,
        settings=settings(
            max_examples=examples(8, 50), stateful_step_count=30, deadline=None,
            suppress_health_check=[HealthCheck.too_slow, HealthCheck.data_too_large],
        ),
    )  # fmt: skip
