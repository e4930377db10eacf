"""Pictures of what was confirmed, tried and noted: at the API, in the time line and in the report."""

from typing import Any

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile

from inventory.models import Board, Photo
from repairs.models import Job
from tests.api.test_problems import pointers, refused
from tests.factories import BoardFactory, DesignFactory, JobFactory, PartFactory, png, spec, stock

pytestmark = pytest.mark.both_databases
API = "/api/v1/"
CHIP = spec("ic", None, number="4116", package="dip16", lead_style="dip")


@pytest.fixture(autouse=True)
def _own_pictures(settings: Any, tmp_path: Any) -> None:
    settings.MEDIA_ROOT = tmp_path / "pictures"


@pytest.fixture
def board(db: None) -> Board:
    made: Board = BoardFactory(
        design=DesignFactory(positions={"U1": CHIP, "U2": CHIP}), purpose="under_repair"
    )
    for ref in ("U1", "U2"):
        stock(part=PartFactory(of=CHIP), place=made.place, ref=ref)
    return made


@pytest.fixture
def job(board: Board) -> Job:
    made: Job = JobFactory(board=board, symptom="no boot")
    return made


def photo_of(client: Any, **of: Any) -> int:
    file = SimpleUploadedFile("dsc.png", png(), "image/png")
    answer = client.post(f"{API}photos/", {"file": file, **of}, format="multipart")
    assert answer.status_code == 201, answer.content
    return int(answer.json()["id"])


def confirmed(client: Any, board: Board, ref: str) -> Any:
    positions = client.get(f"{API}boards/{board.pk}/orientation/").json()["positions"]
    return next(position["confirmation"] for position in positions if position["ref"] == ref)


def lines(client: Any, job: Job, kind: str) -> list[Any]:
    result = client.get(f"{API}jobs/{job.pk}/log/?page_size=200").json()["results"]
    return [line for line in result if line["kind"] == kind]


def test_a_confirmation_shows_who_when_and_the_picture(bench: Any, board: Board, job: Job) -> None:
    assert confirmed(bench, board, "U1") is None
    sent = {"refs": ["U1", "U2"], "right": True, "note": "notches left", "photo": photo_of(bench)}
    assert bench.post(f"{API}boards/{board.pk}/orientation/", sent).status_code == 201
    for ref in ("U1", "U2"):
        result = confirmed(bench, board, ref)
        assert (result["by"], result["note"], result["right"]) == ("bench", "notches left", True)
        [picture] = result["photos"]
        assert bench.get(picture["image"]).status_code == 200
    assert len({photo.content for photo in Photo.objects.all()}) == 1
    assert [len(line["photos"]) for line in lines(bench, job, "confirmation")] == [1, 1]


def test_a_picture_is_added_to_a_confirmation_later(bench: Any, board: Board) -> None:
    bench.post(f"{API}boards/{board.pk}/orientation/", {"refs": ["U1"], "right": True})
    photo = photo_of(bench, confirmation=confirmed(bench, board, "U1")["id"])
    assert [picture["id"] for picture in confirmed(bench, board, "U1")["photos"]] == [photo]
    bench.delete(f"{API}photos/{photo}/")
    signed = confirmed(bench, board, "U1")
    assert signed["right"] is True


def test_a_check_of_the_whole_board_may_have_a_picture(bench: Any, board: Board) -> None:
    made = bench.post(f"{API}boards/{board.pk}/checks/", {"check": "inspection", "right": True}).json()
    assert made["photos"] == []
    photo = photo_of(bench, confirmation=made["id"])
    [check] = bench.get(f"{API}boards/{board.pk}/checks/").json()["checks"]
    assert [picture["id"] for picture in check["photos"]] == [photo]


def test_notes_and_trials_have_pictures_and_so_has_their_line(bench: Any, job: Job, board: Board) -> None:
    entry = bench.post(f"{API}log-entries/", {"job": job.pk, "text": "this track was lifted"}).json()
    trial = bench.post(
        f"{API}trials/", {"board": board.pk, "method": "look", "verdict": "suspect", "reading": "burnt"}
    ).json()
    assert entry["photos"] == trial["photos"] == []
    of_entry, of_trial = photo_of(bench, log_entry=entry["id"]), photo_of(bench, trial=trial["id"])
    of_board, of_job = (
        photo_of(bench, board=board.pk, ref="U1"),
        photo_of(bench, job=job.pk, note="all of it"),
    )
    [seen] = bench.get(f"{API}log-entries/?job={job.pk}").json()["results"]
    assert [picture["id"] for picture in seen["photos"]] == [of_entry]
    assert bench.get(f"{API}trials/{trial['id']}/").json()["photos"][0]["id"] == of_trial
    assert [picture["id"] for line in lines(bench, job, "note") for picture in line["photos"]] == [of_entry]
    assert [picture["id"] for line in lines(bench, job, "trial") for picture in line["photos"]] == [of_trial]
    assert [(line["row"], line["note"]) for line in lines(bench, job, "picture")] == [
        (of_board, ""), (of_job, "all of it"),
    ]  # fmt: skip
    report = bench.get(f"{API}jobs/{job.pk}/report/").json()
    shown = {picture["id"] for line in report["log"] for picture in line["photos"]}
    assert shown == {of_entry, of_trial, of_board, of_job}
    page = bench.get(f"{API}jobs/{job.pk}/report.html").content.decode()
    assert page.count("<img") == 4
    assert "http" not in page


def test_a_note_that_is_struck_leaves_its_picture(bench: Any, job: Job) -> None:
    entry = bench.post(f"{API}log-entries/", {"job": job.pk, "text": "wrong job"}).json()
    photo = photo_of(bench, log_entry=entry["id"])
    assert bench.delete(f"{API}log-entries/{entry['id']}/").status_code == 204
    result = bench.get(f"{API}photos/{photo}/").json()
    assert result["log_entry"] is None
    assert bench.get(result["image"]).status_code == 200


@pytest.mark.parametrize("photo", [999999, "x", {}, -1])
def test_a_picture_that_is_not_there_confirms_nothing(bench: Any, board: Board, photo: Any) -> None:
    sent = {"refs": ["U1"], "right": True, "photo": photo}
    result = refused(bench.post(f"{API}boards/{board.pk}/orientation/", sent), 400)
    assert pointers(result) == {"#/photo"}
    assert confirmed(bench, board, "U1") is None


def test_a_page_of_notes_takes_the_same_queries_for_any_number(
    bench: Any, job: Job, django_assert_max_num_queries: Any
) -> None:
    for number in range(6):
        entry = bench.post(f"{API}log-entries/", {"job": job.pk, "text": f"note {number}"}).json()
        photo_of(bench, log_entry=entry["id"])
    with django_assert_max_num_queries(8):
        result = bench.get(f"{API}log-entries/?job={job.pk}").json()["results"]
    assert all(len(row["photos"]) == 1 for row in result)
