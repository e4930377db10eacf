"""Substitutions are recorded, found again, and go before the rules wherever a part is offered."""

from typing import Any

import pytest
from rest_framework.test import APIClient

from inventory.models import Board, Holding
from inventory.spec import Spec
from repairs import reservations, trials
from repairs.answers import shortages
from repairs.models import Job
from tests.api.test_problems import refused
from tests.factories import (
    BoardFactory,
    DesignFactory,
    JobFactory,
    NeedFactory,
    PartFactory,
    SubstitutionFactory,
    spec,
    stock,
)  # fmt: skip

pytestmark = pytest.mark.django_db

PATH = "/api/v1/substitutions/"
WANTED = Spec("transistor", number="2N3904", traits={"pin_order": "E-B-C"})
OFFERED = Spec("transistor", number="BC547", traits={"pin_order": "C-B-E"})
NUMBERS: dict[str, Any] = {
    "required": {"kind": "transistor", "number": "2N3904"},
    "offered": {"kind": "transistor", "number": "BC547"},
}


@pytest.fixture
def board() -> Board:
    return BoardFactory(
        purpose="under_repair", design=DesignFactory(positions={"TR1": WANTED, "TR2": WANTED})
    )


@pytest.fixture
def job(board: Board) -> Job:
    made = JobFactory(board=board)
    for ref in ("TR1", "TR2"):
        NeedFactory(job=made, ref=ref, of=WANTED)
    return made


@pytest.fixture
def drawer() -> Holding:
    return stock(5, part=PartFactory(of=OFFERED))


def test_one_is_recorded_and_found_by_number_design_and_evidence(bench: APIClient, board: Board) -> None:
    sent = {
        **NUMBERS,
        "design": board.design_id,
        "ref": "TR2",
        "evidence": "seen_working",
        "way": "turned_round",
    }
    made = bench.post(PATH, sent, format="json")
    assert made.status_code == 201, made.content
    assert made.json()["text"] == f"seen working ({made.json()['by']}); turned round"
    for query, count in (
        ("number=bc547", 1), ("number=2N2222", 0), (f"design={board.design_id}", 1), ("evidence=refuted", 0),
        ("evidence=refuted&evidence=seen_working", 1), ("ref=TR2", 1), ("kind=ic", 0), ("q=3904", 1),
    ):  # fmt: skip
        assert bench.get(f"{PATH}?{query}").json()["count"] == count, query


@pytest.mark.parametrize(
    ("more", "status", "code"),
    [
        ({"way": "legs_crossed"}, 409, "required"),
        ({"pin_map": "E=C, E=B"}, 400, "unreadable"),
        ({"ref": "TR1"}, 409, "no_design"),
        ({"evidence": "hearsay"}, 400, "invalid_choice"),
        ({"offered": {"kind": "ic", "number": "BC547"}}, 409, "does_not_fit"),
        ({"evidence": None}, 400, "null"),
        ({"colour": "red"}, 400, "unknown"),
    ],
)
def test_what_cannot_be_so_is_refused(bench: APIClient, more: dict[str, Any], status: int, code: str) -> None:
    answer = bench.post(PATH, {**NUMBERS, "evidence": "listed", **more}, format="json")
    refused(answer, status)
    assert code in answer.content.decode()


def test_it_is_recorded_once_and_then_changed(bench: APIClient) -> None:
    known = SubstitutionFactory()
    sent = {
        "required": known.required.spec.to_dict(),
        "offered": known.offered.spec.to_dict(),
        "evidence": "listed",
    }
    assert bench.post(PATH, sent, format="json").json()["known"] == known.pk
    changed = bench.patch(f"{PATH}{known.pk}/", {"evidence": "refuted"}, format="json")
    assert changed.json()["evidence"] == "refuted"
    assert bench.patch(f"{PATH}{known.pk}/", {"way": "legs_crossed"}, format="json").status_code == 409


def test_an_ordinary_part_is_never_recorded_for_a_safety_part(bench: APIClient) -> None:
    sent = {
        "required": {"kind": "capacitor", "value": "10n", "safety_class": "y2"},
        "offered": {"kind": "capacitor", "value": "10n", "volts": "630"}, "evidence": "soak_test",
    }  # fmt: skip
    refused(bench.post(PATH, sent, format="json"), 409)
    assert bench.post(PATH, {**sent, "evidence": "refuted"}, format="json").status_code == 201


def test_a_trial_in_a_position_says_what_served_where(
    bench: APIClient, board: Board, drawer: Holding
) -> None:
    passed = trials.record(
        by=None, method="soak, one hour", lot=drawer.lot, verdict="good", fixture=board, fixture_ref="TR1"
    )
    made = bench.post(PATH, {"trial": passed.pk}, format="json")
    assert made.status_code == 201, made.content
    result = made.json()
    assert (result["ref"], result["evidence"], result["design"]) == ("TR1", "soak_test", board.design_id)
    assert result["offered"]["number"] == "BC547"


def test_a_failure_refutes_only_when_a_person_says_so(bench: APIClient, drawer: Holding) -> None:
    board = BoardFactory(purpose="working", design=DesignFactory(positions={"TR1": WANTED}))
    stock(1, part=PartFactory(of=WANTED), place=board.place, ref="TR1")
    failed = trials.record(
        by=None, method="try it", lot=drawer.lot, verdict="faulty", fixture=board, fixture_ref="TR1"
    )
    refused(bench.post(PATH, {"trial": failed.pk}, format="json"), 409)
    refused(bench.post(PATH, {"trial": failed.pk, "evidence": "soak_test"}, format="json"), 409)
    refuting = bench.post(PATH, {"trial": failed.pk, "evidence": "refuted"}, format="json")
    result = failed.record.unsettled
    assert refuting.status_code == (409 if result else 201), (refuting.content, result)


def test_a_proven_one_is_planned_and_promised_where_it_was_proven(
    bench: APIClient, job: Job, board: Board, drawer: Holding
) -> None:
    assert [row.short for row in shortages.shortages()] == [2]
    SubstitutionFactory(of=WANTED, by_part=OFFERED, design=board.design, ref="TR2", way="turned_round")
    [row] = shortages.shortages()
    assert (row.needed, row.free, row.short, len(row.jobs)) == (2, 1, 1, 1)
    assert sorted(row.jobs[0].refs) == ["TR1", "TR2"]
    done = shortages.reserve(job, by=None)
    assert [made.need.ref for made in done.made] == ["TR2"]
    fitting = bench.get(f"/api/v1/boards/{board.pk}/fitting/?ref=TR2&lot={drawer.lot_id}").json()
    assert fitting["grade"] == "with_note"
    assert fitting["substitution"] == "seen working; turned round"
    assert fitting["orientation"] == "legs: as recorded for this substitute: turned round"


def test_the_checks_before_power_say_which_way_it_goes(
    bench: APIClient, job: Job, board: Board, drawer: Holding
) -> None:
    SubstitutionFactory(of=WANTED, by_part=OFFERED, design=board.design, ref="TR2", way="turned_round")
    [promise] = shortages.reserve(job, by=None).made
    reservations.fit_promised(promise, by=None)
    items = bench.get(f"/api/v1/boards/{board.pk}/ready/").json()["items"]
    result = {item["check"]: item for item in items if item["refs"] == ["TR2"]}
    assert result["fit"]["state"] == "pass"
    assert "seen working; turned round" in result["fit"]["reason"]
    assert "as recorded for this substitute: turned round" in result["orientation"]["reason"]


def test_a_refuted_one_is_never_offered_there_again(bench: APIClient, job: Job, board: Board) -> None:
    same = stock(2, part=PartFactory(of=WANTED))
    need = job.needs.get(ref="TR2")
    SubstitutionFactory(of=WANTED, by_part=WANTED, design=board.design, ref="TR2", evidence="refuted")
    wanted = bench.get(f"/api/v1/lots/{same.lot_id}/wanted/").json()["results"]
    assert [each["ref"] for each in wanted] == ["TR1"]
    refused(bench.post("/api/v1/reservations/", {"need": need.pk, "lot": same.lot_id}, format="json"), 409)
    why = bench.get(f"/api/v1/needs/{need.pk}/why/").json()
    assert why["short"] == 1
    assert "does not serve" in str(why["refused"])


def test_a_transfer_plan_goes_by_what_was_recorded_on_its_design(
    bench: APIClient, job: Job, board: Board
) -> None:
    donor = BoardFactory(design=DesignFactory(positions={"TR1": OFFERED}))
    stock(1, part=PartFactory(of=OFFERED), place=donor.place, ref="TR1")
    path = f"/api/v1/jobs/{job.pk}/transfer/?from={donor.pk}"
    assert bench.get(path).json()["moves"] == []
    SubstitutionFactory(of=WANTED, by_part=OFFERED, design=board.design, ref="TR2")
    assert [move["to_ref"] for move in bench.get(path).json()["moves"]] == ["TR2"]


def test_one_design_s_record_says_nothing_of_another(job: Job, drawer: Holding) -> None:
    SubstitutionFactory(
        of=WANTED, by_part=OFFERED, design=DesignFactory(positions={"TR2": WANTED}), ref="TR2"
    )
    assert [row.short for row in shortages.shortages()] == [2]


def test_a_loose_need_goes_by_what_holds_anywhere(drawer: Holding) -> None:
    NeedFactory(of=WANTED, quantity=2)
    SubstitutionFactory(of=spec("transistor", None, number="2N3904"), by_part=OFFERED)
    assert [(row.free, row.short) for row in shortages.shortages()] == [(2, 0)]
