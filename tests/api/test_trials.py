"""Trials: what a person found, and what becomes of the lot and its promises."""

from typing import Any

import pytest

from inventory import ledger
from inventory.ledger import Spot
from inventory.models import Holding, Lot
from repairs import reservations
from repairs.models import Need, Trial
from tests.api.asking import ids
from tests.api.test_problems import pointers, refused
from tests.factories import BoardFactory, NeedFactory, PartFactory, PlaceFactory, stock
from tests.parts import FILM

pytestmark = pytest.mark.usefixtures("adds_up")
TRIALS = "/api/v1/trials/"


def films(quantity: int = 1, condition: str = "untested") -> Holding:
    return stock(quantity, part=PartFactory(of=FILM), condition=condition)


def tried(client: Any, **body: Any) -> dict[str, Any]:
    answer = client.post(TRIALS, {"method": "capacitance", **body})
    assert answer.status_code == 201, answer.content
    trial: dict[str, Any] = answer.json()
    assert client.get(answer.headers["Location"]).json() == trial
    return trial


def condition(lot: int) -> str:
    return str(Lot.objects.get(pk=lot).condition)


@pytest.mark.parametrize(
    ("verdict", "becomes"),
    [("good", "good"), ("suspect", "suspect"), ("faulty", "faulty"), ("inconclusive", "untested")],
)
def test_out_of_circuit_the_verdict_is_the_lots_condition(bench: Any, verdict: str, becomes: str) -> None:
    here = films()
    trial = tried(bench, lot=here.lot_id, reading="98 nF", verdict=verdict)
    assert (trial["lot"], trial["reading"], trial["verdict"], trial["by"]) == (
        here.lot_id, "98 nF", verdict, "bench",
    )  # fmt: skip
    assert condition(here.lot_id) == becomes


def test_in_circuit_nothing_is_condemned(bench: Any) -> None:
    """Parallel paths can only lower a reading (common practice, no source)."""
    here = films()
    tried(bench, lot=here.lot_id, reading="2 Ω", verdict="faulty", in_circuit=True)
    assert condition(here.lot_id) == "untested"


def test_pieces_judged_apart_become_a_lot_of_their_own(bench: Any) -> None:
    here = films(10)
    trial = tried(bench, lot=here.lot_id, quantity=3, place=here.place_id, verdict="faulty")
    assert trial["lot"] != here.lot_id
    apart = bench.get(f"/api/v1/lots/{trial['lot']}/").json()
    assert (apart["condition"], apart["quantity"], apart["split_from"]) == ("faulty", 3, here.lot_id)
    assert (condition(here.lot_id), Holding.objects.get(pk=here.pk).quantity) == ("untested", 7)


def test_all_pieces_tried_stay_one_lot(bench: Any) -> None:
    here = films(10)
    assert tried(bench, lot=here.lot_id, quantity=10, verdict="good")["lot"] == here.lot_id
    assert condition(here.lot_id) == "good"


def test_no_more_pieces_are_tried_than_are_held(bench: Any) -> None:
    here = films(10)
    body = {"lot": here.lot_id, "method": "capacitance", "quantity": 11, "verdict": "faulty"}
    problem = refused(bench.post(TRIALS, body), 409)
    assert (problem["code"], problem["available"]) == ("not_enough", 10)
    ledger.move(here.lot, Spot(here.place_id), Spot(PlaceFactory().pk), 4, by=None)
    problem = refused(bench.post(TRIALS, {**body, "quantity": 7, "place": here.place_id}), 409)
    assert problem["available"] == 6
    assert not Trial.objects.exists()


def test_promises_of_a_piece_found_faulty_are_given_up(bench: Any) -> None:
    here, need = films(2), NeedFactory(of=FILM, quantity=2)
    promise = reservations.reserve(need, here, 2, by=None)
    tried(bench, lot=here.lot_id, verdict="faulty")  # one of the two
    promise.refresh_from_db()
    assert promise.status == "released"
    assert Need.objects.get(pk=need.pk).promised == 1
    tried(bench, lot=here.lot_id, verdict="faulty")
    assert Need.objects.get(pk=need.pk).promised == 0


def test_only_as_many_promises_are_given_up_as_pieces_were_found_faulty(bench: Any) -> None:
    here = films(5)
    first, last = (NeedFactory(of=FILM, quantity=2) for _ in range(2))
    for need in (first, last):
        reservations.reserve(need, here, 2, by=None)
    tried(bench, lot=here.lot_id, quantity=2, verdict="faulty")  # one was free
    assert [Need.objects.get(pk=need.pk).promised for need in (first, last)] == [2, 1]


def test_a_board_is_tried_at_a_position(bench: Any) -> None:
    board = BoardFactory(purpose="under_repair")
    trial = tried(bench, board=board.pk, ref="U12", method="soak", in_circuit=True, verdict="good")
    assert (trial["board"], trial["ref"], trial["lot"]) == (board.pk, "U12", None)


@pytest.mark.parametrize(
    ("body", "wrong"),
    [
        ({}, {"#/method"}),
        ({"method": "look", "verdict": "good"}, {"#/lot"}),
        ({"method": "look", "verdict": "good", "lot": "{lot}", "board": "{board}"}, {"#/lot"}),
        ({"method": "look", "verdict": "splendid", "lot": 0}, {"#/verdict", "#/lot"}),
        ({"method": "x" * 121, "verdict": "good", "lot": "{lot}", "quantity": 0}, {"#/method", "#/quantity"}),
        ({"method": "look", "verdict": "good", "board": "{board}", "quantity": 2}, {"#/quantity"}),
        ({"method": "look", "verdict": "good", "lot": "{lot}", "in_circuit": "perhaps"}, {"#/in_circuit"}),
        ({"method": "look", "verdict": "good", "lot": "{lot}", "colour": "red"}, {"#/colour"}),
    ],
)
def test_what_cannot_be_read_is_named(bench: Any, body: dict[str, Any], wrong: set[str]) -> None:
    there = {"{lot}": films().lot_id, "{board}": BoardFactory().pk}
    sent = {
        name: there.get(value, value) if isinstance(value, str) else value for name, value in body.items()
    }
    assert wrong <= pointers(refused(bench.post(TRIALS, sent), 400))
    assert not Trial.objects.exists()


def test_a_trial_stays_as_it_was_written(owner: Any, viewer: Any) -> None:
    trial = f"{TRIALS}{tried(owner, lot=films().lot_id, verdict='good')['id']}/"
    for method in ("put", "patch", "delete"):
        refused(getattr(owner, method)(trial, {"verdict": "faulty"}), 405)
    refused(viewer.post(TRIALS, {"lot": films().lot_id, "method": "look", "verdict": "good"}), 403)


def test_trials_are_found_by_lot_board_verdict_and_words(bench: Any) -> None:
    here, board = films(), BoardFactory()
    first = tried(bench, lot=here.lot_id, verdict="good", reading="98 nF")["id"]
    last = tried(bench, board=board.pk, verdict="suspect", in_circuit=True, note="warm")["id"]

    def found(query: str) -> list[int]:
        return ids(bench, f"{TRIALS}?{query}")

    assert found("") == [last, first]
    assert found(f"lot={here.lot_id}") == found("verdict=good") == found("in_circuit=false") == [first]
    assert found(f"board={board.pk}") == found("q=warm") == [last]
    assert found(f"part={here.lot.part_id}") == found("q=0.1uF") == [first]
    for query in ("lot=x", "verdict=splendid", "in_circuit=perhaps", "colour=red"):
        refused(bench.get(f"{TRIALS}?{query}"), 400)
