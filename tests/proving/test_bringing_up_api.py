"""Bringing a board up through the API: who may, what is refused, exceptions, and lenders.

One file, since all of it is asked about the same board and the same table of roles.
"""

import re
from typing import Any

import pytest

from inventory.ledger import Spot
from inventory.models import Board, Design, Holding, Movement
from repairs import loans
from repairs.models import Loan
from repairs.proving_models import (
    AcceptedException,
    BenchEntry,
    Confirmation,
    LinkSetting,
    RailReading,
    SwapTest,
)
from tests.api.test_problems import pointers, refused
from tests.api.who_may import May, assert_may
from tests.factories import BoardFactory, DesignFactory, JobFactory, PartFactory, PlaceFactory, spec, stock

API = "/api/v1/"
CHIP = spec("ic", None, number="4116", package="dip16", lead_style="dip", make="Hitachi")
BEAD = spec("capacitor", "10u", dielectric="tantalum", polarised=True)
DRAWN = {
    "links": [
        {
            "name": "LK1", "purpose": "memory", "settings": ["1-2", "2-3"],
            "rules": [{"setting": "1-2", "when": {"ref": "U1", "make": "Hitachi"}, "note": "no hold"}],
        }
    ],
    "rails": [
        {"name": "-5V", "nominal": "-5", "low": "-5.25", "high": "-4.75", "order": 1, "protects": ["U1"]},
        {"name": "+180V", "nominal": "180", "low": "160", "high": "200", "order": 2},
    ],
}  # fmt: skip


def board(purpose: str = "under_repair", filled: bool = True, **drawn: Any) -> Board:
    design = DesignFactory(positions={"U1": CHIP, "C1": BEAD, "R1": spec()})
    Design.objects.filter(pk=design.pk).update(**{**DRAWN, **drawn})
    design.positions.filter(ref="U1").update(socketed=True)
    design.refresh_from_db()
    made: Board = BoardFactory(design=design, purpose=purpose)
    if filled:
        for ref, of in (("U1", CHIP), ("C1", BEAD), ("R1", spec())):
            stock(part=PartFactory(of=of), place=made.place, ref=ref)
    return made


def items(client: Any, made: Board, check: str) -> dict[str, str]:
    result = client.get(f"{API}boards/{made.pk}/ready/").json()
    found = {}
    for item in result["items"]:
        for subject in item["refs"] if item["subject"] == "" and item["refs"] else [item["subject"]]:
            if item["check"] == check:
                found[subject] = item["state"]
    return found


# --- who may


@pytest.fixture
def there(db: None) -> dict[str, int]:
    made, lender = board(), board("working")
    [line] = loans.borrow(lender, ["U1"], Spot(PlaceFactory().pk), by=None)
    job = JobFactory(board=made, symptom="dead")
    facts = {
        "links": LinkSetting.objects.create(board=made, link="LK1", setting="1-2", stamp=0),
        "rails": RailReading.objects.create(board=made, rail="-5V", stage="ohms", amount=1200, stamp=0),
        "orientation": Confirmation.objects.create(
            board=made, item="orientation", ref="R1", lot=stock(1).lot, right=True, stamp=0
        ),
        "checks": Confirmation.objects.create(board=made, item="supply", right=True, stamp=0),
        "exceptions": AcceptedException.objects.create(
            board=made, item="condition", subject="R1", why="x", stamp=0
        ),
    }
    swap = SwapTest.objects.create(board=made, ref="U1")
    return {
        "board": made.pk, "job": job.pk, "loan": Loan.objects.get(movement=line).pk,
        **{name: fact.pk for name, fact in facts.items()},
        "design": made.design_id or 0, "lot": line.lot_id, "swap": swap.pk, "place": PlaceFactory().pk,
        "entry": BenchEntry.objects.create(job=job, text="look").pk,
        "lender": board("working").pk,
    }  # fmt: skip


FACTS = (LinkSetting, RailReading, Confirmation, AcceptedException)
READS = (200, 200, 200, 401)
WRITES = (201, 201, 403, 401)
MAY: list[May] = [
    ("get", "boards/{board}/ready/", None, READS),
    ("post", "boards/{board}/ready/", {}, (405, 405, 403, 401)),
    ("get", "boards/{board}/links/", None, READS),
    ("post", "boards/{board}/links/", {"settings": {"LK1": "1-2"}}, WRITES),
    ("get", "boards/{board}/rails/", None, READS),
    ("post", "boards/{board}/rails/", {"rail": "-5V", "stage": "ohms", "reading": "1k2"}, WRITES),
    ("get", "boards/{board}/orientation/", None, READS),
    ("post", "boards/{board}/orientation/", {"refs": ["U1", "C1"], "right": True}, WRITES),
    ("get", "boards/{board}/checks/", None, READS),
    ("post", "boards/{board}/checks/", {"check": "supply", "right": True}, WRITES),
    ("get", "boards/{board}/exceptions/", None, READS),
    ("post", "boards/{board}/exceptions/", {"check": "inspection", "why": "seen before"}, WRITES),
    *(
        ("delete", f"boards/{{board}}/{what}/{{{what}}}/", None, (204, 204, 403, 401))
        for what in ("links", "rails", "orientation", "checks", "exceptions")
    ),
    ("get", "boards/{board}/suspects/", None, READS),
    ("get", "boards/{board}/chips/", None, READS),
    ("post", "boards/{board}/chips/", {"chips": "back"}, (409, 409, 403, 401)),
    ("get", "boards/{board}/cautions/?refs=C1,R1", None, READS),
    ("get", "boards/{board}/fitting/?ref=U1&lot={lot}", None, READS),
    ("post", "boards/{board}/memory/", {"faults": "0 0 1"}, (409, 409, 403, 401)),
    ("get", "trials/methods/?lot={lot}", None, READS),
    ("post", "checksums/", {}, (415, 415, 403, 401)),
    ("get", "swaps/", None, READS),
    ("post", "swaps/", {"board": "{lender}", "ref": "U1", "to": "{place}"}, WRITES),
    ("get", "swaps/{swap}/", None, READS),
    ("post", "swaps/{swap}/steps/", {"what": "baseline", "passed": True}, WRITES),
    ("post", "swaps/{swap}/close/", {}, (200, 200, 403, 401)),
    ("get", "loans/{loan}/proofs/", None, READS),
    ("post", "loans/{loan}/proofs/", {"when": "before", "passed": True}, WRITES),
    ("get", "log-entries/", None, READS),
    ("post", "log-entries/", {"job": "{job}", "text": "a heatsink", "kind": "task"}, WRITES),
    ("get", "log-entries/{entry}/", None, READS),
    ("patch", "log-entries/{entry}/", {"text": "look again"}, (200, 200, 403, 401)),
    ("delete", "log-entries/{entry}/", None, (204, 204, 403, 401)),
    ("get", "jobs/{job}/log/", None, READS),
    ("get", "jobs/{job}/report/", None, READS),
    ("get", "jobs/{job}/report.html", None, READS),
    ("post", "jobs/{job}/close/", {"cause": "C1"}, (200, 200, 403, 401)),
    ("get", "designs/{design}/seen/", None, READS),
    ("get", "designs/{design}/seen/elsewhere/", None, READS),
]


def test_each_person_may_do_what_the_table_says(
    request: pytest.FixtureRequest, there: dict[str, int]
) -> None:
    assert_may(request, MAY, there, under=API)


def test_every_address_of_what_is_proven_is_in_the_table() -> None:
    from repairs.api.proving_urls import urlpatterns

    listed = {(method, re.sub(r"\{\w+\}", "{}", path.split("?")[0])) for method, path, *_rest in MAY}
    there = set()
    for pattern in urlpatterns:
        text = re.sub(r"\(\?P<\w+>[^)]*\)", "{}", str(pattern.pattern))
        path = text.removeprefix("^").removesuffix("$").removesuffix("\\Z").replace("\\", "")
        view = pattern.callback  # type: ignore[union-attr]
        actions = getattr(view, "actions", None) or dict.fromkeys(("get", "post", "delete", "patch"))
        for method in actions.keys() - {"head"}:
            if method in view.cls.http_method_names and (
                hasattr(view, "actions") or hasattr(view.cls, method)
            ):
                there.add((method, path))
    assert there - listed == set()
    assert len(there) > 30


# --- what is refused


@pytest.mark.parametrize(
    ("path", "body", "status", "code"),
    [
        ("links/", {"settings": {"LK9": "1-2"}}, 409, "unknown_link"),
        ("links/", {"settings": {"LK1": "9"}}, 409, "unknown_setting"),
        ("rails/", {"rail": "+9V", "stage": "ohms", "reading": "1k"}, 409, "unknown_rail"),
        (
            "rails/",
            {"rail": "+180V", "stage": "at_pins", "reading": "180", "refs": ["U1"]},
            409,
            "unknown_position",
        ),
        ("orientation/", {"refs": ["R1"], "right": True}, 409, "no_way_round"),
        ("orientation/", {"refs": ["U9"], "right": True}, 409, "unknown_position"),
        ("exceptions/", {"check": "fit", "subjects": ["R1"], "why": "x"}, 409, "nothing_to_accept"),
        ("exceptions/", {"check": "rail", "subjects": ["-5V"], "why": "x"}, 409, "not_accepted"),
    ],
)
def test_what_the_board_does_not_have_is_refused(
    bench: Any, path: str, body: dict[str, Any], status: int, code: str
) -> None:
    answer = bench.post(f"{API}boards/{board().pk}/{path}", body)
    assert refused(answer, status)["code"] == code
    assert not LinkSetting.objects.exists()
    assert not RailReading.objects.exists()
    assert not Confirmation.objects.exists()


@pytest.mark.parametrize(
    ("path", "body", "wrong"),
    [
        ("links/", {}, {"#/settings"}),
        ("links/", {"settings": []}, {"#/settings"}),
        ("links/", {"settings": {}}, {"#/settings"}),
        ("links/", {"settings": {"LK1": 7, "LK2": None}}, {"#/settings/LK2"}),
        ("links/", {"settings": {"LK1": "1-2"}, "colour": "red"}, {"#/colour"}),
        ("rails/", {"rail": "-5V", "stage": "soon", "reading": "x"}, {"#/stage"}),
        ("rails/", {"rail": "-5V", "stage": "ohms", "reading": "quiet"}, {"#/reading"}),
        ("rails/", {"rail": "-5V", "stage": "ohms", "reading": "5 V"}, {"#/reading"}),
        ("rails/", {"rail": "-5V", "stage": "chips_out", "reading": "OL"}, {"#/reading"}),
        ("rails/", {"rail": "-5V", "stage": "chips_out", "reading": "999999999999999 V"}, {"#/reading"}),
        ("rails/", {"rail": "-5V", "stage": "ohms", "reading": "-1k2"}, {"#/reading"}),
        ("rails/", {"rail": "-5V", "stage": "ohms", "reading": "<20"}, {"#/reading"}),
        ("rails/", {"rail": "-5V", "stage": "chips_out", "reading": "> 4.9"}, {"#/reading"}),
        ("rails/", {"rail": "-5V", "stage": "chips_out", "reading": "--5 V"}, {"#/reading"}),
        ("rails/", {"rail": "-5V", "stage": "chips_out", "reading": "-5 V -5 V"}, {"#/reading"}),
        ("rails/", {"rail": "-5V", "stage": "chips_out", "reading": "NaN"}, {"#/reading"}),
        ("rails/", {"rail": "-5V", "stage": "chips_out", "reading": "1e99"}, {"#/reading"}),
        ("rails/", {"rail": "-5V", "stage": "chips_out", "reading": [5]}, {"#/reading"}),
        ("rails/", {"rail": "-5V", "stage": "at_pins", "reading": "-5 V"}, {"#/refs"}),
        ("rails/", {"rail": "-5V", "stage": "at_pins", "reading": "-5 V", "refs": ["U2-U1"]}, {"#/refs"}),
        ("orientation/", {"refs": ["U1"], "right": "true"}, {"#/right"}),
        ("orientation/", {"refs": ["U1"], "right": 1}, {"#/right"}),
        ("orientation/", {"refs": ["U1"], "right": True, "photo": 10**17}, {"#/photo"}),
        ("orientation/", {"refs": ["U1"], "right": True, "photo": -1}, {"#/photo"}),
        ("checks/", {"check": "supply", "right": "yes"}, {"#/right"}),
        ("rails/", {"rail": "-5V", "stage": "ohms", "reading": "1k", "refs": ["U1"]}, {"#/refs"}),
        ("orientation/", {"refs": "U1-", "right": True}, {"#/refs"}),
        ("orientation/", {"refs": ["U1"], "right": "perhaps", "way": "sideways"}, {"#/right", "#/way"}),
        ("checks/", {"check": "weather", "right": True}, {"#/check"}),
        ("checks/", {"check": "supply"}, {"#/right"}),
        ("exceptions/", {"check": "hazards", "why": "careful"}, {"#/check"}),
        ("exceptions/", {"check": "position", "why": ""}, {"#/why"}),
        ("exceptions/", {"check": "position", "why": "x", "subjects": "U1"}, {"#/subjects"}),
    ],
)
def test_what_cannot_be_read_is_named(bench: Any, path: str, body: dict[str, Any], wrong: set[str]) -> None:
    assert wrong <= pointers(refused(bench.post(f"{API}boards/{board().pk}/{path}", body), 400))
    assert not any(
        each.objects.exists() for each in (LinkSetting, RailReading, Confirmation, AcceptedException)
    )


RIGHT = [
    ("links/", {"settings": {"LK1": "1-2"}}),
    ("rails/", {"rail": "-5V", "stage": "ohms", "reading": "1k2"}),
    ("orientation/", {"refs": ["U1"], "right": True}),
    ("checks/", {"check": "inspection", "right": True}),
    ("exceptions/", {"check": "inspection", "why": "seen twice"}),
]


@pytest.mark.parametrize(("path", "body"), RIGHT)
def test_what_was_recorded_of_the_board_as_it_was_before_is_412(
    bench: Any, viewer: Any, path: str, body: dict[str, Any]
) -> None:
    made = board()
    here = f"{API}boards/{made.pk}/{path}"
    refused(viewer.post(here, body), 403)
    tag = bench.get(f"{API}boards/{made.pk}/").headers["ETag"]
    bench.patch(f"{API}boards/{made.pk}/", {"note": "changed meanwhile"})
    refused(bench.post(here, body, headers={"If-Match": tag}), 412)
    assert not any(
        each.objects.exists() for each in (LinkSetting, RailReading, Confirmation, AcceptedException)
    )
    tag = bench.get(f"{API}boards/{made.pk}/").headers["ETag"]
    assert bench.post(here, body, headers={"If-Match": tag}).status_code == 201


@pytest.mark.parametrize("reading", ["- 180 V", "\u2212 180", "-180"])
def test_a_rail_the_wrong_way_round_never_passes(bench: Any, reading: str) -> None:
    here = f"{API}boards/{board(filled=False).pk}/rails/"
    bench.post(here, {"rail": "+180V", "stage": "ohms", "reading": "1k2"})
    result = bench.post(here, {"rail": "+180V", "stage": "chips_out", "reading": reading}).json()
    steps = {step["stage"]: step for step in result["rails"][1]["steps"]}
    assert steps["chips_out"]["state"] == "stop"
    assert "-180 V" in steps["chips_out"]["reason"]


def test_charge_on_a_rail_is_named_where_the_ohms_are_negative(bench: Any) -> None:
    sent = {"rail": "-5V", "stage": "ohms", "reading": "-40"}
    result = refused(bench.post(f"{API}boards/{board().pk}/rails/", sent), 400)
    assert "discharge" in result["detail"]


@pytest.mark.parametrize(
    "body", [[], 7, "x", None, {"settings": {"\x00": "1"}}, {"refs": [["U1"]], "right": {}}]
)
@pytest.mark.parametrize("path", ["links/", "rails/", "orientation/", "checks/", "exceptions/", "memory/"])
def test_hostile_bodies_are_refused_in_words(bench: Any, path: str, body: Any) -> None:
    answer = bench.post(f"{API}boards/{board().pk}/{path}", body)
    assert answer.status_code in (400, 409), answer.content
    assert answer.json()["detail"]


@pytest.mark.parametrize(
    "path", ["ready/", "links/", "rails/", "orientation/", "checks/", "exceptions/", "suspects/"]
)
def test_no_board_and_no_parameter_is_made_up(bench: Any, path: str) -> None:
    refused(bench.get(f"{API}boards/999999/{path}"), 404)
    refused(bench.get(f"{API}boards/{board().pk}/{path}?colour=red"), 400)


def test_a_repeated_confirmation_is_written_once(bench: Any) -> None:
    made = board()
    for _time in range(2):
        answer = bench.post(
            f"{API}boards/{made.pk}/links/", {"settings": {"LK1": "1-2"}}, headers={"Idempotency-Key": "k1"}
        )
        assert answer.status_code == 201
    assert LinkSetting.objects.count() == 1


# --- what holds, and what opens again


def test_a_refit_opens_orientation_and_link_again(bench: Any) -> None:
    made = board()
    bench.post(f"{API}boards/{made.pk}/links/", {"settings": {"LK1": "1-2"}})
    bench.post(f"{API}boards/{made.pk}/orientation/", {"refs": ["U1"], "right": True})
    assert (items(bench, made, "link")["LK1"], items(bench, made, "orientation")["U1"]) == ("pass", "pass")
    tray = PlaceFactory().pk
    lot = Holding.objects.get(place=made.place, ref="U1", quantity=1).lot_id
    for body in (
        {"kind": "remove", "board": made.pk, "ref": "U1", "to": tray},
        {"kind": "fit", "lot": lot, "from": tray, "board": made.pk, "ref": "U1"},
    ):
        assert bench.post(f"{API}movements/", body).status_code == 201
    assert (items(bench, made, "link")["LK1"], items(bench, made, "orientation")["U1"]) == ("open", "open")


def test_a_reversed_movement_opens_it_again_too(bench: Any) -> None:
    made = board(filled=False)
    lot = stock(part=PartFactory(of=BEAD))
    body = {"kind": "fit", "lot": lot.lot_id, "board": made.pk, "ref": "C1"}
    line = bench.post(f"{API}movements/", body).json()["id"]
    bench.post(f"{API}boards/{made.pk}/orientation/", {"refs": ["C1"], "right": True})
    bench.post(f"{API}movements/", {"kind": "reverse", "movement": line})
    bench.post(f"{API}movements/", body)
    assert items(bench, made, "orientation")["C1"] == "open"
    assert Movement.objects.filter(to_place=made.place).count() == 2


def test_chips_go_out_and_back_in_one_step_each(bench: Any) -> None:
    made = board()
    address = f"{API}boards/{made.pk}/chips/"
    result = bench.get(address).json()
    assert (result["in_sockets"], result["out"]) == (["U1"], [])
    chip = Holding.objects.get(place=made.place, ref="U1", quantity=1).lot_id
    out = bench.post(address, {"chips": "out"})
    assert out.status_code == 201, out.content
    assert out.json()["in_sockets"] == []
    [away] = out.json()["out"]
    assert (away["ref"], away["lot"], away["place_name"]) == ("U1", chip, f"Chips of {made.name}")
    refused(bench.post(address, {"chips": "out"}), 409)
    assert bench.post(address, {"chips": "back"}).json()["out"] == []
    assert Holding.objects.get(place=made.place, ref="U1", quantity=1).lot_id == chip
    refused(bench.post(address, {"chips": "sideways"}), 400)
    stale = bench.post(address, {"chips": "out"}, headers={"If-Match": '"1"'})
    refused(stale, 412)


def test_an_exception_says_who_and_why_and_can_be_withdrawn(bench: Any) -> None:
    made = board(filled=False)
    answer = bench.post(
        f"{API}boards/{made.pk}/exceptions/",
        {"check": "position", "subjects": ["R1", "C1"], "why": "left out in this model"},
    )
    assert answer.status_code == 201, answer.content
    result = bench.get(f"{API}boards/{made.pk}/ready/").json()
    accepted = next(item for item in result["items"] if item["accepted_by"])
    assert (accepted["refs"], accepted["accepted_by"], accepted["why"]) == (
        ["C1", "R1"], "bench", "left out in this model",
    )  # fmt: skip
    first = answer.json()["exceptions"][0]["id"]
    assert bench.delete(f"{API}boards/{made.pk}/exceptions/{first}/").status_code == 204
    refused(bench.delete(f"{API}boards/{made.pk}/exceptions/{first}/"), 409)
    refused(bench.delete(f"{API}boards/{board().pk}/exceptions/{first}/"), 404)
    assert items(bench, made, "position")["R1"] == "open"
    kept = bench.get(f"{API}boards/{made.pk}/exceptions/").json()["exceptions"]
    assert [row["withdrawn"] is not None for row in kept] == [True, False]


def test_a_reading_written_down_by_mistake_is_taken_back_and_the_one_before_holds_again(bench: Any) -> None:
    made = board(filled=False)
    here = f"{API}boards/{made.pk}/rails/"
    given = {"rail": "-5V", "stage": "ohms"}
    assert bench.post(here, {**given, "reading": "1k2"}).status_code == 201
    was = items(bench, made, "ohms")["-5V"]
    result = bench.post(here, {**given, "reading": "0R1"}).json()
    assert items(bench, made, "ohms")["-5V"] == "stop"
    wrong = next(rail for rail in result["rails"] if rail["rail"] == "-5V")["readings"][-1]["id"]
    assert bench.delete(f"{here}{wrong}/").status_code == 204
    assert items(bench, made, "ohms")["-5V"] == was == "pass"
    refused(bench.delete(f"{here}{wrong}/"), 409)
    refused(bench.delete(f"{API}boards/{board().pk}/rails/{wrong}/"), 404)
    assert RailReading.objects.filter(pk=wrong, withdrawn__isnull=False).exists(), "it stays on record"


def test_a_link_an_orientation_and_a_check_are_taken_back(bench: Any) -> None:
    made = board()
    here = f"{API}boards/{made.pk}/"
    links = bench.post(f"{here}links/", {"settings": {"LK1": "1-2"}}).json()["links"]
    seen = bench.post(f"{here}orientation/", {"refs": ["U1"], "right": True}).json()["positions"]
    check = bench.post(f"{here}checks/", {"check": "supply", "right": True}).json()["id"]
    written = {
        "links": next(link["written"] for link in links if link["link"] == "LK1"),
        "orientation": next(place["confirmation"]["id"] for place in seen if place["ref"] == "U1"),
        "checks": check,
    }
    for what, fact in written.items():
        assert bench.delete(f"{here}{what}/{fact}/").status_code == 204
        refused(bench.delete(f"{here}{what}/{fact}/"), 409)
    assert items(bench, made, "link")["LK1"] == items(bench, made, "orientation")["U1"] == "open"
    assert bench.get(f"{here}checks/").json()["checks"] == []
    links = bench.get(f"{here}links/").json()["links"]
    assert next(link["written"] for link in links if link["link"] == "LK1") is None
    refused(bench.delete(f"{here}checks/{written['orientation']}/"), 404)


def test_readings_are_shown_with_what_they_mean(bench: Any) -> None:
    made = board(filled=False)
    here = f"{API}boards/{made.pk}/rails/"
    for rail in ("-5V", "+180V"):
        bench.post(here, {"rail": rail, "stage": "ohms", "reading": "1k2"})
    result = bench.post(
        here, {"rail": "-5V", "stage": "chips_out", "reading": "-4.1 V", "note": "cold"}
    ).json()
    five, high = result["rails"]
    assert [(step["stage"], step["state"]) for step in five["steps"]] == [
        ("ohms", "pass"), ("chips_out", "stop"), ("at_pins", "pass"),
    ]  # fmt: skip
    assert [(row["reading"], row["note"], row["by"]) for row in five["readings"]] == [
        ("1.2 kΩ", "", "bench"), ("-4.1 V", "cold", "bench"),
    ]  # fmt: skip
    assert "not a screwdriver" in high["steps"][1]["caution"]


def test_blocked_work_is_refused_not_advised_on(bench: Any) -> None:
    made = board(hazards=["microwave"])
    body = {"rail": "-5V", "stage": "ohms", "reading": "1k2"}
    assert refused(bench.post(f"{API}boards/{made.pk}/rails/", body), 409)["code"] == "blocked"
    assert bench.get(f"{API}boards/{made.pk}/ready/").json()["verdict"] == "stop"


def test_cautions_come_before_the_lift_and_blocked_work_is_not_done(bench: Any) -> None:
    mains = board(hazards=["mains"])
    result = bench.get(f"{API}boards/{mains.pk}/cautions/?refs=C1").json()
    assert (result["blocked"], result["cautions"][0]["step"]) == (False, "mains")
    assert "local codes" in result["defer"]
    oven = board(hazards=["microwave"])
    assert bench.get(f"{API}boards/{oven.pk}/cautions/").json()["blocked"] is True
    body = {"kind": "lift", "board": oven.pk, "refs": ["R1"], "to": PlaceFactory().pk}
    result = refused(bench.post(f"{API}movements/", body), 409)
    assert (result["code"], result["hazards"]) == ("blocked", ["microwave"])
    assert Holding.objects.get(place=oven.place, ref="R1").quantity == 1
    refused(bench.get(f"{API}boards/{oven.pk}/cautions/?refs=R9-R1"), 400)


def test_a_substitute_that_turns_round_says_so_before_it_goes_in(bench: Any) -> None:
    drawn = spec("transistor", None, number="BC337", traits={"polarity": "npn", "pin_order": "CBE"})
    other = spec("transistor", None, number="2N4401", traits={"polarity": "npn", "pin_order": "EBC"})
    made = BoardFactory(design=DesignFactory(positions={"TR1": drawn}), purpose="under_repair")
    lot = stock(part=PartFactory(of=other)).lot_id
    result = bench.get(f"{API}boards/{made.pk}/fitting/?ref=TR1&lot={lot}").json()
    assert "turned round" in result["orientation"]
    for query in ("", f"?lot={lot}", "?ref=TR1", f"?ref=TR9&lot={lot}", f"?ref=%00&lot={lot}"):
        refused(bench.get(f"{API}boards/{made.pk}/fitting/{query}"), 400)
    refused(bench.get(f"{API}boards/{made.pk}/fitting/?ref=TR1&lot=999999"), 404)


def test_a_part_confirmed_as_drawn_that_must_be_turned_round_is_a_stop(bench: Any) -> None:
    drawn = spec("transistor", None, number="BC337", traits={"polarity": "npn", "pin_order": "CBE"})
    other = spec("transistor", None, number="2N4401", traits={"polarity": "npn", "pin_order": "EBC"})
    made = BoardFactory(design=DesignFactory(positions={"TR1": drawn}), purpose="under_repair")
    stock(part=PartFactory(of=other), place=made.place, ref="TR1")
    here = f"{API}boards/{made.pk}/orientation/"
    assert bench.get(here).json()["positions"][0]["way"] == "turned_round"
    bench.post(here, {"refs": ["TR1"], "right": True})
    assert items(bench, made, "orientation")["TR1"] == "stop"
    bench.post(here, {"refs": ["TR1"], "right": True, "way": "turned_round"})
    assert items(bench, made, "orientation")["TR1"] == "pass"


def test_a_drawing_that_cannot_be_read_is_a_stop_and_no_error(bench: Any) -> None:
    made = board(links=[{"name": "LK1"}, 7], rails={"x": 1}, banks=[{"refs": 7}])
    result = bench.get(f"{API}boards/{made.pk}/ready/").json()
    assert result["verdict"] == "stop"
    assert "cannot be read" in result["items"][0]["reason"]
    for path in ("links/", "rails/", "orientation/", "suspects/"):
        assert bench.get(f"{API}boards/{made.pk}/{path}").status_code == 200


def test_reading_a_board_takes_a_constant_number_of_queries(
    bench: Any, django_assert_max_num_queries: Any
) -> None:
    made = board()
    for _time in range(5):
        bench.post(f"{API}boards/{made.pk}/links/", {"settings": {"LK1": "1-2"}})
    with django_assert_max_num_queries(18):
        bench.get(f"{API}boards/{made.pk}/ready/")


# --- lenders


def test_a_lender_is_incomplete_and_proven_again_when_the_piece_is_back(bench: Any) -> None:
    lender, tray = board("working"), PlaceFactory()
    body = {
        "kind": "lift", "board": lender.pk, "refs": ["U1"], "to": tray.pk, "borrow": True,
        "reason": "to prove U1",
    }  # fmt: skip
    line = bench.post(f"{API}movements/", body).json()
    proofs = f"{API}loans/{line['loan']}/proofs/"
    assert bench.post(proofs, {"when": "before", "passed": True, "reading": "ran all day"}).status_code == 201
    assert bench.get(proofs).json()["state"] == "out"
    lent = next(
        item
        for item in bench.get(f"{API}boards/{lender.pk}/ready/").json()["items"]
        if item["refs"] == ["U1"]
    )
    assert "out on loan" in lent["reason"]
    assert refused(bench.post(proofs, {"when": "after", "passed": True}), 409)["code"] == "open_loan"
    assert refused(bench.post(f"{API}movements/", body), 409)["code"] == "lent_already"
    assert bench.post(f"{API}movements/", {"kind": "return", "loan": line["loan"]}).status_code == 201
    assert bench.get(proofs).json()["state"] == "unproven"
    assert (
        bench.post(proofs, {"when": "after", "passed": False, "reading": "no trace"}).json()["state"]
        == "failed"
    )
    assert bench.post(proofs, {"when": "after", "passed": True}).json()["state"] == "proven"


def test_a_person_is_no_board_to_prove(bench: Any) -> None:
    here, person = stock(2), PlaceFactory(type="person")
    line = loans.lend(here.lot, Spot(here.place_id), person, 1, by=None)
    result = bench.post(f"{API}loans/{line.loan.pk}/proofs/", {"when": "before", "passed": True})
    assert refused(result, 409)["code"] == "no_board"
