"""Promises: made, refused with what is available, and given up."""

from decimal import Decimal
from typing import Any

import pytest

from inventory import ledger
from inventory.ledger import Spot
from inventory.models import Board, Holding
from repairs import loans, reservations
from repairs.models import Reservation
from tests.api.asking import ids, made, queries
from tests.api.test_problems import pointers, refused
from tests.factories import BoardFactory, JobFactory, NeedFactory, PartFactory, PlaceFactory, spec, stock
from tests.parts import RESISTOR

pytestmark = pytest.mark.usefixtures("adds_up")
RESERVATIONS = "/api/v1/reservations/"


def resistors(quantity: int = 1, **more: Any) -> Holding:
    return stock(quantity, part=PartFactory(of=RESISTOR), **more)


def not_promised(client: Any, status: int = 409, **body: Any) -> dict[str, Any]:
    """The refusal, after which nothing is promised that was not before."""
    before = list(Holding.objects.order_by("id").values_list("id", "promised")), Reservation.objects.count()
    problem = refused(client.post(RESERVATIONS, body), status)
    after = list(Holding.objects.order_by("id").values_list("id", "promised")), Reservation.objects.count()
    assert after == before
    return problem


def test_pieces_in_a_drawer_are_promised_to_a_need(bench: Any) -> None:
    need, here = NeedFactory(of=RESISTOR, quantity=5), resistors(4)
    promise = made(bench, RESERVATIONS, need=need.pk, lot=here.lot_id, place=here.place_id, quantity=3)
    assert (promise["need"], promise["job"], promise["status"]) == (need.pk, need.job_id, "held")
    assert (promise["lot"], promise["place"], promise["quantity"]) == (here.lot_id, here.place_id, 3)
    assert (promise["by"], promise["spec_text"]) == ("bench", RESISTOR.text)
    assert bench.get(f"/api/v1/needs/{need.pk}/").json()["promised"] == 3
    [holding] = bench.get(f"/api/v1/lots/{here.lot_id}/").json()["holdings"]
    assert (holding["quantity"], holding["promised"]) == (4, 3)


def test_a_piece_still_on_a_donor_is_promised_by_board_and_position(bench: Any) -> None:
    donor = BoardFactory()
    here = resistors(place=donor.place, ref="R3", source="board", board=donor)
    sent = {"lot": here.lot_id, "place": donor.place_id}
    promise = made(bench, RESERVATIONS, need=NeedFactory(of=RESISTOR).pk, **sent, ref="R3")
    assert promise["ref"] == "R3"
    assert bench.delete(f"{RESERVATIONS}{promise['id']}/").status_code == 204
    assert made(bench, RESERVATIONS, need=NeedFactory(of=RESISTOR).pk, **sent)["ref"] == "R3", (
        "it is in one position only"
    )


def test_the_place_may_be_left_out_where_the_lot_is_in_one(bench: Any) -> None:
    need, here = NeedFactory(of=RESISTOR, quantity=5), resistors(4)
    assert made(bench, RESERVATIONS, need=need.pk, lot=here.lot_id)["place"] == here.place_id
    ledger.move(here.lot, Spot(here.place_id), Spot(PlaceFactory().pk), 1, by=None)
    assert pointers(not_promised(bench, 400, need=need.pk, lot=here.lot_id)) == {"#/place"}


def test_no_more_is_promised_than_is_free_and_the_refusal_says_how_many_are(bench: Any) -> None:
    here = resistors(4)
    made(bench, RESERVATIONS, need=NeedFactory(of=RESISTOR, quantity=3).pk, lot=here.lot_id, quantity=3)
    problem = not_promised(
        bench, need=NeedFactory(of=RESISTOR, quantity=9).pk, lot=here.lot_id, place=here.place_id, quantity=2
    )
    assert (problem["code"], problem["available"], problem["held"], problem["promised"]) == (
        "not_enough",
        1,
        4,
        3,
    )
    assert "1 free" in problem["detail"]


def test_nothing_is_promised_from_where_the_lot_is_not(bench: Any) -> None:
    here, elsewhere = resistors(4), PlaceFactory()
    problem = not_promised(bench, need=NeedFactory(of=RESISTOR).pk, lot=here.lot_id, place=elsewhere.pk)
    assert (problem["code"], problem["available"]) == ("not_enough", 0)
    assert elsewhere.name in problem["detail"]


def test_no_more_is_promised_than_is_wanted(bench: Any) -> None:
    need, here = NeedFactory(of=RESISTOR, quantity=2), resistors(9)
    problem = not_promised(bench, need=need.pk, lot=here.lot_id, quantity=3)
    assert (problem["code"], problem["available"]) == ("need_is_met", 2)


def test_a_part_that_does_not_fit_is_promised_only_when_overruled(bench: Any) -> None:
    need = NeedFactory(of=RESISTOR)
    wrong = stock(part=PartFactory(of=spec("resistor", "47k", tolerance_percent=Decimal(5))))
    problem = not_promised(bench, need=need.pk, lot=wrong.lot_id)
    assert (problem["code"], problem["grade"]) == ("does_not_fit", "no")
    assert made(bench, RESERVATIONS, need=need.pk, lot=wrong.lot_id, anyway=True)["status"] == "held"


def test_a_safety_part_is_never_overruled(bench: Any) -> None:
    need = NeedFactory(of=spec("capacitor", "100n", volts=Decimal(275), safety_class="x2"))
    ordinary = stock(part=PartFactory(of=spec("capacitor", "100n", volts=Decimal(400), dielectric="film")))
    assert not_promised(bench, need=need.pk, lot=ordinary.lot_id, anyway=True)["code"] == "does_not_fit"


def test_a_faulty_part_is_promised_to_nobody(bench: Any) -> None:
    here = resistors(condition="faulty")
    problem = not_promised(bench, need=NeedFactory(of=RESISTOR).pk, lot=here.lot_id)
    assert (problem["code"], problem["condition"]) == ("faulty", "faulty")


def test_nothing_is_promised_from_a_person_the_scrap_bin_or_a_board_in_use(bench: Any) -> None:
    need = NeedFactory(of=RESISTOR)
    lent = resistors()
    loans.lend(lent.lot, Spot(lent.place_id), PlaceFactory(type="person"), 1, by=None)
    scrapped = resistors()
    ledger.scrap(scrapped.lot, Spot(scrapped.place_id), 1, by=None)
    working = BoardFactory(purpose="working")
    in_use = resistors(place=working.place, ref="R1", source="board", board=working)
    codes = [not_promised(bench, need=need.pk, lot=each.lot_id)["code"] for each in (lent, scrapped, in_use)]
    assert codes == ["not_at_hand"] * 3


@pytest.mark.parametrize(("status", "allowed"), [("parked", True), ("done", False), ("abandoned", False)])
def test_a_closed_job_is_promised_nothing(bench: Any, status: str, allowed: bool) -> None:
    need, here = NeedFactory(of=RESISTOR, job=JobFactory(status=status)), resistors()
    if allowed:
        made(bench, RESERVATIONS, need=need.pk, lot=here.lot_id)
    else:
        assert not_promised(bench, need=need.pk, lot=here.lot_id)["code"] == "job_closed"


def test_a_dropped_need_is_promised_nothing(bench: Any) -> None:
    need = NeedFactory(of=RESISTOR, status="dropped")
    assert not_promised(bench, need=need.pk, lot=resistors().lot_id)["code"] == "need_is_met"


@pytest.mark.parametrize(
    ("body", "wrong"),
    [
        ({}, {"#/need", "#/lot"}),
        ({"need": 0, "lot": "x", "quantity": 0}, {"#/need", "#/lot", "#/quantity"}),
        ({"need": 10**25, "lot": 10**25, "place": -1}, {"#/need", "#/lot", "#/place"}),
        ({"need": "{need}", "lot": "{lot}", "quantity": 10**10}, {"#/quantity"}),
        ({"need": "{need}", "lot": "{lot}", "anyway": "perhaps"}, {"#/anyway"}),
        ({"need": "{need}", "lot": "{lot}", "ref": "R1"}, {"#/place"}),
        ({"need": "{need}", "lot": "{lot}", "colour": "red"}, {"#/colour"}),
    ],
)
def test_what_cannot_be_read_is_named(bench: Any, body: dict[str, Any], wrong: set[str]) -> None:
    there = {"{need}": NeedFactory(of=RESISTOR).pk, "{lot}": resistors().lot_id}
    sent = {
        name: there.get(value, value) if isinstance(value, str) else value for name, value in body.items()
    }
    assert pointers(not_promised(bench, 400, **sent)) == wrong


def test_a_promise_given_up_frees_its_pieces_and_stays_on_record(bench: Any, viewer: Any) -> None:
    need, here = NeedFactory(of=RESISTOR), resistors()
    address = f"{RESERVATIONS}{made(bench, RESERVATIONS, need=need.pk, lot=here.lot_id)['id']}/"
    refused(viewer.delete(address), 403)
    refused(bench.delete(address, headers={"If-Match": '"9"'}), 412)
    assert bench.delete(address, headers={"If-Match": '"1"'}).status_code == 204
    assert bench.get(address).json()["status"] == "released"
    here.refresh_from_db()
    assert here.promised == 0
    problem = refused(bench.delete(address), 409)
    assert (problem["code"], problem["found_status"]) == ("not_held", "released")


def test_a_fitted_piece_is_removed_not_released(bench: Any) -> None:
    board = BoardFactory(purpose="under_repair")
    promise = reservations.reserve(
        NeedFactory(of=RESISTOR, job=JobFactory(board=board)), resistors(), 1, by=None
    )
    reservations.fit_promised(promise, by=None)
    assert refused(bench.delete(f"{RESERVATIONS}{promise.pk}/"), 409)["found_status"] == "fitted"


def test_a_promise_is_not_edited(owner: Any) -> None:
    promise = reservations.reserve(NeedFactory(of=RESISTOR), resistors(), 1, by=None)
    for method in ("put", "patch"):
        refused(getattr(owner, method)(f"{RESERVATIONS}{promise.pk}/", {"quantity": 5}), 405)


def test_promises_are_found_by_job_need_lot_board_and_status(bench: Any) -> None:
    donor: Board = BoardFactory()
    first, second = NeedFactory(of=RESISTOR), NeedFactory(of=RESISTOR, quantity=2)
    here = resistors(3)
    there = resistors(place=donor.place, ref="R1", source="board", board=donor)
    a = reservations.reserve(first, here, 1, by=None)
    b = reservations.release(reservations.reserve(second, here, 1, by=None))
    c = reservations.reserve(second, there, 1, by=None)

    def found(query: str) -> list[int]:
        return ids(bench, f"{RESERVATIONS}?{query}")

    assert found("") == [a.pk, b.pk, c.pk]
    assert found(f"job={second.job_id}&status=held") == [c.pk]
    assert found(f"need={first.pk}") == [a.pk]
    assert found(f"lot={here.lot_id}") == [a.pk, b.pk]
    assert found(f"board={donor.pk}") == found(f"place={donor.place_id}") == [c.pk]
    assert found("status=held&status=released&ordering=-status,-id") == [b.pk, c.pk, a.pk]
    for query in ("job=x", "status=lost", "board=0", "colour=red", f"need={10**30}"):
        refused(bench.get(f"{RESERVATIONS}?{query}"), 400)


def test_the_list_takes_the_same_few_queries_for_any_number_of_promises(bench: Any) -> None:
    reservations.reserve(NeedFactory(of=RESISTOR), resistors(), 1, by=None)
    queries(bench, RESERVATIONS)
    few = queries(bench, RESERVATIONS)
    for _ in range(4):
        reservations.reserve(NeedFactory(of=RESISTOR), resistors(), 1, by=None)
    assert queries(bench, RESERVATIONS) == few
