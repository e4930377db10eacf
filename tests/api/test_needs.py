"""Needs: what jobs require, at positions or loose, and what may be said anew of them."""

from typing import Any

import pytest

from inventory.models import StoredSpec
from repairs import jobs, reservations
from repairs.models import Job, Need
from tests.api.asking import ids, made, queries
from tests.api.test_problems import pointers, refused
from tests.factories import BoardFactory, DesignFactory, JobFactory, NeedFactory, PartFactory, spec, stock
from tests.parts import RESISTOR

pytestmark = pytest.mark.usefixtures("adds_up")
NEEDS = "/api/v1/needs/"


@pytest.fixture
def job(db: None) -> Job:
    board = BoardFactory(
        design=DesignFactory(positions={"R1": RESISTOR, "R2": RESISTOR}), purpose="under_repair"
    )
    return jobs.open_job(name="Mend the Plover", board=board, by=None)


def test_a_need_at_a_position_wants_what_the_design_says(bench: Any, job: Job) -> None:
    need = made(bench, NEEDS, job=job.pk, ref="R1", note="gets hot")
    assert (need["job_name"], need["ref"], need["quantity"], need["lacking"]) == (
        "Mend the Plover",
        "R1",
        1,
        1,
    )
    assert (need["kind"], need["value"], need["value_text"], need["watts"]) == (
        "resistor",
        "4700",
        "4k7",
        "0.25",
    )
    assert (need["spec_text"], need["status"], need["note"]) == (RESISTOR.text, "open", "gets hot")


def test_a_need_may_want_something_else_than_the_design(bench: Any, job: Job) -> None:
    need = made(bench, NEEDS, job=job.pk, ref="R1", kind="resistor", value="4.7 kΩ", watts="0.5")
    assert (need["value"], need["watts"], need["tolerance_percent"]) == ("4700", "0.5", None)


def test_loose_pieces_are_needed_in_any_number(bench: Any) -> None:
    need = made(bench, NEEDS, job=JobFactory().pk, kind="diode", number="1N4148", quantity=8)
    assert (need["ref"], need["quantity"], need["lacking"]) == ("", 8, 8)


def test_equal_requirements_share_one_stored_spec(bench: Any) -> None:
    job = JobFactory()
    for value in ("4k7", "4.7k", "4700", "4,7 kΩ"):
        made(bench, NEEDS, job=job.pk, kind="resistor", value=value)
    assert StoredSpec.objects.count() == 1


@pytest.mark.parametrize(
    ("body", "wrong"),
    [
        ({}, {"#/job", "#/kind"}),
        ({"kind": "resistor", "value": "4k7k", "volts": "x"}, {"#/job", "#/value", "#/volts"}),
        ({"job": 0, "kind": "lamp"}, {"#/job"}),
        ({"job": "{job}"}, {"#/kind"}),
        ({"job": "{job}", "ref": "R1", "kind": "lamp", "quantity": 2}, {"#/quantity"}),
        ({"job": "{job}", "kind": "lamp", "quantity": 0}, {"#/quantity"}),
        ({"job": "{job}", "kind": "lamp", "ref": "R1, R2"}, {"#/ref"}),
        ({"job": "{job}", "kind": "lamp", "colour": "red"}, {"#/colour"}),
        ({"job": "{job}", "kind": "sausage"}, {"#/kind"}),
        ({"job": "{job}", "ref": ["R1"]}, {"#/ref"}),
    ],
)
def test_what_cannot_be_read_is_named(bench: Any, job: Job, body: dict[str, Any], wrong: set[str]) -> None:
    sent = {name: job.pk if value == "{job}" else value for name, value in body.items()}
    assert pointers(refused(bench.post(NEEDS, sent), 400)) == wrong
    assert not Need.objects.exists()


def test_a_position_is_needed_once_and_has_to_be_there(bench: Any, job: Job) -> None:
    made(bench, NEEDS, job=job.pk, ref="R1")
    for sent in ({"ref": "R1"}, {"ref": "R1", "kind": "resistor"}):
        problem = refused(bench.post(NEEDS, {"job": job.pk, **sent}), 409)
        assert (problem["code"], problem["refs"]) == ("need_exists", ["R1"])
    for sent in ({"ref": "R9"}, {"ref": "R9", "kind": "resistor"}):
        assert refused(bench.post(NEEDS, {"job": job.pk, **sent}), 409)["code"] == "unknown_position"


def test_a_board_without_a_design_has_whatever_position_is_given(bench: Any) -> None:
    job = JobFactory(board=BoardFactory(purpose="under_repair"))
    assert made(bench, NEEDS, job=job.pk, ref="X1", kind="crystal", value="4.096 MHz")["ref"] == "X1"
    assert refused(bench.post(NEEDS, {"job": job.pk, "ref": "X2"}), 409)["code"] == "no_design"


@pytest.mark.parametrize("status", ["done", "abandoned"])
def test_a_closed_job_needs_nothing_more(bench: Any, job: Job, status: str) -> None:
    Job.objects.filter(pk=job.pk).update(symptom="dead", cause="R1 open")
    jobs.set_status(job, status)
    for sent in ({"ref": "R1"}, {"kind": "lamp"}):
        problem = refused(bench.post(NEEDS, {"job": job.pk, **sent}), 409)
        assert (problem["code"], problem["found_status"]) == ("job_closed", status)


def test_only_what_was_sent_is_changed(bench: Any) -> None:
    need = made(bench, NEEDS, job=JobFactory().pk, kind="capacitor", value="100n", volts="63", note="x")
    address = f"{NEEDS}{need['id']}/"
    result = bench.patch(address, {"volts": "100"}, headers={"If-Match": '"1"'}).json()
    assert {name for name in result if result[name] != need[name]} == {"volts", "spec_text", "version"}
    assert refused(bench.patch(address, {"note": ""}, headers={"If-Match": '"1"'}), 412)["version"] == 2
    assert pointers(refused(bench.patch(address, {"job": 1}), 400)) == {"#/job"}


def given(job: Job, quantity: int = 2) -> Need:
    """A loose need for five, some of them promised."""
    need = NeedFactory(job=job, of=RESISTOR, quantity=5)
    reservations.reserve(need, stock(5, part=PartFactory(of=RESISTOR)), quantity, by=None)
    return Need.objects.get(pk=need.pk)


def test_a_need_wants_no_fewer_than_it_was_given(bench: Any, job: Job) -> None:
    address = f"{NEEDS}{given(job, 2).pk}/"
    problem = refused(bench.patch(address, {"quantity": 1}), 409)
    assert (problem["code"], problem["available"]) == ("need_is_met", 2)
    assert bench.patch(address, {"quantity": 2}).json()["lacking"] == 0


def test_what_was_promised_stays_for_what_was_wanted(bench: Any, job: Job) -> None:
    address = f"{NEEDS}{given(job).pk}/"
    for change in ({"value": "10k"}, {"ref": "R1", "quantity": 1}):
        assert refused(bench.patch(address, change), 409)["code"] == "need_is_met"
    assert bench.patch(address, {"value": "4700", "note": "same"}).status_code == 200


def test_a_dropped_need_gives_its_promises_up_and_may_be_wanted_again(bench: Any, job: Job) -> None:
    need = given(job)
    result = bench.patch(f"{NEEDS}{need.pk}/", {"status": "dropped"}).json()
    assert (result["status"], result["promised"]) == ("dropped", 0)
    assert need.reservations.get().status == "released"
    assert bench.patch(f"{NEEDS}{need.pk}/", {"status": "open"}).json()["status"] == "open"


def test_a_need_with_a_history_is_dropped_not_deleted(owner: Any, job: Job) -> None:
    fresh = NeedFactory(job=job)
    assert owner.delete(f"{NEEDS}{fresh.pk}/").status_code == 204
    assert refused(owner.delete(f"{NEEDS}{given(job).pk}/"), 409)["code"] == "in_use"


def test_needs_are_found_by_job_value_and_what_they_lack(bench: Any, job: Job) -> None:
    some = given(job)
    all_given = given(job, 5)
    other = NeedFactory(of=spec("capacitor", "100n"), ref="C1", job=JobFactory(board=BoardFactory()))
    dropped = NeedFactory(job=job, of=RESISTOR, status="dropped")

    def found(query: str) -> list[int]:
        return ids(bench, f"{NEEDS}?{query}")

    assert found(f"job={job.pk}") == [some.pk, all_given.pk, dropped.pk]
    assert found(f"job={job.pk}&status=open&lacking=true") == [some.pk]
    assert found(f"job={job.pk}&lacking=false") == [all_given.pk]
    assert found("kind=capacitor&value=0.1uF") == [other.pk]
    assert found(f"board={other.job.board_id}&ref=C1") == [other.pk]
    assert found("q=4k7&ordering=-lacking") == [some.pk, dropped.pk, all_given.pk]
    for query in ("job=x", "status=lost", "lacking=maybe", "value=lots", "colour=red", "ordering=mood"):
        refused(bench.get(f"{NEEDS}?{query}"), 400)


def test_the_list_takes_the_same_few_queries_for_any_number_of_needs(bench: Any) -> None:
    NeedFactory()
    queries(bench, NEEDS)
    few = queries(bench, NEEDS)
    for ohms in ("1k", "2k2", "3k3"):
        NeedFactory(of=spec("resistor", ohms))
    assert queries(bench, NEEDS) == few


def test_a_viewer_wants_nothing(viewer: Any, job: Job) -> None:
    refused(viewer.post(NEEDS, {"job": job.pk, "ref": "R1"}), 403)
