"""Swap tests through the API: suspects judged in a known good board, between baselines that pass."""

from typing import Any

import pytest

from inventory.models import Board, Holding, Lot, Place
from tests.api.test_problems import refused
from tests.factories import (
    JobFactory,
    PlaceFactory,
)
from tests.proving.test_trials_api import API, condition, machine, memory, try_it


def open_swap(client: Any, board: Board, **more: Any) -> Any:
    answer = client.post(f"{API}swaps/", {"board": board.pk, "ref": "U1", "to": PlaceFactory().pk, **more})
    assert answer.status_code == 201, answer.content
    return answer.json()


def step(client: Any, swap: Any, status: int = 201, **body: Any) -> Any:
    answer = client.post(f"{API}swaps/{swap['id']}/steps/", body)
    assert answer.status_code == status, answer.content
    return answer.json()


def measured(client: Any, lot: int) -> int:
    try_it(client, lot=lot, method="ohms, supply to ground", reading="12 k", verdict="inconclusive")
    return lot


def test_a_row_of_chips_is_judged_between_baselines_and_the_good_one_goes_home(bench: Any) -> None:
    board, job = machine(), JobFactory()
    own = Holding.objects.get(place=board.place, ref="U1", quantity=1).lot_id
    swap = open_swap(bench, board, job=job.pk)
    assert bench.get(f"{API}loans/{swap['loan']}/").json()["status"] == "open"
    good, bad = measured(bench, memory()), measured(bench, memory())
    step(bench, swap, what="baseline", passed=True)
    step(bench, swap, what="suspect", lot=good, passed=True, reading="no fault in 2 h")
    result = step(bench, swap, what="suspect", lot=bad, passed=False, reading="01C0: wrote 00, read 04")
    assert [row["verdict"] for row in result["results"]] == ["inconclusive", "inconclusive"]
    assert condition(bad) == "untested"
    result = step(bench, swap, what="baseline", passed=True)
    assert [(row["lot"], row["verdict"]) for row in result["results"]] == [(good, "good"), (bad, "faulty")]
    assert (condition(good), condition(bad)) == ("good", "faulty")
    closed = bench.post(f"{API}swaps/{swap['id']}/close/")
    assert closed.status_code == 200, closed.content
    assert Holding.objects.get(place=board.place, ref="U1", quantity=1).lot_id == own
    lender = bench.get(f"{API}loans/{swap['loan']}/proofs/").json()
    assert (lender["state"], [proof["when"] for proof in lender["proofs"]]) == ("proven", ["before", "after"])


def test_what_may_be_shorted_stays_out_of_the_good_board(bench: Any) -> None:
    swap = open_swap(bench, machine())
    step(bench, swap, what="baseline", passed=True)
    lot = memory()
    result = refused(
        bench.post(f"{API}swaps/{swap['id']}/steps/", {"what": "suspect", "lot": lot, "passed": True}), 409
    )
    assert result["code"] == "ohms_first"
    try_it(bench, lot=lot, method="ohms, supply to ground", reading="0.4 Ω", verdict="faulty")
    Lot.objects.filter(pk=lot).update(condition="suspect")
    assert step(bench, swap, 409, what="suspect", lot=lot, passed=True)["code"] == "ohms_first"


@pytest.mark.parametrize(
    ("method", "reading", "verdict"),
    [
        ("ohms not taken", "", "inconclusive"),
        ("ohms, supply to ground", "looks fine", "inconclusive"),
        ("ohms, supply to ground", "4.9 V", "good"),
        ("ohms, supply to ground", "0.4 Ω", "good"),
    ],
)
def test_what_a_trial_is_called_is_no_reading_in_ohms(
    bench: Any, method: str, reading: str, verdict: str
) -> None:
    swap, lot = open_swap(bench, machine()), memory()
    step(bench, swap, what="baseline", passed=True)
    try_it(bench, lot=lot, method=method, reading=reading, verdict=verdict)
    Lot.objects.filter(pk=lot).update(condition="untested")
    assert step(bench, swap, 409, what="suspect", lot=lot, passed=True)["code"] == "ohms_first"


def test_steps_out_of_turn_are_refused(bench: Any) -> None:
    board = machine()
    own = Holding.objects.get(place=board.place, ref="U1", quantity=1).lot_id
    swap = open_swap(bench, board)
    lot = memory(condition="good")
    assert step(bench, swap, 409, what="suspect", lot=lot, passed=True)["code"] == "baseline_first"
    step(bench, swap, what="baseline", passed=True)
    assert step(bench, swap, 409, what="suspect", lot=own, passed=True)["code"] == "own_part"
    step(bench, swap, what="suspect", lot=lot, passed=True)
    assert refused(bench.post(f"{API}swaps/{swap['id']}/close/"), 409)["code"] == "baseline_after"
    step(bench, swap, what="baseline", passed=False)
    assert step(bench, swap, 409, what="suspect", lot=lot, passed=True)["code"] == "baseline_failed"
    assert condition(lot) == "good"  # the fixture failed: nothing is said of the suspect
    bench.post(f"{API}swaps/{swap['id']}/close/")
    assert step(bench, swap, 409, what="baseline", passed=True)["code"] == "swap_closed"
    for body in ({"what": "suspect", "passed": True}, {"what": "baseline", "passed": True, "lot": lot}, {}):
        refused(bench.post(f"{API}swaps/{swap['id']}/steps/", body), 400)


def test_only_a_socket_of_a_working_board_is_a_fixture(bench: Any) -> None:
    def code(board: Board, ref: str) -> str:
        body = {"board": board.pk, "ref": ref, "to": Place.objects.filter(type="drawer").first().pk}  # type: ignore[union-attr]
        return str(refused(bench.post(f"{API}swaps/", body), 409)["code"])

    PlaceFactory()
    assert code(machine(purpose="under_repair"), "U1") == "not_a_working_board"
    soldered = machine()
    soldered.design.positions.update(socketed=False)  # type: ignore[union-attr]
    assert code(soldered, "U1") == "not_socketed"
    assert code(machine(), "U9") == "not_socketed"
    board = machine()
    open_swap(bench, board)
    assert code(board, "U1") in ("empty_position", "lent_already")
