"""Loans: opened by borrowing or lending, closed by returning, and what is said of them meanwhile."""

from datetime import timedelta
from typing import Any

import pytest
from django.utils import timezone

from inventory.ledger import Spot
from inventory.models import Board, Movement
from repairs import loans, reservations
from repairs.models import Loan
from tests.api.asking import ids, queries
from tests.api.test_problems import pointers, refused
from tests.factories import BoardFactory, DesignFactory, JobFactory, PlaceFactory, stock
from tests.parts import RESISTOR

pytestmark = pytest.mark.usefixtures("adds_up")
LOANS = "/api/v1/loans/"


@pytest.fixture
def lender(db: None) -> Board:
    design = DesignFactory(positions={"R1": RESISTOR, "R2": RESISTOR})
    return BoardFactory(design=design, purpose="working", name="Plover that works")


def borrowed(lender: Board, ref: str = "R1", **given: Any) -> Loan:
    [line] = loans.borrow(lender, [ref], Spot(PlaceFactory(type="tray").pk), by=None, **given)
    return Loan.objects.get(movement=line)


def lent(quantity: int = 3, **given: Any) -> Loan:
    here = stock(5)
    person = PlaceFactory(type="person")
    return Loan.objects.get(
        movement=loans.lend(here.lot, Spot(here.place_id), person, quantity, by=None, **given)
    )


def test_a_borrowed_piece_is_owed_until_it_is_back(bench: Any, lender: Board) -> None:
    job = JobFactory(name="Mend the Plover")
    loan = borrowed(lender, job=job, reason="to prove R1 open", due="2026-12-01")
    result = bench.get(f"{LOANS}{loan.pk}/").json()
    assert (result["kind"], result["lot"], result["quantity"], result["owed"]) == (
        "lift",
        loan.movement.lot_id,
        1,
        1,
    )
    assert (result["from"], result["from_name"], result["from_ref"]) == (
        lender.place_id,
        "Plover that works",
        "R1",
    )
    assert (result["job"], result["job_name"], result["status"]) == (job.pk, "Mend the Plover", "open")
    assert result["spec_text"] == RESISTOR.text
    loans.give_back(loan, by=None)
    result = bench.get(f"{LOANS}{loan.pk}/").json()
    assert (result["owed"], result["status"], result["overdue"]) == (0, "closed", False)


def test_pieces_lent_are_owed_one_by_one(bench: Any) -> None:
    loan = lent(3)
    loans.give_back(loan, by=None, quantity=2)
    result = bench.get(f"{LOANS}{loan.pk}/").json()
    assert (result["kind"], result["quantity"], result["owed"], result["status"]) == ("lend", 3, 1, "open")


def test_a_loan_that_was_a_mistake_is_closed_by_its_reversal(bench: Any, lender: Board) -> None:
    loan = borrowed(lender)
    reservations.reverse(loan.movement, by=None)
    assert bench.get(f"{LOANS}{loan.pk}/").json()["status"] == "closed"


def test_a_return_undone_is_owed_again(bench: Any, lender: Board) -> None:
    loan = borrowed(lender)
    reservations.reverse(loans.give_back(loan, by=None), by=None)
    assert bench.get(f"{LOANS}{loan.pk}/").json()["status"] == "open"


def test_a_position_is_not_lent_from_twice(bench: Any, lender: Board) -> None:
    borrowed(lender)
    body = {"kind": "lift", "board": lender.pk, "refs": "R1", "to": PlaceFactory().pk, "borrow": True}
    assert refused(bench.post("/api/v1/movements/", body), 409)["code"] == "lent_already"


def test_what_is_past_its_day_is_overdue(bench: Any, lender: Board) -> None:
    today = timezone.localdate()
    late = borrowed(lender, due=today - timedelta(days=1))
    borrowed(lender, "R2", due=today)
    returned = lent(due=today - timedelta(days=9))
    loans.give_back(returned, by=None)
    assert [loan["id"] for loan in bench.get(f"{LOANS}?overdue=true").json()["results"]] == [late.pk]
    assert bench.get(f"{LOANS}{late.pk}/").json()["overdue"] is True


def test_the_reason_the_day_and_the_job_may_be_given_later(bench: Any, lender: Board) -> None:
    loan = borrowed(lender)
    job = JobFactory()
    address = f"{LOANS}{loan.pk}/"
    change = {"due": "2027-01-15", "reason": "still hunting a spare", "job": job.pk}
    result = bench.patch(address, change, headers={"If-Match": '"1"'}).json()
    assert {name: result[name] for name in change} == change
    assert refused(bench.patch(address, {"due": None}, headers={"If-Match": '"1"'}), 412)["version"] == 2
    assert bench.patch(address, {"due": None}).json()["due"] is None


@pytest.mark.parametrize(
    ("body", "wrong"),
    [
        ({"due": "soon", "job": 0, "reason": "x" * 401}, {"#/due", "#/job", "#/reason"}),
        ({"colour": "red"}, {"#/colour"}),
        ({"due": "9999999-01-01"}, {"#/due"}),
    ],
)
def test_what_cannot_be_read_is_named(bench: Any, lender: Board, body: Any, wrong: set[str]) -> None:
    assert pointers(refused(bench.patch(f"{LOANS}{borrowed(lender).pk}/", body), 400)) == wrong


def test_what_the_movement_says_of_a_loan_is_not_changed(bench: Any, lender: Board) -> None:
    loan = borrowed(lender)
    result = bench.patch(f"{LOANS}{loan.pk}/", {"owed": 0, "lot": 99, "status": "closed"})
    assert result.status_code == 200
    assert (result.json()["owed"], result.json()["status"]) == (1, "open")


def test_loans_are_opened_and_closed_by_movements_only(owner: Any, viewer: Any, lender: Board) -> None:
    loan = borrowed(lender)
    refused(owner.post(LOANS, {}), 405)
    refused(owner.delete(f"{LOANS}{loan.pk}/"), 405)
    refused(viewer.patch(f"{LOANS}{loan.pk}/", {"due": None}), 403)


def test_loans_are_found_by_status_lender_person_and_job(bench: Any, lender: Board) -> None:
    job = JobFactory()
    open_ = borrowed(lender, job=job, reason="hum")
    closed = borrowed(lender, "R2")
    loans.give_back(closed, by=None)
    to_person = lent()

    def found(query: str) -> list[int]:
        return ids(bench, f"{LOANS}?{query}")

    assert found("") == [to_person.pk, closed.pk, open_.pk]
    assert found("status=open") == [to_person.pk, open_.pk]
    assert found("status=closed") == [closed.pk]
    assert found(f"board={lender.pk}&ordering=id") == [open_.pk, closed.pk]
    assert found(f"job={job.pk}") == found("q=hum") == [open_.pk]
    assert found(f"person={to_person.movement.to_place_id}") == [to_person.pk]
    assert found(f"lot={to_person.movement.lot_id}") == [to_person.pk]
    for query in ("status=lost", "overdue=perhaps", "board=x", "colour=red", "person=0"):
        refused(bench.get(f"{LOANS}?{query}"), 400)


def test_the_list_takes_the_same_few_queries_for_any_number_of_loans(bench: Any) -> None:
    lent()
    queries(bench, LOANS)
    few = queries(bench, LOANS)
    for _ in range(4):
        lent()
    assert queries(bench, LOANS) == few
    assert Movement.objects.filter(kind="lend").count() == 5
