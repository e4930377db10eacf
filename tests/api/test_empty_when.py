"""A position that is left empty while something is fitted elsewhere (common practice, no source)."""

from typing import Any

import pytest

from inventory import ledger
from inventory.ledger import Spot
from inventory.models import Board, Design
from inventory.sheets.exports import sheets_of
from inventory.spec import Spec
from repairs import jobs, readiness
from repairs.answers.shortages import shortages
from tests.api.test_problems import refused
from tests.factories import BoardFactory, JobFactory, NeedFactory, PartFactory, stock

pytestmark = pytest.mark.django_db

LATER = Spec("ic", number="6514")
CHIP = {"ref": "IC1", "kind": "ic", "number": "2114"}
GATE = {"ref": "IC2", "kind": "ic", "number": "74LS04"}
WHEN = {"ref": "IC1", "number": "6514"}


def drawn(bench: Any, when: Any = WHEN, **more: Any) -> Any:
    sent = {"name": "Tern", "revision": "C", "positions": [CHIP, {**GATE, "empty_when": when}], **more}
    return bench.post("/api/v1/designs/", sent, format="json")


@pytest.fixture
def board(bench: Any) -> Board:
    assert drawn(bench).status_code == 201
    return BoardFactory(purpose="under_repair", design=Design.objects.get())


def fit_later(board: Board) -> None:
    here = stock(1, part=PartFactory(of=LATER))
    ledger.fit(here.lot, Spot(here.place_id), board, "IC1", by=None)


def test_it_is_drawn_answered_and_written_to_the_sheet(bench: Any, board: Board) -> None:
    positions = bench.get(f"/api/v1/designs/{board.design_id}/").json()["positions"]
    assert [each["empty_when"] for each in positions] == [{}, WHEN]
    assert board.design is not None
    parts = sheets_of(board.design)[0]
    assert "ref=IC1; number=6514" in [cell for row in parts.rows for cell in row]


@pytest.mark.parametrize(
    "when", [{"ref": "IC9", "number": "6514"}, {"ref": "IC1"}, {"ref": "IC2", "number": "1"}, ["IC1"], "IC1"]
)
def test_a_condition_that_nobody_can_judge_is_refused(bench: Any, when: Any) -> None:
    refused(drawn(bench, when), 400)


def test_a_job_wants_it_until_the_other_chip_is_in(board: Board) -> None:
    job = JobFactory(board=board)
    NeedFactory(job=job, ref="IC2", of=Spec("ic", number="74LS04"))
    assert [row.short for row in shortages()] == [1]
    fit_later(board)
    assert shortages() == []
    later = JobFactory(board=board)
    needs = {need.ref: need for need in jobs.add_needs(later, "all", by=None)}
    assert (needs["IC2"].status, needs["IC1"].fitted) == ("dropped", 0)
    assert needs["IC2"].note.startswith("left empty: IC1 is 6514")


def test_the_checks_pass_it_empty_and_stop_where_it_is_filled(board: Board) -> None:
    def state() -> list[str]:
        return [i.state for i in readiness.judge(board).items if i.check == "position" and "IC2" in i.refs]

    assert state() == ["open"]
    fit_later(board)
    assert state() == ["pass"]
    gate = stock(1, part=PartFactory(of=Spec("ic", number="74LS04")))
    ledger.fit(gate.lot, Spot(gate.place_id), board, "IC2", by=None)
    assert state() == ["stop"]


def test_a_transfer_leaves_it_empty_and_says_why(bench: Any, board: Board) -> None:
    fit_later(board)
    donor = BoardFactory(design=board.design)
    answer = bench.get(f"/api/v1/jobs/{JobFactory(board=board).pk}/transfer/?from={donor.pk}").json()
    assert [(each["ref"], each["why"]) for each in answer["empty"]] == [("IC2", "left empty: IC1 is 6514")]
