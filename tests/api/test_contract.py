"""The contract of version 1, held against live answers.

The workshop is made through the API alone, as somebody would who has read the contract and nothing else.
To add an address is to add a line to a table.  A line of LATER that has no address yet is skipped and
says so. One file, since it is one contract.
"""

import json
from collections.abc import Iterator
from copy import copy
from typing import Any

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile

from inventory.api import rates
from tests.api.test_problems import refused
from tests.conftest import signed_in
from tests.made_once import made_for_all_tests_of_a_file

V1 = "/api/v1/"
LIST = {"count", "next", "previous", "results"}
SPEC = {
    "kind", "number", "value", "tolerance_percent", "volts", "watts", "amps", "dielectric", "package",
    "lead_style", "pitch_mm", "polarised", "safety_class", "speed_ns", "make", "traits", "value_text",
    "spec_text",
}  # fmt: skip
COUNTS = ("fitted", "promised", "free", "on_donors", "on_order", "short")

# Lists: the members of each row, which are those of the single resource too.
ROWS = {
    "parts/": {*SPEC, "name", "price", "pack_size", "reorder_at", "free", "promised"},
    "places/": {"name", "within", "type"},
    "lots/": {"part", "origin", "condition", "marking", "holdings"},
    "designs/": {"name", "revision", "positions", "links", "rails"},
    "boards/": {"name", "design", "purpose"},
    "movements/": {"kind", "lot", "quantity", "note"},
    "trials/": {"lot", "board", "method", "in_circuit", "reading", "verdict", "note"},
    "jobs/": {"name", "board", "priority", "due", "status", "refs"},
    "needs/": {"job", "ref", "quantity", "status", *SPEC},
    "reservations/": {"need", "lot", "place", "quantity"},
    "purchases/": {"part", "quantity", "from", "price", "state"},
    "loans/": {"job", "due"},
}
UNVERSIONED = {"movements/"}  # a line is never changed

# Other addresses: what to ask, with names of the workshop in braces; the members of the answer.
ANSWERS = {
    "lots/{lot}/trace/": {"origin", "movements", "now"},
    "designs/{design}/compare/?with={later}": {"same", "changed", "added", "removed"},
    "boards/{donor}/trace/": {"positions"},
    "boards/{target}/ready/": {"verdict", "items"},
    "shortages/": {"totals", "results"},
    "shortages/?job={job}&job={other_job}": {"totals", "results"},
    "shortages/?borrow=true": {"totals", "results"},
    "openapi.json": {"openapi", "info", "paths", "components"},
}
PAGES = [
    "docs/", "exports/stock.xlsx", "exports/stock.csv", "exports/shortages.xlsx", "exports/shortages.csv",
    "exports/ledger.xlsx", "exports/ledger.csv", "exports/design.xlsx?design={design}",
    "exports/design.csv?design={design}", "exports/buy.xlsx", "exports/buy.csv",
    "exports/harvest.xlsx", "exports/harvest.csv", "exports/transfer.xlsx?job={job}&from={donor}",
    "exports/transfer.csv?job={job}&from={donor}",
]  # fmt: skip
FILTERS = [
    "parts/?kind=resistor", "parts/?value=4k7", "parts/?value_min=1kΩ&value_max=10kΩ", "parts/?q=4k7",
    "lots/?kind=resistor&value=4k7", "lots/?kind=resistor&value_min=1k&value_max=10k", "lots/?place={drawer}",
    "lots/?condition=good", "lots/?board={donor}", "lots/?q=4k7", "lots/?ordering=-id",
    "needs/?job={job}", "needs/?status=open", "needs/?q=4k7", "jobs/?status=open", "jobs/?board={target}",
    "reservations/?job={job}&status=held", "reservations/?board={donor}", "movements/?board={donor}",
    "movements/?job={job}", "boards/?q=donor", "loans/?board={working}", "loans/?status=open",
]  # fmt: skip
LATER = {
    "decode/?marking=104K 100": {"readings", "truncated"},
    "decode/?bands=yellow,violet,red,gold": {"readings", "truncated"},
    "decode/?bands=?,[38],red|orange": None,  # malformed: there is no band 38
    "appearance/?kind=resistor&value=4k7": {"bands", "codes"},
    "photos/": LIST,
    "jobs/{job}/transfer/?from={donor}": set(),
}
READING = {"kind", "value", "value_text", "notation", "standard", "score", "reasons", "cautions"}

RESISTOR = {"kind": "resistor", "value": "4k7", "tolerance_percent": "5", "watts": "0.25"}
FILM = {"kind": "capacitor", "value": "100n", "volts": "63", "dielectric": "film", "lead_style": "radial"}
POSITIONS = [
    *({"ref": ref, **RESISTOR} for ref in ("R1", "R7")),
    *({"ref": ref, **FILM} for ref in ("C4", "C5", "C6", "C7")),
]


class Workshop:
    """A small workshop and a person at its bench; `ids` has what the addresses name."""

    def __init__(self, person: Any) -> None:
        self.person, self.ids = person, {}
        drawer = self.make("drawer", "places/", name="Drawer 7", type="drawer")
        self.make("tray", "places/", name="Tray 1", within=drawer, type="tray")
        self.make("friend", "places/", name="Wren", type="person")
        design = self.make("design", "designs/", name="Plover", revision="A", positions=POSITIONS)
        self.make("later", "designs/", name="Plover", revision="B", positions=POSITIONS[1:])
        for name, purpose in (("donor", "donor"), ("working", "working")):
            self.make(name, "boards/", name=f"Plover {name}", design=design, purpose=purpose, survey=True)
        target = self.make("target", "boards/", name="Plover 2", design=design, purpose="under_repair")
        self.make(
            "lot", "lots/", part=RESISTOR, origin={"source": "bought", "from": "Harbour Radio"},
            condition="good", marking="4K7J", holdings=[{"place": drawer, "quantity": 10}],
        )  # fmt: skip
        self.make("job", "jobs/", name="Plover 2", board=target, priority=1, due="2027-01-31", refs="all")
        self.make("other_job", "jobs/", name="Plover donor", board=self.ids["donor"], priority=5)
        self.make("need", "needs/", job=self.ids["other_job"], quantity=2, kind="lamp", volts="6.3")
        self.make(
            "purchase", "purchases/", part={"kind": "lamp", "volts": "6.3"}, quantity=1, state="ordered"
        )
        self.make(
            "trial", "trials/", lot=self.ids["lot"], method="resistance", in_circuit=False, reading="4k68"
        )

    def at(self, path: str) -> str:
        return V1 + path.format(**self.ids)

    def get(self, path: str, **more: Any) -> Any:
        return self.person.get(self.at(path), **more)

    def post(self, path: str, /, **body: Any) -> Any:
        return self.person.post(self.at(path), body)

    def make(self, called: str, path: str, /, **body: Any) -> int:
        """POST, and keep the id under this name; every 201 names where it is."""
        answer = self.post(path, **body)
        assert answer.status_code == 201, (path, body, answer.content)
        made = int(answer.json()["id"])
        assert answer.headers["Location"].endswith(f"{V1}{path}{made}/")
        self.ids[called] = made
        return made

    def move(self, kind: str, /, **body: Any) -> dict[str, Any]:
        """POST movements/: answers the line."""
        self.make("movement", "movements/", kind=kind, **body)
        line: dict[str, Any] = self.get("movements/{movement}/").json()
        assert line["kind"] == kind
        return line

    def promised(self) -> int:
        """A promise of a piece from the drawer to R7."""
        need = next(row for row in self.get("needs/?job={job}").json()["results"] if row["ref"] == "R7")
        lot, place = self.ids["lot"], self.ids["drawer"]
        return self.make("reservation", "reservations/", need=need["id"], lot=lot, place=place, quantity=1)

    def held(self, lot: int, place: str) -> int:
        held = self.get(f"lots/{lot}/").json()["holdings"]
        return sum(each["quantity"] for each in held if each["place"] == self.ids[place])


@pytest.fixture(scope="module")
def made(django_db_setup: None, django_db_blocker: Any) -> Iterator[Workshop]:
    with made_for_all_tests_of_a_file(lambda: Workshop(signed_in("owner")), django_db_blocker) as workshop:
        yield workshop


@pytest.fixture
def shop(made: Workshop, db: None) -> Workshop:
    """The workshop as it was made, whatever the tests before did to it."""
    rates.forget()
    mine = copy(made)
    mine.ids = {**made.ids}
    return mine


def exists(shop: Workshop, path: str) -> None:
    if b"no such address" in (answer := shop.get(path)).content.lower() or answer.status_code == 404:
        pytest.skip(f"{path} has no address yet")


# --- resources --------------------------------------------------------------------------------------------


@pytest.mark.parametrize("path", ROWS)
def test_a_resource_is_a_list_and_single_things_with_these_members(shop: Workshop, path: str) -> None:
    shop.promised()
    shop.move("lift", board=shop.ids["working"], refs=["C4"], to=shop.ids["tray"], borrow=True)
    sent_back = shop.get(path).json()
    assert sent_back.keys() >= LIST
    assert sent_back["count"] == len(sent_back["results"]) > 0
    for row in sent_back["results"]:
        assert row.keys() >= ROWS[path]
        single = shop.get(f"{path}{row['id']}/")
        assert single.json() == row
        assert single.headers["ETag"].startswith('"') == (path not in UNVERSIONED)
    refused(shop.get(f"{path}999999/"), 404)
    refused(shop.get(f"{path}?colour=blue"), 400)
    refused(shop.get(f"{path}?ordering=colour"), 400)
    assert len(shop.get(f"{path}?page_size=1").json()["results"]) == 1
    refused(shop.get(f"{path}?page_size=501"), 400)


@pytest.mark.parametrize("path", ANSWERS)
def test_these_addresses_answer_with_these_members(shop: Workshop, path: str) -> None:
    answer = shop.get(path)
    assert answer.status_code == 200, answer.content
    assert answer.json().keys() >= ANSWERS[path]
    refused(shop.get(f"{path}{'&' if '?' in path else '?'}colour=blue"), 400)


@pytest.mark.parametrize("path", PAGES)
def test_pages_and_spreadsheets_are_sent(shop: Workshop, path: str) -> None:
    answer = shop.get(path)
    assert answer.status_code == 200, getattr(answer, "content", "")
    start = b"".join(answer.streaming_content)[:2] if answer.streaming else answer.content[:2]
    assert start
    if ".xlsx" in path:
        assert start == b"PK"


@pytest.mark.parametrize("path", FILTERS)
def test_these_filters_find_something(shop: Workshop, path: str) -> None:
    shop.promised()
    donor = shop.move("lift", board=shop.ids["donor"], refs=["C7"], to=shop.ids["tray"])
    need = next(row for row in shop.get("needs/?job={job}").json()["results"] if row["ref"] == "R1")
    on_board = next(
        row for row in shop.get("lots/?board={donor}").json()["results"]
        if row["origin"]["ref"] == "R1" and row["id"] != donor["lot"]
    )  # fmt: skip
    there = on_board["holdings"][0]
    shop.make(
        "on_donor", "reservations/", need=need["id"], lot=on_board["id"], place=there["place"], ref="R1"
    )
    shop.move(
        "lift", board=shop.ids["working"], refs=["C4"], to=shop.ids["tray"], borrow=True, job=shop.ids["job"]
    )
    answer = shop.get(path)
    assert answer.status_code == 200, answer.content
    assert answer.json()["count"] > 0


@pytest.mark.parametrize("path", LATER)
def test_what_is_added_later_keeps_the_contract(shop: Workshop, path: str) -> None:
    exists(shop, path)
    answer = shop.get(path)
    if LATER[path] is None:
        refused(answer, 400)
        return
    assert answer.status_code == 200, answer.content
    if LATER[path]:
        assert answer.json().keys() >= LATER[path]
    for reading in answer.json().get("readings", ()) if path.startswith("decode/") else ():
        assert reading.keys() >= READING


# --- values -----------------------------------------------------------------------------------------------


@pytest.mark.parametrize("text", ["4k7", "4700", "4.7 kΩ", "4,7k", "4K7"])
def test_a_value_in_any_notation_is_shown_in_one(shop: Workshop, text: str) -> None:
    sent_back = shop.post("parts/", **{**RESISTOR, "watts": "2", "value": text}).json()
    assert (sent_back["value"], sent_back["value_text"]) == ("4700", "4k7")
    sent_back = shop.get("parts/?kind=capacitor&value=.1uF").json()["results"][0]
    assert (sent_back["value"], sent_back["value_text"]) == ("0.0000001", "100n")
    assert sent_back["spec_text"] == "100n 63 V film, radial"


@pytest.mark.parametrize("kind", [
    "resistor", "capacitor", "inductor", "diode", "transistor", "ic", "crystal", "regulator", "fuse",
    "connector", "socket", "switch", "transformer", "lamp", "other",
])  # fmt: skip
def test_only_the_kind_is_required(shop: Workshop, kind: str) -> None:
    sent_back = shop.post("parts/", kind=kind, name=f"some {kind}")
    assert sent_back.status_code == 201, sent_back.content
    assert sent_back.json().keys() >= ROWS["parts/"]


# --- movements --------------------------------------------------------------------------------------------


def test_each_movement_of_the_contract_is_taken(shop: Workshop) -> None:
    ids = shop.ids
    drawer, tray, donor, target = (ids[name] for name in ("drawer", "tray", "donor", "target"))
    lifted = shop.move("lift", board=donor, refs=["R1", "C4-C7"], to=tray, condition="untested")
    assert shop.get("movements/?kind=lift").json()["count"] == 5, "one line for each piece"
    assert shop.get(f"lots/{lifted['lot']}/").json()["origin"]["board"] == donor
    origin = {"source": "bought", "from": "Lodestar Components"}
    received = shop.move("receive", part=FILM, quantity=50, to=drawer, origin=origin)
    assert shop.held(received["lot"], "drawer") == 50
    shop.move("move", lot=received["lot"], **{"from": drawer}, to=tray, quantity=3)
    assert (shop.held(received["lot"], "drawer"), shop.held(received["lot"], "tray")) == (47, 3)
    counted = shop.move("count", lot=received["lot"], at=drawer, quantity=7, note="recount")
    assert shop.held(received["lot"], "drawer") == 7
    shop.move("reverse", movement=counted["id"])
    assert shop.held(received["lot"], "drawer") == 47
    fitted = shop.move("fit", reservation=shop.promised())
    assert (fitted["lot"], fitted["to_ref"]) == (ids["lot"], "R7")
    shop.move("fit", lot=received["lot"], **{"from": drawer}, board=target, ref="C5")
    shop.move("remove", board=target, ref="C5", to=tray)
    assert (shop.held(received["lot"], "drawer"), shop.held(received["lot"], "tray")) == (46, 4)
    shop.move("scrap", lot=received["lot"], **{"from": tray}, quantity=1)
    shop.move("lend", lot=received["lot"], **{"from": drawer}, to=ids["friend"], quantity=2)
    loan = shop.get("loans/?status=open").json()["results"][0]["id"]
    shop.move("return", loan=loan)
    assert (shop.held(received["lot"], "drawer"), shop.held(received["lot"], "tray")) == (46, 3)


def test_the_ledger_has_no_put_patch_or_delete(shop: Workshop) -> None:
    line = shop.at("movements/") + f"{shop.get('movements/').json()['results'][0]['id']}/"
    for method in ("put", "patch", "delete"):
        answer = getattr(shop.person, method)(line, {})
        assert answer.status_code == 405
        assert "GET" in answer.headers["Allow"]


def test_a_lift_from_a_working_board_is_a_loan_and_says_so(shop: Workshop) -> None:
    lift = {"board": shop.ids["working"], "refs": ["C4"], "to": shop.ids["tray"]}
    refused(shop.post("movements/", kind="lift", **lift), 409)
    assert shop.get("loans/").json()["count"] == 0
    shop.move("lift", **lift, borrow=True)
    assert shop.get("loans/").json()["count"] == 1


# --- promises and shortages -------------------------------------------------------------------------------


def test_more_than_is_free_is_409_with_what_is_available(shop: Workshop) -> None:
    need = shop.make("many", "needs/", job=shop.ids["other_job"], quantity=30, **RESISTOR)
    body = {"need": need, "lot": shop.ids["lot"], "place": shop.ids["drawer"], "quantity": 11}
    assert refused(shop.post("reservations/", **body), 409)["available"] == 9  # the tenth was measured
    promise = shop.make("promise", "reservations/", **{**body, "quantity": 8})
    assert refused(shop.post("reservations/", **{**body, "quantity": 2}), 409)["available"] == 1
    assert shop.person.delete(shop.at(f"reservations/{promise}/")).status_code == 204
    assert shop.post("reservations/", **{**body, "quantity": 9}).status_code == 201


def test_reserving_promises_the_plan_and_says_what_is_short(shop: Workshop) -> None:
    sent_back = shop.post("jobs/{job}/reserve/").json()
    assert sum(promise["quantity"] for promise in sent_back["promised"]) == len(POSITIONS)
    assert sent_back["short"] == []
    other = shop.post("jobs/{other_job}/reserve/").json()
    assert [short["quantity"] for short in other["short"]] == [2]


def test_shortages_always_add_up(shop: Workshop) -> None:
    shop.move("fit", reservation=shop.promised())
    many = shop.make("many", "needs/", job=shop.ids["other_job"], quantity=30, **FILM)
    shop.make("high", "lots/", part={**FILM, "volts": "16"}, condition="good", place=shop.ids["drawer"])
    sent_back = shop.get("shortages/").json()
    assert sent_back["results"]
    for row in sent_back["results"]:
        assert row.keys() >= {"spec", "spec_text", "needed", *COUNTS, "jobs", "take", "refused"}
        assert row["needed"] == sum(row[name] for name in COUNTS)
        assert sum(job["needed"] for job in row["jobs"]) == row["needed"]
        assert sum(job["short"] for job in row["jobs"]) == row["short"]
        planned = sum(piece["quantity"] for piece in row["take"])
        assert planned == row["free"] + row["on_donors"] + row["on_order"]
        for job in row["jobs"]:
            assert job.keys() >= {"job", "refs", "needed", "short"}
        for piece in row["take"]:
            assert piece.keys() >= {"lot", "place", "ref", "tier", "quantity", "grade", "reasons"}
        for piece in row["refused"]:
            assert piece.keys() >= {"lot", "grade", "reasons"}
    for name in ("needed", *COUNTS):
        assert sent_back["totals"][name] == sum(row[name] for row in sent_back["results"])
    sent_back = shop.get("shortages/?job={job}").json()
    assert {job["job"] for row in sent_back["results"] for job in row["jobs"]} == {shop.ids["job"]}
    film = next(row for row in shop.get("shortages/").json()["results"] if row["spec"]["volts"] == "63")
    assert (film["needed"], film["on_donors"], film["short"]) == (34, 4, 30)
    assert any(miss["grade"] == "no" and miss["reasons"] for miss in film["refused"])
    assert shop.person.patch(shop.at(f"needs/{many}/"), {"status": "dropped"}).status_code == 200
    film = next(row for row in shop.get("shortages/").json()["results"] if row["spec"]["volts"] == "63")
    assert film["short"] == 0


def test_a_lot_says_who_wants_it(shop: Workshop) -> None:
    wanted = shop.get("lots/{lot}/wanted/").json()
    assert {row["ref"] for row in wanted["results"]} == {"R1", "R7"}
    assert all(row["grade"] == "same" and "reasons" in row for row in wanted["results"])


def test_received_purchases_become_lots(shop: Workshop) -> None:
    sent_back = shop.person.patch(
        shop.at("purchases/{purchase}/"), {"state": "received", "to": shop.ids["drawer"]}
    )
    assert sent_back.status_code == 200, sent_back.content
    assert shop.held(sent_back.json()["lot"], "drawer") == 1


def test_a_survey_makes_one_untested_lot_at_every_position(shop: Workshop) -> None:
    lots = shop.get("lots/?board={donor}").json()["results"]
    assert {lot["origin"]["ref"] for lot in lots} == {each["ref"] for each in POSITIONS}
    assert {(lot["condition"], lot["quantity"]) for lot in lots} == {("untested", 1)}
    assert shop.get("boards/{target}/ready/").json()["verdict"] in ("open", "stop")


# --- conventions ------------------------------------------------------------------------------------------


def test_nothing_but_healthz_answers_to_nobody(shop: Workshop, stranger: Any) -> None:
    assert stranger.get("/healthz").status_code == 200
    for path in [*ROWS, *ANSWERS, "docs/", "exports/stock.csv", ""]:
        refused(stranger.get(shop.at(path)), 401)


def test_every_refusal_is_a_problem_that_says_where(shop: Workshop, viewer: Any) -> None:
    wrong = refused(shop.post("parts/", kind="resistor", value="soon", tolerance_percent="much"), 400)
    assert {error["pointer"] for error in wrong["errors"]} == {"#/value", "#/tolerance_percent"}
    assert all(error.keys() >= {"pointer", "code", "detail"} for error in wrong["errors"])
    refused(viewer.post(shop.at("parts/"), RESISTOR), 403)
    refused(shop.get("nowhere/"), 404)
    refused(shop.person.post(shop.at("parts/"), "kind=lamp", content_type="text/csv"), 415)
    refused(shop.person.post(shop.at("parts/"), "{", content_type="application/json"), 400)
    refused(shop.person.post(shop.at("parts/"), '"' + "x" * 6_000_000, content_type="application/json"), 413)


def test_a_key_makes_a_retry_harmless(shop: Workshop) -> None:
    body = {"kind": "receive", "part": FILM, "quantity": 5, "to": shop.ids["drawer"]}
    key = {"headers": {"Idempotency-Key": "monday-1"}}
    first, again = (shop.person.post(shop.at("movements/"), body, **key) for _ in range(2))
    assert first.status_code == again.status_code == 201
    assert first.json() == again.json()
    refused(shop.person.post(shop.at("movements/"), {**body, "quantity": 6}, **key), 422)


def test_a_write_touches_only_what_was_sent_and_honours_the_version(shop: Workshop) -> None:
    path = shop.at("lots/{lot}/")
    tag = shop.person.get(path).headers["ETag"]
    changed = shop.person.patch(path, {"note": "top row"}, headers={"If-Match": tag})
    assert changed.json()["marking"] == "4K7J"
    assert changed.headers["ETag"] != tag
    refused(shop.person.patch(path, {"note": "bottom row"}, headers={"If-Match": tag}), 412)
    assert shop.person.get(path).json()["note"] == "top row"
    place = shop.at("places/{tray}/")
    refused(shop.person.put(place, {"name": "Tray 2", "type": "tray"}, headers={"If-Match": '"99"'}), 412)
    refused(shop.person.delete(place, headers={"If-Match": '"99"'}), 412)


@pytest.mark.parametrize(("quantity", "status"), [("5", 200), ("a few", 422)])
def test_an_import_is_whole_or_names_each_bad_cell(shop: Workshop, quantity: str, status: int) -> None:
    text = f"Kind,Value,Volts,Quantity,Place\ncapacitor,220n,63,{quantity},Drawer 7\n"
    file = SimpleUploadedFile("stock.csv", text.encode())
    before = shop.get("lots/").json()["count"]
    answer = shop.person.post(
        shop.at("imports/"), {"file": file, "as": "stock", "dry_run": "false"}, format="multipart"
    )
    assert answer.status_code == status, answer.content
    sent_back = json.loads(answer.content)
    if status == 200:
        assert sent_back.keys() >= {"created", "updated", "unchanged", "rows"}
        assert shop.get("lots/").json()["count"] == before + 1
    else:
        cell = sent_back["errors"][0]
        assert cell.keys() >= {"sheet", "row", "column", "found", "detail"}
        assert (cell["row"], cell["column"], cell["found"]) == (2, "Quantity", "a few")
        assert shop.get("lots/").json()["count"] == before
