"""`manage.py report` and `manage.py log`: the same at a terminal."""

import json
from pathlib import Path
from typing import Any

import pytest
from django.core.management import CommandError, call_command

from inventory.models import Board
from repairs import bringing_up, reservations
from repairs.models import Job
from tests.factories import (
    BoardFactory,
    DesignFactory,
    JobFactory,
    PartFactory,
    PersonFactory,
    photo,
    spec,
    stock,
)

pytestmark = pytest.mark.django_db


@pytest.fixture(autouse=True)
def _own_pictures(settings: Any, tmp_path: Path) -> None:
    settings.MEDIA_ROOT = tmp_path / "pictures"


@pytest.fixture
def job() -> Job:
    board: Board = BoardFactory(name="Petrel bare", design=DesignFactory(positions={"R1": spec()}))
    made: Job = JobFactory(name="Petrel, no light", board=board, symptom="[no] light", cause="R1 open")
    there = stock(part=PartFactory(of=spec()), source="board", board=BoardFactory(name="Drowned Tern"))
    reservations.fit(there.lot, _spot(there), board, "R1", by=None)
    bringing_up.accept(board, "inspection", [""], "seen twice", by=None)
    return made


def _spot(there: Any) -> Any:
    from inventory.ledger import Spot

    return Spot(there.place_id, there.ref)


def test_the_report_is_printed(job: Job, capsys: pytest.CaptureFixture[str]) -> None:
    call_command("report", "Petrel, no light")
    answer = capsys.readouterr().out
    assert "symptom: [no] light" in answer
    assert "Drowned Tern" in answer
    assert "seen twice" in answer
    assert "Trials: none" in answer
    call_command("report", str(job.pk), "--json")
    assert json.loads(capsys.readouterr().out)["parts"][0]["origin"] == "Drowned Tern"


def test_a_page_to_print_has_its_pictures_in_it(job: Job, tmp_path: Path) -> None:
    photo(subject="job", subject_id=job.pk, note="all of it")
    lost = photo(subject="job", subject_id=job.pk)
    lost.content = "0" * 64
    lost.save(update_fields=["content"])
    file = tmp_path / "petrel.html"
    call_command("report", "Petrel, no light", "--html", str(file))
    page = file.read_text(encoding="utf-8")
    assert page.count("data:image/jpeg;base64,") == 1
    assert "/api/" not in page
    with pytest.raises(CommandError, match="is not written"):
        call_command("report", "Petrel, no light", "--html", str(tmp_path / "no" / "such.html"))


def test_the_log_is_printed_and_written_into(job: Job, capsys: pytest.CaptureFixture[str]) -> None:
    PersonFactory(username="robin")
    call_command("log", "Petrel, no light", "--task", "refit the case", "--by", "robin")
    call_command("log", str(job.pk), "--note", "smells of salt")
    assert [(entry.kind, entry.person) for entry in job.entries.order_by("id")] == [
        ("task", "robin"), ("note", "someone"),
    ]  # fmt: skip
    capsys.readouterr()
    call_command("log", "Petrel, no light")
    answer = capsys.readouterr().out
    assert "refit the case" in answer
    assert "exception" in answer
    call_command("log", "Petrel, no light", "--json")
    assert "smells of salt" in {line["text"] for line in json.loads(capsys.readouterr().out)["results"]}


def test_what_was_seen_before_on_the_design_is_printed(job: Job, capsys: pytest.CaptureFixture[str]) -> None:
    Job.objects.filter(pk=job.pk).update(status="done")
    name = job.board.design.name
    for words in ([], ["light"], ["r1", "OPEN"]):
        call_command("seen_before", name, *words)
        answer = capsys.readouterr().out
        assert "[no] light" in answer
        assert "R1 open" in answer
    call_command("seen_before", name, "smoke")
    assert "nothing like it" in capsys.readouterr().out
    call_command("seen_before", str(job.board.design.pk), "--json")
    assert [each["cause"] for each in json.loads(capsys.readouterr().out)["results"]] == ["R1 open"]
    with pytest.raises(CommandError, match="no design is named Gull; designs: "):
        call_command("seen_before", "Gull")


@pytest.mark.parametrize(
    ("given", "message"),
    [
        (["Nothing"], "no job is named"), (["9" * 30], "no job is named"),
        (["Petrel, no light", "--note", ""], "the note"),
        (["Petrel, no light", "--task", "x" * 2001], "2000"),
        (["Petrel, no light", "--note", "a\x00b"], "the note"),
        (["Petrel, no light", "--note", "x", "--by", "nobody"], "nobody is called"),
        (["Petrel, no light", "--by", "robin"], "goes with"),
    ],
)  # fmt: skip
def test_what_cannot_be_done_is_reported_in_one_line(job: Job, given: list[str], message: str) -> None:
    with pytest.raises(CommandError, match=message) as refused:
        call_command("log", *given)
    assert "\n" not in str(refused.value)
    assert not job.entries.exists()
