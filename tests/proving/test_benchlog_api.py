"""The bench log of a job, closing it, what was seen before, and the report."""

import io
from decimal import Decimal
from typing import Any

import pytest
from django.core.management import call_command

from inventory.ledger import Spot
from inventory.models import Board, Design
from repairs import bringing_up, loans, reservations, trials
from repairs.models import Job, Need, Purchase
from repairs.proving.ready import Readiness
from repairs.purchases import receive
from tests.api.test_problems import pointers, refused
from tests.factories import (
    BoardFactory,
    DesignFactory,
    JobFactory,
    NeedFactory,
    PartFactory,
    PlaceFactory,
    spec,
    stock,
)

pytestmark = pytest.mark.both_databases
API = "/api/v1/"
FILM = spec("capacitor", "100n", volts=Decimal(63), dielectric="film", lead_style="axial")
RADIAL = spec("capacitor", "100n", volts=Decimal(63), dielectric="film", lead_style="radial")


def mend(**more: Any) -> Job:
    design = DesignFactory(positions={"C1": FILM, "C2": FILM})
    Design.objects.filter(pk=design.pk).update(
        links=[{"name": "LK1", "settings": ["flash", "steady"], "rules": []}],
        rails=[{"name": "+5V", "nominal": "5", "low": "4.75", "high": "5.25"}],
    )
    board = BoardFactory(design=design, purpose="under_repair")
    return JobFactory(board=board, **{"symptom": "flat trace at high water", **more})  # type: ignore[no-any-return]


def on_its_board(job: Job) -> Board:
    assert job.board is not None
    return job.board


def entry(client: Any, job: Job, text: str, kind: str = "note") -> Any:
    answer = client.post(f"{API}log-entries/", {"job": job.pk, "text": text, "kind": kind})
    assert answer.status_code == 201, answer.content
    return answer.json()


def log(client: Any, job: Job) -> list[tuple[str, str]]:
    lines = client.get(f"{API}jobs/{job.pk}/log/?page_size=200").json()["results"]
    assert [line["at"] for line in lines] == sorted(line["at"] for line in lines)
    return [(line["kind"], line["text"]) for line in lines]


def test_everything_of_a_job_is_in_one_time_line(bench: Any) -> None:
    job = mend()
    board = on_its_board(job)
    entry(bench, job, "smells of salt")
    need = NeedFactory(job=job, ref="C1", of=FILM)
    lot = stock(part=PartFactory(of=FILM)).lot
    body = {"kind": "fit", "lot": lot.pk, "board": board.pk, "ref": "C1", "note": "sleeved"}
    assert bench.post(f"{API}movements/", body).status_code == 201
    trials.record(by=None, board=board, ref="C1", method="look", verdict="good", reading="fine")
    bringing_up.set_links(board, {"LK1": "steady"}, by=None)
    bringing_up.read_rail(board, "+5V", "ohms", Decimal(220), by=None)
    bringing_up.confirm(board, "supply", by=None, right=True)
    kinds = [kind for kind, _text in log(bench, job)]
    assert kinds[0] == "opened"
    assert kinds[1:] == ["note", "fit", "trial", "link", "rail", "confirmation"]
    assert ("rail", "+5V ohms: 220 Ω") in log(bench, job)
    assert Need.objects.get(pk=need.pk).fitted == 1


def test_what_happened_on_the_board_before_the_job_is_not_in_it(bench: Any) -> None:
    job = mend()
    bringing_up.set_links(on_its_board(job), {"LK1": "flash"}, by=None)
    later = JobFactory(board=job.board, symptom="again")
    assert [kind for kind, _text in log(bench, later)] == ["opened"]


def test_a_task_is_ticked_by_whoever_did_it(bench: Any) -> None:
    job = mend()
    task = entry(bench, job, "refit the case: nothing fouls, all screws back", kind="task")
    answer = bench.patch(f"{API}log-entries/{task['id']}/", {"done": True})
    assert answer.status_code == 200, answer.content
    assert (answer.json()["done"], answer.json()["done_by"]) == (True, "bench")
    assert ("done", task["text"]) in log(bench, job)
    assert bench.patch(f"{API}log-entries/{task['id']}/", {"done": False}).json()["done_at"] is None
    note = entry(bench, job, "a note")
    assert (
        refused(bench.patch(f"{API}log-entries/{note['id']}/", {"done": True}), 409)["code"] == "not_a_task"
    )


def test_things_to_do_are_found(bench: Any) -> None:
    job = mend()
    first, second = entry(bench, job, "heatsink", "task"), entry(bench, job, "feet", "task")
    bench.patch(f"{API}log-entries/{first['id']}/", {"done": True})

    def found(query: str) -> list[int]:
        return [row["id"] for row in bench.get(f"{API}log-entries/?{query}").json()["results"]]

    assert found(f"job={job.pk}&kind=task&done=false") == [second["id"]]
    assert found("done=true") == [first["id"]]
    refused(bench.get(f"{API}log-entries/?done=perhaps"), 400)
    for body, wrong in (
        ({}, {"#/job", "#/text"}),
        ({"job": job.pk, "text": "x", "kind": "song"}, {"#/kind"}),
    ):
        assert wrong <= pointers(refused(bench.post(f"{API}log-entries/", body), 400))


# --- closing


def close(client: Any, job: Job, status: int = 200, **body: Any) -> Any:
    answer = client.post(f"{API}jobs/{job.pk}/close/", body)
    assert answer.status_code == status, answer.content
    return answer.json()


def test_a_job_is_closed_with_its_cause(bench: Any) -> None:
    job = mend()
    assert close(bench, job, 409)["code"] == "cause_missing"
    result = close(bench, job, cause="C1 leaky")
    assert (result["status"], result["cause"], result["symptom"]) == (
        "done",
        "C1 leaky",
        "flat trace at high water",
    )
    assert close(bench, job, 409, cause="again")["code"] == "job_closed"
    assert close(bench, mend(symptom=""), 409, cause="C1")["code"] == "symptom_missing"


def test_a_job_with_things_to_do_is_not_closed(bench: Any) -> None:
    job = mend()
    entry(bench, job, "refit the case", "task")
    result = close(bench, job, 409, cause="C1")
    assert (result["code"], result["tasks"]) == ("tasks_left", ["refit the case"])
    assert Job.objects.get(pk=job.pk).cause == ""


def test_a_fault_proven_with_a_borrowed_part_is_isolated_not_fixed(bench: Any) -> None:
    job = mend()
    lender = BoardFactory(purpose="working", design=on_its_board(job).design)
    stock(part=PartFactory(of=FILM), place=lender.place, ref="C1")
    tray = PlaceFactory()
    [line] = loans.borrow(lender, ["C1"], Spot(tray.pk), by=None, job=job, reason="to prove C1")
    reservations.fit(line.lot, Spot(tray.pk), on_its_board(job), "C1", by=None)
    report = bench.get(f"{API}jobs/{job.pk}/report/").json()
    assert report["isolated"] == ["C1"]
    assert close(bench, job, 409, cause="C1 leaky")["code"] == "open_loan"
    assert Job.objects.get(pk=job.pk).status == "open"
    bench.post(f"{API}movements/", {"kind": "return", "loan": line.loan.pk})
    assert bench.get(f"{API}jobs/{job.pk}/report/").json()["isolated"] == []
    result = close(bench, job, 409, cause="C1 leaky")
    assert (result["code"], result["loans"]) == ("lender_unproven", [line.loan.pk])
    assert "passed after" in result["detail"]
    proof = f"{API}loans/{line.loan.pk}/proofs/"
    bench.post(proof, {"when": "after", "passed": False, "reading": "dark"})
    assert "failed: dark" in close(bench, job, 409, cause="C1 leaky")["detail"]
    bench.post(proof, {"when": "after", "passed": True})
    close(bench, job, cause="C1 leaky")


def test_a_lender_of_a_loan_without_a_job_is_tried_before_the_job_of_its_piece_is_closed(bench: Any) -> None:
    job = mend()
    lender = BoardFactory(purpose="working", design=on_its_board(job).design)
    stock(part=PartFactory(of=FILM), place=lender.place, ref="C1")
    tray = PlaceFactory()
    [line] = loans.borrow(lender, ["C1"], Spot(tray.pk), by=None)
    reservations.fit(line.lot, Spot(tray.pk), on_its_board(job), "C1", by=None)
    bench.post(f"{API}movements/", {"kind": "return", "loan": line.loan.pk})
    assert close(bench, job, 409, cause="C1 leaky")["code"] == "lender_unproven"
    assert refused(bench.patch(f"{API}jobs/{job.pk}/", {"status": "abandoned"}), 409)["loans"]
    other = mend()
    close(bench, other, cause="none of that board's business")


@pytest.mark.parametrize("way", ["patch", "close"])
def test_a_job_is_finished_by_one_rule_whichever_way_it_is_asked(bench: Any, way: str) -> None:
    def finish(job: Job, **given: str) -> Any:
        if way == "close":
            return bench.post(f"{API}jobs/{job.pk}/close/", given)
        return bench.patch(f"{API}jobs/{job.pk}/", {"status": "done", **given})

    assert refused(finish(mend()), 409)["code"] == "cause_missing"
    assert refused(finish(mend(symptom=""), cause="C1"), 409)["code"] == "symptom_missing"
    job = mend()
    task = entry(bench, job, "refit the case", "task")
    assert refused(finish(job, cause="C1"), 409)["tasks"] == ["refit the case"]
    assert (Job.objects.get(pk=job.pk).status, Job.objects.get(pk=job.pk).cause) == ("open", "")
    bench.patch(f"{API}log-entries/{task['id']}/", {"done": True})
    assert finish(job, cause="C1").status_code == 200
    assert Job.objects.get(pk=job.pk).status == "done"
    assert bench.patch(f"{API}jobs/{mend(symptom='').pk}/", {"status": "abandoned"}).status_code == 200


# --- seen before


def test_what_was_seen_before_on_the_design_is_found_by_words(bench: Any) -> None:
    job = mend()
    entry(bench, job, "the wave filter it was")
    close(bench, job, cause="C24 leaky")
    other = mend()
    close(bench, other, cause="mains lead broken")
    design = on_its_board(job).design
    assert design is not None
    later = Design.objects.create(name=design.name, revision="Z")

    def found(query: str = "") -> list[str]:
        answer = bench.get(f"{API}designs/{later.pk}/seen/{query}")
        assert answer.status_code == 200, answer.content
        return [row["cause"] for row in answer.json()["results"]]

    assert found() == ["C24 leaky"]
    assert found("?q=flat+leaky") == found("?q=wave") == ["C24 leaky"]
    assert found("?q=flat+mains") == []
    refused(bench.get(f"{API}designs/{later.pk}/seen/?q={'x' * 300}"), 400)
    refused(bench.get(f"{API}designs/{later.pk}/seen/?colour=red"), 400)


# --- the report


def test_the_report_says_parts_origins_costs_and_savings(bench: Any) -> None:
    job = mend()
    board = on_its_board(job)
    for ref in ("C1", "C2"):
        NeedFactory(job=job, ref=ref, of=FILM, note="the wave filter" if ref == "C1" else "")
    donor = BoardFactory(name="Drowned Tern")
    radial = PartFactory(of=RADIAL, price=Decimal("0.40"))
    salvaged = stock(part=radial, source="board", board=donor).lot
    body = {
        "kind": "fit",
        "lot": salvaged.pk,
        "board": board.pk,
        "ref": "C1",
        "note": "radial in an axial place, sleeved",
    }
    assert bench.post(f"{API}movements/", body).status_code == 201
    bought = Purchase.objects.create(
        part=PartFactory(of=FILM), quantity=1, price=Decimal("0.25"), bought_from="Slack Tide"
    )
    drawer = PlaceFactory()
    receive(bought, Spot(drawer.pk), by=None)
    bought.refresh_from_db()
    body = {"kind": "fit", "lot": bought.lot_id, "board": board.pk, "ref": "C2"}
    assert bench.post(f"{API}movements/", body).status_code == 201
    bringing_up.read_rail(board, "+5V", "chips_out", Decimal("4.98"), by=bench.person)
    bringing_up.accept(board, "inspection", [""], "looked at it yesterday", by=bench.person)
    entry(bench, job, "a heatsink", "task")
    result = bench.get(f"{API}jobs/{job.pk}/report/").json()
    first, second = result["parts"]
    assert (first["origin"], first["salvaged"], first["price"]) == ("Drowned Tern", True, "0.40")
    assert first["note"] == "radial in an axial place, sleeved; the wave filter"
    assert (second["origin"], second["salvaged"], second["price"]) == ("bought Slack Tide", False, "0.25")
    assert (result["spent"], result["saved"], result["unpriced"]) == ("0.25", "0.40", 0)
    assert result["readings"][0]["reading"] == "4.98 V"
    assert result["exceptions"][0]["why"] == "looked at it yesterday"
    assert result["tasks"] == [{"text": "a heatsink", "done": False}]
    assert result["verdict"] in ("open", "stop")


def test_the_report_says_how_many_exceptions_the_verdict_rests_on(
    bench: Any, monkeypatch: pytest.MonkeyPatch
) -> None:
    job = mend()
    on_its_board(job)
    judged = Readiness("ready", (), (), 2, ("kim", "robin"))
    monkeypatch.setattr("repairs.answers.report.reporting.readiness.judge", lambda board: judged)
    result = bench.get(f"{API}jobs/{job.pk}/report/").json()
    assert (result["accepted"], result["accepted_by"]) == (2, ["kim", "robin"])
    assert result["verdict_text"] == "ready, 2 accepted by kim and robin"
    page = bench.get(f"{API}jobs/{job.pk}/report.html").content.decode()
    assert "Every check passes, 2 accepted as they are by kim and robin." in page
    out = io.StringIO()
    call_command("report", job.name, stdout=out)
    assert "ready to power: ready, 2 accepted by kim and robin" in out.getvalue()


def test_the_printed_report_shows_what_people_wrote_as_text(bench: Any) -> None:
    job = mend(symptom="<script>alert(1)</script>")
    page = bench.get(f"{API}jobs/{job.pk}/report.html")
    assert page.headers["Content-Type"].startswith("text/html")
    text = page.content.decode()
    assert "<script" not in text
    assert "&lt;script&gt;" in text
    assert "http://" not in text
    assert "https://" not in text


@pytest.mark.parametrize(
    "path", ["jobs/{}/log/", "jobs/{}/report/", "jobs/{}/report.html", "designs/{}/seen/"]
)
def test_what_is_not_there_is_404_and_unknown_parameters_are_refused(bench: Any, path: str) -> None:
    refused(bench.get(API + path.format(999999)), 404)
    refused(bench.get(API + path.format(999999) + "?colour=red"), 400)


def test_a_job_without_a_board_has_a_log_and_a_report_too(bench: Any) -> None:
    job = JobFactory(symptom="dead radio")
    assert log(bench, job) == [("opened", "dead radio")]
    assert bench.get(f"{API}jobs/{job.pk}/report/").json()["board"] is None
    assert bench.get(f"{API}jobs/{job.pk}/report.html").status_code == 200
