"""Shortages: what open jobs lack after the best use of everything free, and promising that plan to a job.

One file, since what is promised must be what the answer planned.
"""

import csv
import html
import io
from collections.abc import Callable, Iterator
from dataclasses import replace
from datetime import date
from decimal import Decimal
from typing import Any

import pytest
from django.contrib.auth.models import User
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from openpyxl import load_workbook

from inventory import answers, ledger
from inventory.ledger import Spot
from inventory.models import Board, Holding, Lot, Place
from inventory.spec import Spec
from repairs import loans, reservations
from repairs.answers import shortages
from repairs.answers.shortages import reserving, view
from repairs.models import Job, Need, Purchase, Reservation
from tests.api.asking import queries
from tests.api.test_problems import pointers, refused
from tests.factories import (
    BoardFactory,
    DesignFactory,
    JobFactory,
    NeedFactory,
    PartFactory,
    PlaceFactory,
    SubstitutionFactory,
    spec,
    stock,
)
from tests.parts import RESISTOR, on_board

pytestmark = pytest.mark.usefixtures("adds_up")
SHORTAGES = "/api/v1/shortages/"
FILM = spec("capacitor", "100n", volts=Decimal(63), dielectric="film", lead_style="radial")


def answer(client: Any, query: str = "") -> dict[str, Any]:
    """The whole answer, in which every count adds up."""
    got = client.get(f"{SHORTAGES}{query}")
    assert got.status_code == 200, got.content
    body: dict[str, Any] = got.json()
    taken = {"drawer": "free", "donor": "on_donors", "borrow": "on_donors", "on_order": "on_order"}
    for row in body["results"]:
        parts = ("fitted", "promised", "free", "on_donors", "on_order", "short")
        assert row["needed"] == sum(row[name] for name in parts), row
        for name in ("free", "on_donors", "on_order"):
            assert row[name] == sum(take["quantity"] for take in row["take"] if taken[take["tier"]] == name)
        for name in ("needed", "fitted", "promised", "short"):
            assert row[name] == sum(job[name] for job in row["jobs"])
    for name in ("needed", "fitted", "promised", "free", "on_donors", "on_order", "borrowed", "short"):
        assert body["totals"][name] == sum(row[name] for row in body["results"]) or "page" in query
    return body


def only_row(client: Any, query: str = "") -> dict[str, Any]:
    [row] = answer(client, query)["results"]
    return dict(row)


# --- what is taken from where


def test_nothing_is_short_where_nothing_is_needed(bench: Any) -> None:
    stock(5)
    assert answer(bench)["results"] == []


def test_a_requirement_of_several_jobs_is_one_row(bench: Any) -> None:
    first, second = JobFactory(name="Plover", priority=1), JobFactory(name="Tern", priority=2)
    for job, refs in ((second, ["R7", "R8"]), (first, ["R1"])):
        for ref in refs:
            NeedFactory(job=job, ref=ref, of=RESISTOR)
    NeedFactory(job=second, of=RESISTOR, quantity=3)
    row = only_row(bench)
    assert (row["needed"], row["short"]) == (6, 6)
    assert row["spec"]["value_text"] == "4k7"
    assert row["spec_text"] == RESISTOR.text
    assert [(job["job"], job["name"], job["refs"], job["needed"]) for job in row["jobs"]] == [
        (first.pk, "Plover", ["R1"], 1),
        (second.pk, "Tern", ["R7", "R8"], 5),
    ]


def test_a_row_tells_which_positions_lack_a_piece_and_which_of_them_stay_short(bench: Any) -> None:
    job = JobFactory(name="Plover")
    needs = {ref: NeedFactory(job=job, ref=ref, of=RESISTOR) for ref in ("R1", "R2", "R3", "R4")}
    needs["loose"] = NeedFactory(job=job, of=RESISTOR, quantity=2)
    holding = stock(2, part=PartFactory(of=RESISTOR))
    reservations.reserve(needs["R2"], holding, 1, by=None)
    [waiting] = only_row(bench)["jobs"]
    assert waiting["refs"] == ["R1", "R2", "R3", "R4"]
    assert waiting["lacking_refs"] == ["R1", "R3", "R4"]
    assert (waiting["short_refs"], waiting["short"]) == (["R3", "R4"], 4)
    bench.post(f"/api/v1/jobs/{job.pk}/reserve/")
    # What the plan takes went to the need that stands first, as the row had said.
    assert Need.objects.get(pk=needs["R1"].pk).promised == 1
    [waiting] = only_row(bench)["jobs"]
    assert waiting["lacking_refs"] == waiting["short_refs"] == ["R3", "R4"]
    assert [row.jobs_that_wait for row in shortages.shortages()] == ["Plover R3, R4"]


def test_a_position_that_is_reserved_in_full_lacks_nothing_beside_loose_pieces_that_do(bench: Any) -> None:
    job = JobFactory(name="Plover")
    position = NeedFactory(job=job, ref="R1", of=RESISTOR)
    NeedFactory(job=job, of=RESISTOR, quantity=2)
    reservations.reserve(position, stock(1, part=PartFactory(of=RESISTOR)), 1, by=None)
    [waiting] = only_row(bench)["jobs"]
    assert (waiting["refs"], waiting["lacking_refs"], waiting["short_refs"]) == (["R1"], [], [])
    assert waiting["short"] == 2


def test_drawers_come_before_donors_and_donors_before_what_is_on_order(bench: Any) -> None:
    NeedFactory(of=RESISTOR, quantity=6)
    part = PartFactory(of=RESISTOR)
    donor = BoardFactory(name="Plover donor")
    Purchase.objects.create(part=part, quantity=2, state="ordered")
    on_donor = on_board(donor, "R3")
    in_drawer = stock(2, part=part)
    row = only_row(bench)
    assert (row["free"], row["on_donors"], row["on_order"], row["short"]) == (2, 1, 2, 1)
    assert [
        (take["tier"], take["lot"], take["place"], take["ref"], take["quantity"]) for take in row["take"]
    ] == [
        ("drawer", in_drawer.lot_id, in_drawer.place_id, "", 2),
        ("donor", on_donor.lot_id, donor.place_id, "R3", 1),
        ("on_order", None, None, "", 2),
    ]
    assert row["take"][1]["place_name"] == "Plover donor"
    assert {take["grade"] for take in row["take"]} == {"same"}


def test_a_tray_is_as_near_as_a_drawer_and_a_scrapped_board_as_a_donor(bench: Any) -> None:
    NeedFactory(of=RESISTOR, quantity=2)
    stock(part=PartFactory(of=RESISTOR), place=PlaceFactory(type="tray"))
    on_board(BoardFactory(purpose="scrapped"))
    row = only_row(bench)
    assert (row["free"], row["on_donors"]) == (1, 1)


def test_what_only_waits_for_a_question_is_reported_within_what_is_short(bench: Any) -> None:
    NeedFactory(job=JobFactory(name="Plover"), of=FILM, quantity=3)
    unmarked = stock(
        2, part=PartFactory(of=spec("capacitor", "100n", dielectric="film", lead_style="radial"))
    )
    row = only_row(bench)
    assert (row["needed"], row["short"], row["ask"]) == (3, 3, 2)
    [open_one] = row["questions"]
    assert (open_one["lot"], open_one["quantity"], open_one["job_name"]) == (unmarked.lot_id, 2, "Plover")
    assert open_one["question"] == f"look closely at lot {unmarked.lot_id}: volts"
    assert open_one["why"] == ["not known of this one: volts (63 V wanted)"]
    assert answer(bench)["totals"]["ask"] == 2


def test_a_reason_has_the_same_words_in_the_answer_the_sheet_the_page_and_at_a_terminal(
    bench: Any, client: Any
) -> None:
    NeedFactory(of=FILM, quantity=2)
    stock(part=PartFactory(of=replace(FILM, volts=Decimal(100), lead_style="axial")))
    stock(part=PartFactory(of=replace(FILM, volts=Decimal(16))))
    row = only_row(bench)
    [take], [miss] = row["take"], row["refused"]
    assert take["why"]
    assert miss["why"]
    book = load_workbook(io.BytesIO(b"".join(bench.get(f"{SHORTAGES}?format=xlsx").streaming_content)))
    client.force_login(User.objects.get())
    page = html.unescape(client.get("/shortages/").content.decode())
    for sheet, piece in (("Pieces to take", take), ("Nearest misses", miss)):
        words = "; ".join(piece["why"])
        heads, cells = book[sheet].iter_rows(values_only=True)
        assert dict(zip(heads, cells, strict=True))["Why"] == words
        assert words in page


K771 = Spec("transistor", number="K771", package="TO-92", traits={"polarity": "npn"})


def test_a_type_of_unknown_legs_serves_where_it_came_from_and_is_asked_about_elsewhere(bench: Any) -> None:
    design = DesignFactory(positions={"Q1": K771, "Q2": K771})
    target, donor = BoardFactory(design=design, purpose="under_repair"), BoardFactory(design=design)
    job = JobFactory(board=target)
    for ref in ("Q1", "Q2"):
        NeedFactory(job=job, of=K771, ref=ref)
    drawer = PlaceFactory()
    off_q1 = stock(place=drawer, part=PartFactory(of=K771), source="board", board=donor)
    Lot.objects.filter(pk=off_q1.lot_id).update(origin_ref="Q1")
    row = only_row(bench)
    assert (row["free"], row["short"], row["ask"]) == (1, 1, 0)
    [take] = row["take"]
    assert (take["lot"], take["grade"]) == (off_q1.lot_id, "with_note")
    [promise] = shortages.reserve(job, by=None).made
    assert promise.need.ref == "Q1"
    other = stock(place=drawer, part=PartFactory(of=K771))
    row = only_row(bench)
    assert (row["short"], row["ask"]) == (1, 1)
    assert row["questions"][0]["question"] == f"test the legs of lot {other.lot_id}"


def test_a_borrowed_piece_is_planned_and_promised_for_no_other_job(bench: Any) -> None:
    lender = BoardFactory(purpose="working", name="Gull")
    on_board(lender)
    mine, other = JobFactory(name="Plover"), JobFactory(name="Tern")
    need, others = NeedFactory(job=mine, of=RESISTOR), NeedFactory(job=other, of=RESISTOR)
    drawer = PlaceFactory()
    loans.borrow(lender, ["R1"], Spot(drawer.pk), by=None, job=mine)
    here = Holding.objects.get(place=drawer, quantity=1)
    assert (only_row(bench)["free"], only_row(bench)["short"]) == (0, 2)
    assert bench.get(f"/api/v1/lots/{here.lot_id}/wanted/").json()["results"] == []
    body = {"need": others.pk, "lot": here.lot_id, "place": drawer.pk, "quantity": 1}
    problem = refused(bench.post("/api/v1/reservations/", body), 409)
    assert problem["code"] == "not_at_hand"
    assert "borrowed from Gull for Plover and owed back" in problem["detail"]
    made = bench.post("/api/v1/reservations/", body | {"need": need.pk})
    assert made.status_code == 201, made.content


def put_with_a_person() -> None:
    here = stock(part=PartFactory(of=RESISTOR))
    loans.lend(here.lot, Spot(here.place_id), PlaceFactory(type="person"), 1, by=None)


def put_in_the_scrap_bin() -> None:
    here = stock(part=PartFactory(of=RESISTOR))
    ledger.scrap(here.lot, Spot(here.place_id), 1, by=None)


@pytest.mark.parametrize(
    "put",
    [
        put_with_a_person,
        put_in_the_scrap_bin,
        lambda: on_board(BoardFactory(purpose="under_repair")),
        lambda: on_board(BoardFactory(purpose="working")),
        lambda: stock(part=PartFactory(of=RESISTOR), condition="faulty"),
        lambda: Purchase.objects.create(part=PartFactory(of=RESISTOR), quantity=5, state="wanted"),
    ],
    ids=["lent", "scrapped", "under repair", "working", "faulty", "only wanted"],
)  # fmt: skip
def test_what_is_lent_scrapped_in_use_or_faulty_serves_nobody(bench: Any, put: Callable[[], object]) -> None:
    NeedFactory(of=RESISTOR)
    put()
    row = only_row(bench)
    assert (row["short"], row["take"], row["refused"]) == (1, [], [])


def test_a_working_board_is_drawn_on_only_when_asked_and_last(bench: Any) -> None:
    NeedFactory(of=RESISTOR, quantity=2)
    working = BoardFactory(purpose="working")
    on_board(working)
    on_board(BoardFactory())
    assert only_row(bench)["short"] == 1
    row = only_row(bench, "?borrow=true")
    assert (row["on_donors"], row["borrowed"], row["short"]) == (2, 1, 0)
    assert [(take["tier"], take["place"]) for take in row["take"]][1] == ("borrow", working.place_id)


def test_promised_and_fitted_pieces_are_counted_and_not_planned_again(bench: Any) -> None:
    need = NeedFactory(of=RESISTOR, quantity=4)
    here = stock(5, part=PartFactory(of=RESISTOR))
    reservations.reserve(need, here, 2, by=None)
    Reservation.objects.create(need=need, holding=here, quantity=1, status="fitted")
    Need.objects.filter(pk=need.pk).update(fitted=1)
    row = only_row(bench)
    assert (row["needed"], row["promised"], row["fitted"], row["free"], row["short"]) == (4, 2, 1, 1, 0)


def test_pieces_promised_to_one_job_are_not_planned_for_another(bench: Any) -> None:
    here = stock(3, part=PartFactory(of=RESISTOR))
    reservations.reserve(NeedFactory(of=RESISTOR, quantity=3, job=JobFactory(priority=5)), here, 3, by=None)
    urgent = NeedFactory(of=RESISTOR, job=JobFactory(priority=1))
    row = only_row(bench, f"?job={urgent.job_id}")
    assert (row["needed"], row["free"], row["short"]) == (1, 0, 1)


def test_higher_priority_is_filled_first_then_the_earlier_date(bench: Any) -> None:
    late = NeedFactory(of=RESISTOR, job=JobFactory(priority=2, due=date(2027, 2, 1)))
    early = NeedFactory(of=RESISTOR, job=JobFactory(priority=2, due=date(2027, 1, 1)))
    urgent = NeedFactory(of=RESISTOR, job=JobFactory(priority=1))
    stock(2, part=PartFactory(of=RESISTOR))
    row = only_row(bench)
    assert {job["job"]: job["short"] for job in row["jobs"]} == {
        urgent.job_id: 0, early.job_id: 0, late.job_id: 1,
    }  # fmt: skip
    assert [take["job"] for take in row["take"]] == [urgent.job_id, early.job_id]


def test_asking_for_one_job_does_not_take_pieces_from_one_that_comes_first(bench: Any) -> None:
    urgent, patient = (NeedFactory(of=RESISTOR, job=JobFactory(priority=priority)) for priority in (1, 2))
    stock(1, part=PartFactory(of=RESISTOR))
    assert only_row(bench, f"?job={patient.job_id}")["short"] == 1
    assert only_row(bench, f"?job={urgent.job_id}")["short"] == 0
    assert only_row(bench, f"?job={urgent.job_id}&job={patient.job_id}")["needed"] == 2


def test_a_parked_or_closed_job_waits_for_nothing(bench: Any) -> None:
    for status in ("parked", "done", "abandoned"):
        parked = NeedFactory(of=RESISTOR, job=JobFactory(status=status))
        assert answer(bench, f"?job={parked.job_id}")["results"] == []
    NeedFactory(of=RESISTOR, status="dropped")
    assert answer(bench)["results"] == []


def test_the_older_lot_is_used_first(bench: Any) -> None:
    NeedFactory(of=RESISTOR, quantity=4)
    part = PartFactory(of=RESISTOR)
    lots = [stock(3, part=part).lot_id for _ in range(2)]
    assert [(take["lot"], take["quantity"]) for take in only_row(bench)["take"]] == list(
        zip(lots, [3, 1], strict=True)
    )


def test_a_higher_rating_serves_and_the_row_says_why(bench: Any) -> None:
    NeedFactory(of=FILM)
    stock(part=PartFactory(of=replace(FILM, volts=Decimal(100))))
    [take] = only_row(bench)["take"]
    assert take["grade"] == "drop_in"
    volts = next(reason for reason in take["reasons"] if reason["property"] == "volts")
    assert (volts["required"], volts["offered"], volts["grade"]) == ("63 V", "100 V", "drop_in")
    assert volts["rule"]


def test_the_nearest_miss_is_named_with_what_stands_in_the_way(bench: Any) -> None:
    NeedFactory(of=FILM)
    donor = BoardFactory(name="Plover donor")
    low = on_board(
        donor, "C2", of=spec("capacitor", "100n", volts=Decimal(16), dielectric="film", lead_style="radial")
    )
    row = only_row(bench)
    assert (row["short"], row["take"]) == (1, [])
    [miss] = row["refused"]
    assert (miss["lot"], miss["place_name"], miss["ref"], miss["grade"]) == (
        low.lot_id,
        "Plover donor",
        "C2",
        "no",
    )
    assert [reason["property"] for reason in miss["reasons"] if reason["grade"] == "no"] == ["volts"]


def test_unknown_volts_are_asked_about_and_planned_only_when_asked_to(bench: Any) -> None:
    NeedFactory(of=FILM)
    stock(part=PartFactory(of=replace(FILM, volts=None)))
    row = only_row(bench)
    assert (row["short"], row["refused"][0]["grade"]) == (1, "ask")
    assert only_row(bench, "?ask=true")["take"][0]["grade"] == "ask"


def test_a_miss_names_a_lot_that_is_not_already_taken(bench: Any) -> None:
    higher = spec("capacitor", "100n", volts=Decimal(100), dielectric="film", lead_style="radial")
    NeedFactory(of=FILM)
    NeedFactory(of=higher)
    part = PartFactory(of=FILM)
    taken, left = stock(1, part=part), stock(1, part=part)
    rows = {row["spec"]["volts"]: row for row in answer(bench)["results"]}
    assert [take["lot"] for take in rows["63"]["take"]] == [taken.lot_id]
    assert [miss["lot"] for miss in rows["100"]["refused"]] == [left.lot_id]


# --- asking


@pytest.mark.parametrize(
    ("query", "wrong"),
    [
        ("job=x", "#/job"), ("job=999999", "#/job"), ("job=-1", "#/job"), (f"job={10**20}", "#/job"),
        ("job=", "#/job"), ("borrow=maybe", "#/borrow"), ("borrow=true&borrow=true", "#/borrow"),
        ("ask=2", "#/ask"), ("colour=red", "#/colour"), ("format=xml", "#/format"), ("page=0", "#/page"),
        ("page_size=501", "#/page_size"), ("page=x", "#/page"), ("job=%00", "#/job"), ("job=²", "#/job"),
    ],
)  # fmt: skip
def test_a_parameter_that_cannot_be_read_is_refused(bench: Any, query: str, wrong: str) -> None:
    assert pointers(refused(bench.get(f"{SHORTAGES}?{query}"), 400)) == {wrong}


def test_all_rows_come_at_once_or_page_by_page(bench: Any) -> None:
    for ohms in ("1k", "2k2", "4k7"):
        NeedFactory(of=spec("resistor", ohms))
    whole = answer(bench, "?format=json")
    assert (whole["count"], whole["next"], whole["previous"]) == (3, None, None)
    assert [row["spec"]["value"] for row in whole["results"]] == ["1000", "2200", "4700"]
    page = answer(bench, "?page=2&page_size=2")
    assert page["results"] == whole["results"][2:]
    assert page["totals"] == whole["totals"]
    assert page["count"] == 3
    assert "page_size=2" in page["previous"]
    refused(bench.get(f"{SHORTAGES}?page=3&page_size=2"), 404)


def test_the_same_rows_come_as_a_spreadsheet(bench: Any) -> None:
    need = NeedFactory(of=RESISTOR, quantity=3, job=JobFactory(name="=Plover"))
    NeedFactory(of=FILM)
    stock(1, part=PartFactory(of=RESISTOR))
    got = bench.get(f"{SHORTAGES}?format=csv&job={need.job_id}")
    assert got.headers["Content-Type"].startswith("text/csv")
    assert "attachment" in got.headers["Content-Disposition"]
    lines = list(csv.DictReader(io.StringIO(b"".join(got.streaming_content).decode("utf-8-sig"))))
    assert [(line["Requirement"], line["Needed"], line["Free"], line["Short"]) for line in lines] == [
        (RESISTOR.text, "3", "1", "2")
    ]
    assert lines[0]["Jobs that wait"].startswith("'="), "a spreadsheet program runs no cell of it"
    book = load_workbook(io.BytesIO(b"".join(bench.get(f"{SHORTAGES}?format=xlsx").streaming_content)))
    assert book.worksheets[0].max_row == 3
    assert pointers(refused(bench.get(f"{SHORTAGES}?format=csv&page=1"), 400)) == {"#/page"}
    assert pointers(refused(bench.get(f"{SHORTAGES}?format=csv&job=999999"), 400)) == {"#/job"}


def test_anyone_signed_in_may_look_and_nobody_else(viewer: Any, stranger: Any) -> None:
    assert viewer.get(SHORTAGES).status_code == 200
    refused(stranger.get(SHORTAGES), 401)
    refused(viewer.post(SHORTAGES, {}), 403)


def test_the_queries_do_not_grow_with_jobs_needs_or_lots(bench: Any) -> None:
    def grow(step: int) -> None:
        NeedFactory(of=spec("resistor", f"{step}k"), quantity=2, job=JobFactory())
        stock(1, part=PartFactory(of=spec("resistor", f"{step}k")))

    grow(1)
    queries(bench, SHORTAGES)
    few = queries(bench, SHORTAGES)
    for step in range(2, 12):
        grow(step)
    queries(bench, SHORTAGES)  # Specs that are new to this process are read once
    assert queries(bench, SHORTAGES) == few


# --- promising the plan


def reserve(client: Any, job: Job, status: int = 200) -> dict[str, Any]:
    got = client.post(f"/api/v1/jobs/{job.pk}/reserve/")
    assert got.status_code == status, got.content
    body: dict[str, Any] = got.json()
    return body


def test_a_job_is_promised_what_the_plan_gives_it(bench: Any) -> None:
    job = JobFactory()
    needs = [NeedFactory(job=job, ref=ref, of=RESISTOR) for ref in ("R1", "R2", "R3", "R4")]
    part = PartFactory(of=RESISTOR)
    drawer = stock(1, part=part)
    donor = on_board(BoardFactory(), "R9")
    Purchase.objects.create(part=part, quantity=1, state="ordered")
    result = reserve(bench, job)
    assert result["job"] == job.pk
    assert [(each["need"], each["lot"], each["quantity"], each["status"]) for each in result["promised"]] == [
        (needs[0].pk, drawer.lot_id, 1, "held"),
        (needs[1].pk, donor.lot_id, 1, "held"),
    ]
    assert [(lack["need"], lack["ref"], lack["quantity"], lack["on_order"]) for lack in result["short"]] == [
        (needs[2].pk, "R3", 1, 1),
        (needs[3].pk, "R4", 1, 0),
    ]
    row = only_row(bench)
    assert (row["promised"], row["free"], row["on_donors"], row["on_order"], row["short"]) == (2, 0, 0, 1, 1)
    assert reserve(bench, job)["promised"] == [], "asked again, nothing is promised twice"


def test_a_job_that_comes_first_keeps_its_pieces_though_another_reserves_before_it(bench: Any) -> None:
    urgent, patient = JobFactory(priority=1), JobFactory(priority=4)
    for job in (urgent, patient):
        NeedFactory(job=job, of=RESISTOR, quantity=2)
    stock(3, part=PartFactory(of=RESISTOR))
    assert sum(each["quantity"] for each in reserve(bench, patient)["promised"]) == 1
    assert sum(each["quantity"] for each in reserve(bench, urgent)["promised"]) == 2


def test_loose_needs_are_promised_from_several_holdings(bench: Any) -> None:
    job = JobFactory()
    NeedFactory(job=job, of=RESISTOR, quantity=5)
    part = PartFactory(of=RESISTOR)
    for _ in range(2):
        stock(2, part=part)
    result = reserve(bench, job)
    assert [each["quantity"] for each in result["promised"]] == [2, 2]
    assert result["short"][0]["quantity"] == 1


def test_nothing_is_borrowed_or_doubtful_without_being_asked_for(bench: Any) -> None:
    job = JobFactory()
    NeedFactory(job=job, of=RESISTOR, quantity=2)
    on_board(BoardFactory(purpose="working"))
    stock(1, part=PartFactory(of=RESISTOR), condition="suspect")
    assert reserve(bench, job)["promised"] == []


@pytest.mark.parametrize("status", ["parked", "done", "abandoned"])
def test_only_an_open_job_is_given_pieces(bench: Any, status: str) -> None:
    job = JobFactory(status=status)
    problem = refused(bench.post(f"/api/v1/jobs/{job.pk}/reserve/"), 409)
    assert (problem["code"], problem["found_status"]) == ("job_closed", status)


def test_reserving_is_for_the_bench_and_happens_once_for_a_key(bench: Any, viewer: Any) -> None:
    job = JobFactory()
    NeedFactory(job=job, of=RESISTOR)
    stock(1, part=PartFactory(of=RESISTOR))
    address = f"/api/v1/jobs/{job.pk}/reserve/"
    refused(viewer.post(address), 403)
    first, again = (bench.post(address, headers={"Idempotency-Key": "press"}) for _ in range(2))
    assert first.json() == again.json()
    assert len(first.json()["promised"]) == 1
    refused(bench.post("/api/v1/jobs/999999/reserve/"), 404)
    refused(bench.get(address), 405)


def test_one_requirement_is_promised_to_every_job_that_lacks_it() -> None:
    first, later = JobFactory(priority=1), JobFactory(priority=2)
    needs = [NeedFactory(job=job, of=RESISTOR) for job in (later, first)]
    other = NeedFactory(job=first, of=FILM)
    stock(2, part=PartFactory(of=RESISTOR))
    stock(1, part=PartFactory(of=FILM))
    promised = shortages.reserve_requirement(needs[0].spec_id, by=None)
    assert {each.need for each in promised.made} == set(needs)
    assert promised.lacking == []
    other.refresh_from_db()
    assert other.promised == 0
    assert shortages.reserve_requirement(needs[0].spec_id, by=None).made == []


def losing_a_piece_in_between(
    monkeypatch: pytest.MonkeyPatch, lose: Callable[[], None], times: int
) -> list[int]:
    """Somebody else acts between the plan and the promise, so many times; answers how often was planned."""
    plan, planned = reserving._plan, [0]

    def plan_then_lose() -> Any:
        found = plan()
        planned[0] += 1
        if planned[0] <= times:
            lose()
        return found

    monkeypatch.setattr(reserving, "_plan", plan_then_lose)
    return planned


def test_a_piece_that_went_elsewhere_meanwhile_is_planned_around(monkeypatch: pytest.MonkeyPatch) -> None:
    job = JobFactory()
    NeedFactory(job=job, of=RESISTOR)
    NeedFactory(job=job, of=FILM)
    part = PartFactory(of=RESISTOR)
    first, second = stock(1, part=part), stock(1, part=part)
    film = stock(1, part=PartFactory(of=FILM))
    planned = losing_a_piece_in_between(
        monkeypatch, lambda: ledger.scrap(first.lot, Spot(first.place_id), 1, by=None) and None, times=1
    )
    promised = shortages.reserve(job, by=None)
    assert planned == [2]
    assert [each.holding for each in promised.made] == [second, film]
    assert promised.lacking == []


def test_pieces_that_keep_going_elsewhere_are_given_up_and_the_rest_is_promised(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    job = JobFactory()
    need = NeedFactory(job=job, of=RESISTOR)
    NeedFactory(job=job, of=FILM)
    part = PartFactory(of=RESISTOR)
    resistors = [stock(1, part=part) for _ in range(shortages.ROUNDS + 1)]
    film = stock(1, part=PartFactory(of=FILM))

    def lose() -> None:
        here = Holding.objects.filter(pk__in=[one.pk for one in resistors], quantity=1).earliest("id")
        ledger.scrap(here.lot, Spot(here.place_id), 1, by=None)

    planned = losing_a_piece_in_between(monkeypatch, lose, times=shortages.ROUNDS)
    promised = shortages.reserve(job, by=None)
    assert planned == [shortages.ROUNDS]
    assert [each.holding for each in promised.made] == [film]
    assert [(lack.need, lack.quantity) for lack in promised.lacking] == [(need, 1)]


def test_a_piece_found_faulty_meanwhile_is_not_promised(monkeypatch: pytest.MonkeyPatch) -> None:
    job = JobFactory()
    NeedFactory(job=job, of=RESISTOR)
    here = stock(1, part=PartFactory(of=RESISTOR))

    def lose() -> None:
        type(here.lot).objects.filter(pk=here.lot_id).update(condition="faulty")

    losing_a_piece_in_between(monkeypatch, lose, times=1)
    assert shortages.reserve(job, by=None).made == []


# --- whatever is on the bench


WHERE = st.sampled_from(["drawer", "tray", "person", "donor", "scrapped", "working", "under_repair"])
OHMS = st.sampled_from(["1k", "2k2"])


@settings(max_examples=25, deadline=None, suppress_health_check=list(HealthCheck))
@given(
    needs=st.lists(st.tuples(st.integers(1, 3), OHMS, st.integers(1, 4)), max_size=6),
    lots=st.lists(st.tuples(WHERE, OHMS, st.integers(1, 5), st.sampled_from(["good", "faulty"])), max_size=8),
    ordered=st.integers(0, 3),
    borrow=st.booleans(),
)
def test_what_is_taken_is_there_free_and_taken_once(
    transactional_undo: Any, needs: Any, lots: Any, ordered: int, borrow: bool
) -> None:
    with transactional_undo():
        jobs = {priority: JobFactory(priority=priority) for priority in (1, 2, 3)}
        for priority, ohms, quantity in needs:
            NeedFactory(job=jobs[priority], of=spec("resistor", ohms), quantity=quantity)
        for where, ohms, quantity, condition in lots:
            put(where, ohms, quantity, condition)
        if ordered:
            Purchase.objects.create(
                part=PartFactory(of=spec("resistor", "1k")), quantity=ordered, state="ordered"
            )
        taken: dict[Any, int] = {}
        for row in shortages.shortages(borrow=borrow):
            parts = (row.fitted, row.promised, row.free, row.on_donors, row.on_order, row.short)
            assert row.needed == sum(parts)
            for take in row.take:
                where = take.lot, take.place, take.ref
                taken[where] = taken.get(where, 0) + take.quantity
        assert taken.pop((None, None, ""), 0) <= ordered
        for (lot, place, ref), quantity in taken.items():
            here = Holding.objects.select_related("place__board", "lot").get(lot=lot, place=place, ref=ref)
            assert here.quantity - here.promised >= quantity
            assert here.lot.condition != "faulty"
            purpose = here.place.board.purpose if here.place.type == "board" else here.place.type
            assert purpose in {"drawer", "tray", "donor", "scrapped"} | ({"working"} if borrow else set())


def put(where: str, ohms: str, quantity: int, condition: str) -> None:
    part = PartFactory(of=spec("resistor", ohms))
    if where in Board.Purpose.values:
        board = BoardFactory(purpose=where)
        stock(place=board.place, ref="R1", part=part, condition=condition, source="board", board=board)
        return
    here = stock(quantity, part=part, condition=condition, place=PlaceFactory(type="drawer"))
    if where == "person":
        loans.lend(here.lot, Spot(here.place_id), PlaceFactory(type="person"), quantity, by=None)
    else:
        Place.objects.filter(pk=here.place_id).update(type=where)


@pytest.fixture
def transactional_undo(db: None) -> Callable[[], Any]:
    """A transaction around one example, undone at its end."""
    from contextlib import contextmanager

    from django.db import transaction

    @contextmanager
    def undone() -> Iterator[None]:
        with transaction.atomic():
            yield
            transaction.set_rollback(True)

    return undone


def test_pieces_of_a_board_that_is_not_worked_on_are_no_supply_and_reported_so(bench: Any) -> None:
    """A microwave oven is never salvaged from (common practice)."""
    oven = BoardFactory(design=DesignFactory(hazards=["microwave"]))
    stock(1, place=oven.place, ref="R1")
    NeedFactory()
    [row] = answer(bench)["results"]
    assert (row["on_donors"], row["short"], row["take"]) == (0, 1, [])
    [miss] = row["refused"]
    assert (miss["place"], miss["grade"], miss["settled_by"]) == (oven.place.pk, "no", "")
    assert miss["reasons"][0]["property"] == "hazards"
    blocked = bench.get("/api/v1/boards/harvest/").json()["blocked"]
    assert [each["ref"] for each in blocked] == ["R1"]


def test_a_refusal_says_what_would_settle_it(bench: Any) -> None:
    known = {"tolerance_percent": Decimal(5), "watts": Decimal("0.25")}
    stock(1, part=PartFactory(of=spec("resistor", "4k7", tolerance_percent=Decimal(5))))
    stock(1, part=PartFactory(of=spec("resistor", "4k7", **known)), condition="suspect")
    NeedFactory(of=spec("resistor", "4k7", **known))
    [row] = answer(bench)["results"]
    assert sorted(miss["settled_by"] for miss in row["refused"]) == ["look", "test"]


def test_a_refusal_names_the_one_property_that_stands_in_the_way(bench: Any) -> None:
    wanted = spec("capacitor", "1u", volts=Decimal(50), dielectric="film", lead_style="radial")
    stock(1, part=PartFactory(of=spec("capacitor", "1u", volts=Decimal(25), lead_style="axial")))
    NeedFactory(of=wanted)
    [row] = answer(bench)["results"]
    [miss] = row["refused"]
    assert (miss["in_the_way"], miss["grade"], miss["settled_by"]) == ("volts", "no", "")
    assert {reason["property"]: reason["settled_by"] for reason in miss["reasons"]} == {
        "volts": "", "dielectric": "look", "lead_style": "",
    }  # fmt: skip


def test_a_place_in_the_cabinet_is_shown_with_the_path_to_it(bench: Any) -> None:
    """Every cabinet has a Drawer 7."""
    cabinet = PlaceFactory(name="Cabinet B")
    stock(1, place=PlaceFactory(name="Drawer 7", within=cabinet))
    NeedFactory()
    [row] = answer(bench)["results"]
    assert row["take"][0]["place_name"] == "Cabinet B / Drawer 7"


def test_a_position_widens_and_a_need_narrows_what_the_plan_takes(bench: Any) -> None:
    """Any lead style at the position; then, for this one need, volts at least 25, and C0G only."""
    drawn = spec(
        "capacitor",
        "10n",
        volts=Decimal(16),
        dielectric="film",
        lead_style="axial",
        traits={"any": ["lead_style"]},
    )
    board = BoardFactory(design=DesignFactory(positions={"C1": drawn}))
    job = bench.post("/api/v1/jobs/", {"name": "Rebuild", "board": board.pk, "refs": ["C1"]}).json()
    of_film = spec("capacitor", "10n", volts=Decimal(16), dielectric="film", lead_style="radial")
    here = stock(1, part=PartFactory(of=of_film))
    [row] = answer(bench)["results"]
    assert [(take["lot"], take["grade"]) for take in row["take"]] == [(here.lot_id, "same")]
    need = f"/api/v1/needs/{Need.objects.get(job=job['id']).pk}/"
    assert bench.patch(need, {"volts": "25"}).status_code == 200
    [row] = answer(bench)["results"]
    assert (row["short"], row["refused"][0]["in_the_way"]) == (1, "volts")
    mica = PartFactory(of=spec("capacitor", "10n", volts=Decimal(50), dielectric="mica", lead_style="radial"))
    stock(1, part=mica)
    assert answer(bench)["results"][0]["short"] == 0
    narrower = {"dielectric": "c0g", "traits": {"any": ["lead_style"], "exact": ["dielectric"]}}
    assert bench.patch(need, narrower).status_code == 200
    [row] = answer(bench)["results"]
    assert (row["short"], row["refused"][0]["in_the_way"]) == (1, "dielectric")
    assert "exactly this dielectric, any lead style" in row["spec_text"]


def test_an_answer_in_pieces_is_the_one_in_one_piece(bench: Any, monkeypatch: pytest.MonkeyPatch) -> None:
    """A large one is sent a few rows at a time; whoever reads it cannot tell."""
    job = JobFactory(name='Kite rebuild "results":[')
    for number in range(1, 8):
        NeedFactory(job=job, ref=f"R{number}", of=spec("resistor", f"{number}k"))
    whole = bench.get(SHORTAGES)
    monkeypatch.setattr(view, "MAX_WHOLE", 3)
    monkeypatch.setattr(answers, "ROWS_AT_ONCE", 2)
    sent = bench.get(SHORTAGES)
    pieces = list(sent)
    assert sent.streaming
    assert len(pieces) > 4
    assert b"".join(pieces) == whole.content
    assert sent["ETag"] == whole["ETag"]
    assert int(sent["Content-Length"]) == len(whole.content)
    assert bench.get(SHORTAGES, headers={"If-None-Match": sent["ETag"]}).status_code == 304


def test_a_job_that_wants_one_thing_at_places_kept_apart_is_named_once(bench: Any) -> None:
    """What was recorded at one place of a design sets that need apart in the plan, not in the answer."""
    design = DesignFactory()
    job = JobFactory(board=BoardFactory(design=design))
    for ref in ("C1", "C2", "C3"):
        NeedFactory(job=job, ref=ref, of=FILM)
    SubstitutionFactory(
        of=FILM, by_part=replace(FILM, value=FILM.value and FILM.value * 2), design=design, ref="C2"
    )
    [row] = answer(bench)["results"]
    [share] = row["jobs"]
    assert sorted(share["refs"]) == sorted(share["short_refs"]) == ["C1", "C2", "C3"]
    assert (share["needed"], share["short"]) == (3, 3)
