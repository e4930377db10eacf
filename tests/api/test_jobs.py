"""Jobs: opening one makes its needs, and closing one gives back what it no longer wants."""

from typing import Any

import pytest

from inventory.models import Board
from repairs import jobs, reservations
from repairs.models import Job, Need
from tests.api.asking import ids, queries
from tests.api.test_problems import pointers, refused
from tests.factories import BoardFactory, DesignFactory, JobFactory, NeedFactory, PartFactory, stock
from tests.parts import FILM, RESISTOR

pytestmark = pytest.mark.usefixtures("adds_up")
JOBS = "/api/v1/jobs/"


@pytest.fixture
def board(db: None) -> Board:
    design = DesignFactory(positions={"R1": RESISTOR, "R2": RESISTOR, "R3": RESISTOR, "C7": FILM})
    return BoardFactory(design=design, purpose="under_repair", name="Plover C bare")


def opened(client: Any, **body: Any) -> dict[str, Any]:
    answer = client.post(JOBS, {"name": "Plover C rebuild", **body})
    assert answer.status_code == 201, answer.content
    job: dict[str, Any] = answer.json()
    assert client.get(answer.headers["Location"]).json() == job
    assert answer.headers["ETag"] == f'"{job["version"]}"'
    return job


def test_a_job_is_opened_with_its_priority_and_date(bench: Any, board: Board) -> None:
    job = opened(bench, board=board.pk, priority=1, due="2026-12-20", symptom="no sound after warm-up")
    assert (job["name"], job["board_name"], job["status"]) == ("Plover C rebuild", "Plover C bare", "open")
    assert (job["priority"], job["due"], job["symptom"]) == (1, "2026-12-20", "no sound after warm-up")
    assert (job["refs"], job["needed"]) == ([], 0)


@pytest.mark.parametrize(
    ("refs", "wanted"),
    [
        ("all", ["R1", "R2", "R3", "C7"]),
        (["R1-R2", "C7"], ["R1", "R2", "C7"]),
        ("R1-R2, C7", ["R1", "R2", "C7"]),
        (["R3"], ["R3"]),
        ([], []),
    ],
)
def test_references_make_needs_as_the_design_says(
    bench: Any, board: Board, refs: Any, wanted: list[str]
) -> None:
    job = opened(bench, board=board.pk, refs=refs)
    assert job["refs"] == wanted
    assert job["needed"] == len(wanted)
    needs = bench.get(f"/api/v1/needs/?job={job['id']}").json()["results"]
    assert [need["ref"] for need in needs] == wanted
    assert {need["spec_text"] for need in needs if need["ref"] != "C7"} <= {RESISTOR.text}


def test_a_job_for_all_positions_counts_what_is_in_them_already(bench: Any, board: Board) -> None:
    stock(place=board.place, ref="R2", part=PartFactory(of=RESISTOR), source="board", board=board)
    job = opened(bench, board=board.pk, refs="all")
    assert (job["needed"], job["fitted"]) == (4, 1)


def test_a_position_that_the_design_does_not_have_is_named(bench: Any, board: Board) -> None:
    problem = refused(bench.post(JOBS, {"name": "x", "board": board.pk, "refs": ["R1", "R99", "Q1"]}), 409)
    assert (problem["code"], problem["refs"]) == ("unknown_position", ["R99", "Q1"])
    assert not Job.objects.exists()


def test_references_need_a_board_with_a_design(bench: Any) -> None:
    assert refused(bench.post(JOBS, {"name": "x", "refs": "all"}), 409)["code"] == "no_design"
    bare = BoardFactory()
    assert (
        refused(bench.post(JOBS, {"name": "x", "refs": "R1", "board": bare.pk}), 409)["code"] == "no_design"
    )
    assert not Job.objects.exists()


@pytest.mark.parametrize(
    ("body", "wrong"),
    [
        ({}, {"#/name"}),
        ({"name": ""}, {"#/name"}),
        ({"name": "x", "priority": 6}, {"#/priority"}),
        ({"name": "x", "priority": "high"}, {"#/priority"}),
        ({"name": "x", "due": "soon"}, {"#/due"}),
        ({"name": "x", "board": 10**20}, {"#/board"}),
        ({"name": "x", "refs": "R9-R1"}, {"#/refs"}),
        ({"name": "x", "refs": {"R1": 1}}, {"#/refs"}),
        ({"name": "x" * 161, "colour": "red"}, {"#/name", "#/colour"}),
        ({"name": "x\x00"}, {"#/name"}),
        ({"name": {"a": 1}, "note": []}, {"#/name", "#/note"}),
    ],
)
def test_what_cannot_be_read_is_named_member_by_member(
    bench: Any, body: dict[str, Any], wrong: set[str]
) -> None:
    assert pointers(refused(bench.post(JOBS, body), 400)) == wrong


def test_two_jobs_do_not_share_a_name(bench: Any) -> None:
    opened(bench)
    assert pointers(refused(bench.post(JOBS, {"name": "Plover C rebuild"}), 409)) == {"#/name"}


def test_only_what_was_sent_is_changed(bench: Any, board: Board) -> None:
    job = opened(bench, board=board.pk, priority=2, symptom="hum")
    address = f"{JOBS}{job['id']}/"
    answer = bench.patch(address, {"cause": "C7 dried out"}, headers={"If-Match": '"1"'})
    assert answer.headers["ETag"] == '"2"'
    result = answer.json()
    assert {name for name in result if result[name] != job[name]} == {"cause", "version"}
    stale = refused(bench.patch(address, {"priority": 1}, headers={"If-Match": '"1"'}), 412)
    assert stale["version"] == 2
    assert bench.get(address).json()["priority"] == 2


def test_needs_are_not_changed_through_their_job(bench: Any, board: Board) -> None:
    job = opened(bench, board=board.pk)
    assert pointers(refused(bench.patch(f"{JOBS}{job['id']}/", {"refs": "all"}), 400)) == {"#/refs"}


def test_a_job_that_is_finished_gives_its_promises_back(bench: Any, board: Board) -> None:
    job = Job.objects.get(pk=opened(bench, board=board.pk, refs=["R1"])["id"])
    here = stock(2, part=PartFactory(of=RESISTOR))
    promise = reservations.reserve(job.needs.get(), here, 1, by=None)
    finished = {"status": "done", "symptom": "dead", "cause": "R1 open"}
    result = bench.patch(f"{JOBS}{job.pk}/", finished).json()
    assert (result["status"], result["cause"], result["promised"]) == ("done", "R1 open", 0)
    assert result["closed"] is not None
    promise.refresh_from_db()
    assert promise.status == "released"
    again = bench.patch(f"{JOBS}{job.pk}/", {"status": "open"}).json()
    assert (again["status"], again["closed"]) == ("open", None)


def test_a_parked_job_keeps_its_promises(bench: Any, board: Board) -> None:
    job = Job.objects.get(pk=opened(bench, board=board.pk, refs=["R1"])["id"])
    reservations.reserve(job.needs.get(), stock(1, part=PartFactory(of=RESISTOR)), 1, by=None)
    assert bench.patch(f"{JOBS}{job.pk}/", {"status": "parked"}).json()["promised"] == 1


def test_the_board_stays_while_pieces_are_fitted_for_the_job(bench: Any, board: Board) -> None:
    job = Job.objects.get(pk=opened(bench, board=board.pk, refs=["R1"])["id"])
    other = BoardFactory(purpose="under_repair")
    assert bench.patch(f"{JOBS}{job.pk}/", {"board": other.pk}).json()["board"] == other.pk
    assert bench.patch(f"{JOBS}{job.pk}/", {"board": board.pk}).status_code == 200
    promise = reservations.reserve(job.needs.get(), stock(1, part=PartFactory(of=RESISTOR)), 1, by=None)
    reservations.fit_promised(promise, by=None)
    problem = refused(bench.patch(f"{JOBS}{job.pk}/", {"board": other.pk}), 409)
    assert (problem["code"], problem["board"]) == ("in_use", board.pk)


def test_a_job_that_nothing_was_done_for_is_deleted_and_one_with_a_history_is_not(
    owner: Any, bench: Any, board: Board
) -> None:
    fresh = opened(bench, board=board.pk, refs="all")
    address = f"{JOBS}{fresh['id']}/"
    refused(bench.delete(address), 403)
    refused(owner.delete(address, headers={"If-Match": '"7"'}), 412)
    assert owner.delete(address).status_code == 204
    assert not Need.objects.exists()
    used = jobs.open_job(name="Used", board=board, refs=["R1"], by=None)
    reservations.release(
        reservations.reserve(used.needs.get(), stock(1, part=PartFactory(of=RESISTOR)), 1, by=None)
    )
    problem = refused(owner.delete(f"{JOBS}{used.pk}/"), 409)
    assert (problem["code"], problem["reservations"], problem["loans"]) == ("in_use", 1, 0)
    assert "abandon" in problem["detail"]


def test_jobs_are_found_by_status_board_date_and_words(bench: Any, board: Board) -> None:
    urgent = JobFactory(name="Tern", priority=1, due="2026-12-01", symptom="hum")
    parked = JobFactory(name="Plover", priority=1, status="parked", board=board)
    last = JobFactory(name="Dunlin", priority=2, due="2026-12-24")

    def found(query: str) -> list[int]:
        return ids(bench, f"{JOBS}?{query}")

    assert found("") == [urgent.pk, parked.pk, last.pk]
    assert found("status=open") == [urgent.pk, last.pk]
    assert found("status=open&status=parked&ordering=-name") == [urgent.pk, parked.pk, last.pk]
    assert found(f"board={board.pk}") == [parked.pk]
    assert found("due_before=2026-12-01") == [urgent.pk]
    assert found("priority=2") == [last.pk]
    assert found("q=hum") == [urgent.pk]
    for query in (
        "status=lost",
        "board=x",
        "priority=high",
        "due_before=soon",
        "ordering=mood",
        "colour=red",
    ):
        refused(bench.get(f"{JOBS}?{query}"), 400)


def test_the_list_takes_the_same_few_queries_for_any_number_of_jobs(bench: Any) -> None:
    NeedFactory(ref="R1")
    queries(bench, JOBS)
    few = queries(bench, JOBS)
    for _ in range(5):
        NeedFactory(ref="R1")
    assert queries(bench, JOBS) == few
