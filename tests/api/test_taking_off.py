"""What comes off because it failed is kept apart and planned for nobody: common practice, no source."""

from typing import Any

import pytest

from inventory.models import Board, Lot, Movement, Place
from repairs import jobs
from repairs.models import Job, Need
from tests.api.test_problems import refused
from tests.factories import BoardFactory, DesignFactory, PartFactory, PlaceFactory, stock
from tests.parts import RESISTOR

MOVEMENTS = "/api/v1/movements/"


@pytest.fixture
def board(db: None) -> Board:
    design = DesignFactory(positions={"R1": RESISTOR, "R2": RESISTOR})
    return BoardFactory(design=design, name="Plover to mend", purpose="under_repair")


@pytest.fixture
def job(board: Board) -> Job:
    return jobs.open_job(name="Mend the Plover", board=board, refs="all", by=None)


def post(client: Any, **body: Any) -> dict[str, Any]:
    answer = client.post(MOVEMENTS, {name.rstrip("_"): each for name, each in body.items()})
    assert answer.status_code == 201, answer.content
    line: dict[str, Any] = answer.json()
    return line


def fitted(bench: Any, board: Board, ref: str, pieces: int = 3) -> Lot:
    here = stock(pieces, part=PartFactory(of=RESISTOR))
    post(bench, kind="fit", lot=here.lot_id, from_=here.place_id, board=board.pk, ref=ref)
    return here.lot


def lot_of(line: dict[str, Any]) -> Lot:
    made = Movement.objects.get(pk=line["id"])
    return made.to_lot or made.lot


def totals(bench: Any) -> dict[str, int]:
    answer: dict[str, int] = bench.get("/api/v1/shortages/").json()["totals"]
    return answer


def test_what_failed_is_suspect_in_the_failed_tray_and_for_nobody(bench: Any, board: Board, job: Job) -> None:
    lot = fitted(bench, board, "R1", pieces=1)
    assert (totals(bench)["fitted"], totals(bench)["short"]) == (1, 1)
    line = post(bench, kind="remove", board=board.pk, ref="R1", failed=True)
    lot.refresh_from_db()
    assert (lot.condition, line["to"]) == ("suspect", Place.failed_tray().pk)
    # It does not fill the place that it left, nor is it a question that would keep it off the buy list.
    assert (totals(bench)["free"], totals(bench)["short"]) == (0, 2)
    (bought,) = bench.get("/api/v1/buy/").json()["results"]
    assert bought["needed"] == 2
    assert bench.get(f"/api/v1/parts/{lot.part_id}/").json()["free"] == 0
    assert bench.get("/api/v1/lots/?free=true").json()["count"] == 0


def test_only_the_piece_that_failed_is_suspect_not_its_like_in_the_drawer(
    bench: Any, board: Board, job: Job
) -> None:
    lot = fitted(bench, board, "R1", pieces=3)
    line = post(bench, kind="remove", board=board.pk, ref="R1", condition="faulty")
    lot.refresh_from_db()
    off = lot_of(line)
    assert (lot.condition, off.condition, off.split_from_id) == ("good", "faulty", lot.pk)
    assert totals(bench)["free"] == 2, "the two in the drawer"


def test_undone_it_is_in_its_place_again_as_it_was(bench: Any, board: Board, job: Job) -> None:
    lot = fitted(bench, board, "R1", pieces=1)
    line = post(bench, kind="remove", board=board.pk, ref="R1", failed=True)
    post(bench, kind="reverse", movement=line["id"])
    lot.refresh_from_db()
    assert lot.condition == "good"
    assert job.needs.get(ref="R1").fitted == 1


def test_it_may_go_to_the_scrap_bin_or_any_tray(bench: Any, board: Board) -> None:
    fitted(bench, board, "R1")
    fitted(bench, board, "R2")
    tray = PlaceFactory(type="tray")
    for ref, to in (("R1", Place.scrap()), ("R2", tray)):
        assert post(bench, kind="remove", board=board.pk, ref=ref, failed=True, to=to.pk)["to"] == to.pk


def test_a_piece_that_was_cleared_by_a_test_serves_again(bench: Any, board: Board, job: Job) -> None:
    lot = fitted(bench, board, "R1", pieces=1)
    post(bench, kind="remove", board=board.pk, ref="R1", failed=True)
    tried = {"lot": lot.pk, "method": "ohms", "reading": "4.71k"}
    assert bench.post("/api/v1/trials/", tried).json()["verdict"] == "good"
    assert totals(bench)["free"] == 1


def test_it_is_promised_to_nobody_by_hand_either(bench: Any, board: Board, job: Job) -> None:
    lot = fitted(bench, board, "R1", pieces=1)
    post(bench, kind="remove", board=board.pk, ref="R1", failed=True)
    body = {"need": Need.objects.get(ref="R2").pk, "lot": lot.pk}
    problem = refused(bench.post("/api/v1/reservations/", body), 409)
    assert (problem["code"], problem["condition"]) == ("faulty", "suspect")


def test_a_sound_piece_comes_off_as_it_was_and_needs_a_place(bench: Any, board: Board) -> None:
    lot = fitted(bench, board, "R1", pieces=1)
    body = {"kind": "remove", "board": board.pk, "ref": "R1"}
    assert refused(bench.post(MOVEMENTS, body), 400)["errors"][0]["pointer"] == "#/to"
    wrong = refused(bench.post(MOVEMENTS, {**body, "failed": True, "condition": "good"}), 400)
    assert wrong["errors"][0]["code"] == "contradiction"
    post(bench, **body, to=PlaceFactory().pk)
    lot.refresh_from_db()
    assert lot.condition == "good"


def test_a_lift_judges_the_piece_alone_too(bench: Any, board: Board) -> None:
    lot = fitted(bench, board, "R1", pieces=3)
    line = post(bench, kind="lift", board=board.pk, refs=["R1"], failed=True)
    lot.refresh_from_db()
    assert (lot.condition, lot_of(line).condition) == ("good", "suspect")
    assert line["to"] == Place.failed_tray().pk


def test_a_board_that_works_says_so_before_it_is_stripped(bench: Any, board: Board, job: Job) -> None:
    donor = BoardFactory(design=board.design, name="Plover donor")
    for ref in ("R1", "R2"):
        stock(part=PartFactory(of=RESISTOR), place=donor.place, ref=ref, source="board", board=donor)
    need = job.needs.get(ref="R1")

    def result() -> tuple[str, str]:
        (at,) = bench.get("/api/v1/boards/harvest/").json()["boards"]
        why = bench.get(f"/api/v1/needs/{need.pk}/why/").json()
        return at["works"], why["given"][0]["works"]

    assert result() == ("", "")
    body = {"board": donor.pk, "method": "power on", "verdict": "good"}
    assert bench.post("/api/v1/trials/", body).status_code == 201
    harvest, why = result()
    assert harvest.startswith("Plover donor works: it passed power on on")
    assert why == harvest
    tray = PlaceFactory(type="tray").pk
    first = post(bench, kind="lift", board=donor.pk, refs=["R1"], to=tray)
    assert first["notes"] == {"works": harvest}
    # Once a part is off, nobody knows that it still works.
    assert post(bench, kind="lift", board=donor.pk, refs=["R2"], to=tray)["notes"] == {}
