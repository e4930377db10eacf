"""`decode/`: what a marking may mean, asked as a stranger with a token asks.

One file, since it is one address: what is asked, answered and refused.
"""

from __future__ import annotations

from decimal import Decimal
from typing import Any

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from inventory.decoding.band_reader import BAND_SCHEMES
from inventory.models import Lot, Place
from inventory.questions import NAMES
from inventory.spec import Spec
from repairs.models import Job, Need
from repairs.proving_models import Substitution
from tests.api.test_problems import refused
from tests.decoding.test_worked_examples import BODY, EXAMPLES, SECOND_READINGS
from tests.factories import (
    JobFactory,
    NeedFactory,
    PartFactory,
    PlaceFactory,
    SubstitutionFactory,
    spec,
    stock,
)

DECODE = "/api/v1/decode/"


def ask(client: Any, **sent: str) -> dict[str, Any]:
    answer = client.get(DECODE, sent)
    assert answer.status_code == 200, answer.content
    return dict(answer.json())


def first(client: Any, **sent: str) -> dict[str, Any]:
    return dict(ask(client, **sent)["readings"][0])


# --- published examples


def query_of(example: dict[str, str]) -> dict[str, str]:
    """What somebody with the part in front of them would ask."""
    body = BODY.get(example["notation"], "") + (" underlined" if "underlined" in example["meaning"] else "")
    marking = example["marking"]
    shown = {"bands": marking.replace("-", ",")} if example["notation"] == "bands" else {"marking": marking}
    kind = {} if example["kind"] == "date code" else {"kind": example["kind"]}
    return {**shown, **kind, **({"body": body.strip()} if body.strip() else {})}


def disagreements(reading: dict[str, Any], example: dict[str, str]) -> list[str]:
    """The members of the answer that are not what the row publishes."""
    wanted: dict[str, Any] = {}
    if example["value_si"]:
        wanted["value"] = Decimal(example["value_si"])
    if example["volts"]:
        wanted["volts"] = Decimal(example["volts"])
    if example["tol_abs_pF"]:
        wanted["tolerance_abs"] = Decimal(example["tol_abs_pF"]).scaleb(-12)
    if "/" in example["tol_pct"]:
        high, low = (Decimal(each) for each in example["tol_pct"].split("/"))
        wanted |= {"tolerance_high_percent": high, "tolerance_low_percent": low}
    elif example["tol_pct"]:
        wanted["tolerance_percent"] = Decimal(example["tol_pct"])
    wrong = [
        f"{name}: {reading[name]}, not {figure}"
        for name, figure in wanted.items()
        if reading[name] is None or Decimal(reading[name]) != figure
    ]
    if code := example["tempchar"]:
        result = reading["temperature"]
        if code.replace("NP0", "C0G") != result.get("code") and code != result.get("name"):
            wrong.append(f"temperature: {result}, not {code}")
    if example["tcr_ppm_per_K"] and example["kind"] == "resistor":
        ppm = reading["temperature"].get("ppm_per_kelvin")
        if ppm != int(example["tcr_ppm_per_K"]):
            wrong.append(f"temperature coefficient: {ppm}")
    if example["kind"] == "diode" and reading["number"] != example["meaning"]:
        wrong.append(f"number: {reading['number']}")
    if example["kind"] == "date code":
        week = example["meaning"].startswith("week 45")
        if not (
            reading["date"].endswith("8-W45") if week else f"date: {example['meaning']}" in reading["reasons"]
        ):
            wrong.append(f"date: {reading['date']}")
    return wrong


def test_the_published_meaning_comes_first(viewer: Any) -> None:
    """tests/decoding/data/worked_examples.csv, each row with its own source."""
    wrong = {
        (example["id"], example["marking"], example["source"]): found
        for example in EXAMPLES
        if (found := disagreements(first(viewer, **query_of(example)), example))
    }
    assert wrong == {}


@pytest.mark.parametrize("row", SECOND_READINGS.values(), ids=SECOND_READINGS)
def test_a_second_legal_reading_is_there_too(viewer: Any, row: tuple[str, str, str, dict[str, str]]) -> None:
    marking, kind, value, more = row
    shown = {"bands": marking.replace("-", ",")} if "-" in marking else {"marking": marking}
    found = ask(viewer, **shown, **more, limit="100")["readings"]
    assert Decimal(value) in [
        Decimal(each["value"]) for each in found if each["kind"] == kind and each["value"]
    ]


def test_an_answer_has_what_the_contract_names(viewer: Any) -> None:
    answer = ask(viewer, marking="104K 100V", kind="capacitor")
    assert answer.keys() == {"readings", "truncated", "hints", "next_check", "elsewhere"}
    best = answer["readings"][0]
    assert (best["value"], best["value_text"], best["tolerance_percent"], best["volts"]) == (
        "0.0000001", "100n", "10", "100",
    )  # fmt: skip
    assert best["notation"]
    assert best["standard"]
    assert best["reasons"]
    assert [each["characters"] for each in best["used"]] == ["10", "4", "K", "100V"]
    assert sum(each["score"] for each in answer["readings"]) == pytest.approx(1, abs=1e-4)
    scores = [each["score"] for each in answer["readings"]]
    assert scores == sorted(scores, reverse=True)


# --- partial markings and evidence


def test_doubt_in_any_form_is_asked_for_in_the_address(viewer: Any) -> None:
    values = {
        each["value_text"] for each in ask(viewer, marking="4?3", kind="capacitor", limit="100")["readings"]
    }
    assert {"47n", "43n", "4n3" if "4n3" in values else "47n"} <= values
    either = ask(viewer, marking="10[34]", kind="capacitor")["readings"]
    assert {each["value_text"] for each in either} >= {"10n", "100n"}
    colours = ask(viewer, bands="brown,black,red|orange,gold", kind="resistor")["readings"]
    assert {each["value_text"] for each in colours} >= {"1k", "10k"}
    worn = ask(viewer, marking="1O4", kind="capacitor", doubtful="true")["readings"]
    assert worn[0]["value_text"] == "100n"
    assert any("worn" in caution for caution in worn[0]["cautions"])


def test_bands_may_be_named_by_their_letters_or_between_strokes(viewer: Any) -> None:
    """Two-letter names: IEC 60757 (from memory)."""
    for bands in (
        "yellow,violet,red,gold",
        "YE,VT,RD,GD",
        "yellow-violet-red-gold",
        "yellow violet red gold",
    ):
        best = first(viewer, bands=bands, kind="resistor")
        assert (best["value"], best["tolerance_percent"]) == ("4700", "5")


def test_the_meter_decides_between_two_conventions(viewer: Any) -> None:
    """`100` is 10 pF, or 100 pF on old ceramics: reference NOTES, contradiction 4."""
    for measured, value in (("10.3p", "10p"), ("97 pF", "100p")):
        answer = ask(viewer, marking="100", kind="capacitor", measured=measured, measured_tolerance="2")
        assert answer["readings"][0]["value_text"] == value
    unmeasured = ask(viewer, marking="100", kind="capacitor", body="disc")
    assert "10 pF" in unmeasured["next_check"]
    assert "100 pF" in unmeasured["next_check"]


def test_the_unit_on_the_meter_tells_the_kind(viewer: Any) -> None:
    assert first(viewer, marking="472", measured="4.6 nF")["kind"] == "capacitor"
    assert first(viewer, marking="472", measured="4.68 kΩ")["kind"] == "resistor"
    assert first(viewer, bands="yellow,violet,red,gold", measured="4680")["value_text"] == "4k7"


def test_a_scheme_is_named_by_any_of_its_words_and_all_are_listed(viewer: Any) -> None:
    listed = viewer.get("/api/v1/decode/schemes/").json()
    assert listed["count"] == len({scheme.notation.name for scheme in BAND_SCHEMES})
    for scheme in listed["results"]:
        assert scheme["layouts"]
        assert scheme["standard"]
        for word in scheme["words"]:
            assert viewer.get(DECODE, {"bands": "brown,black,red", "scheme": word}).status_code == 200
    # C280 polyester capacitors: red fifth band is 250 V (capacitor_colour_codes.csv).
    best = first(viewer, bands="yellow,violet,orange,white,red", scheme="c280")
    assert (best["kind"], best["value_text"], best["volts"]) == ("capacitor", "47n", "250")
    notations = {
        each["notation"] for each in ask(viewer, bands="blue,grey,black,white", scheme="tantalum")["readings"]
    }
    assert notations == {"tantalum bead colours", "dipped tantalum colours"}, "never assumed: NOTES, 7"
    assert first(viewer, bands="brown,black,red", scheme="inductor bands")["kind"] == "inductor"


def test_nothing_fits_is_an_answer_with_hints(viewer: Any) -> None:
    answer = ask(viewer, marking="qqq", kind="resistor")
    assert answer["readings"] == []
    assert any("light from the side" in hint for hint in answer["hints"])
    assert any("never scrape" in hint for hint in answer["hints"])  # common practice, no source


# --- what the bench knows


@pytest.fixture
def job() -> Job:
    return JobFactory(name="Plover C rebuild", priority=1)


@pytest.mark.both_databases
def test_a_reading_says_which_open_needs_it_would_serve(viewer: Any, job: Job) -> None:
    asks = NeedFactory(job=job, ref="R7", of=spec("resistor", "4k7", tolerance_percent=Decimal(5)))
    NeedFactory(job=job, ref="R8", of=spec("resistor", "47k", tolerance_percent=Decimal(5)))
    reading = first(viewer, bands="yellow,violet,red,gold", kind="resistor")
    assert reading["wanted_by"] == [
        {
            "need": asks.pk, "job": job.pk, "job_name": "Plover C rebuild", "priority": 1, "ref": "R7",
            "spec_text": asks.spec.text, "lacking": 1, "grade": "same",
        }
    ]  # fmt: skip
    assert "an open job needs this value" in reading["reasons"]


def test_what_is_wanted_makes_a_reading_likelier(viewer: Any, job: Job) -> None:
    def share() -> float:
        readings = ask(viewer, marking="100", kind="capacitor")["readings"]
        return float(next(each["score"] for each in readings if each["value_text"] == "100p"))

    before = share()
    NeedFactory(job=job, of=spec("capacitor", "100p"))
    assert share() > before


def test_a_type_that_was_seen_to_serve_is_wanted_as_the_one_it_stood_in_for(viewer: Any, job: Job) -> None:
    """Common practice, no source."""
    wanted, found = (Spec("transistor", number=number) for number in ("XT3904", "BC547"))
    need = NeedFactory(job=job, of=wanted)

    def result() -> list[tuple[int, str]]:
        readings = ask(viewer, marking="BC547", kind="transistor")["readings"]
        return [(each["need"], each["grade"]) for reading in readings for each in reading["wanted_by"]]

    assert result() == []
    SubstitutionFactory(of=wanted, by_part=found)
    assert result() == [(need.pk, "with_note")]
    Substitution.objects.update(evidence="refuted")
    assert result() == []


def test_needs_that_are_met_dropped_or_of_a_closed_job_want_nothing(viewer: Any, job: Job) -> None:
    four7 = spec("resistor", "4k7", tolerance_percent=Decimal(5))
    met = NeedFactory(job=job, of=four7)
    Need.objects.filter(pk=met.pk).update(fitted=1)
    NeedFactory(job=job, of=four7, status=Need.Status.DROPPED)
    NeedFactory(job=JobFactory(status=Job.Status.DONE), of=four7)
    assert first(viewer, marking="4k7", kind="resistor")["wanted_by"] == []


@pytest.mark.both_databases
def test_needs_are_shown_best_fit_first_and_not_endlessly(viewer: Any, job: Job) -> None:
    loose = spec("resistor", "4k7", tolerance_percent=Decimal(10))
    later, sooner = JobFactory(name="Later", priority=4), JobFactory(name="Sooner", priority=2)
    NeedFactory(job=sooner, of=loose)
    NeedFactory(job=later, of=spec("resistor", "4k7", tolerance_percent=Decimal(5)))
    grades = [
        (each["job_name"], each["grade"])
        for each in first(viewer, marking="4k7J", kind="resistor")["wanted_by"]
    ]
    assert grades == [("Later", "same"), ("Sooner", "drop_in")]
    NeedFactory(job=job, of=spec("resistor", "4k7", tolerance_percent=Decimal(5), make="Alder"))
    alike = first(viewer, marking="4k7J", kind="resistor")["wanted_by"]
    assert [each["job_name"] for each in alike] == ["Plover C rebuild", "Later", "Sooner"], (
        "priority breaks ties"
    )
    for number in range(30):
        NeedFactory(job=job, ref=f"R{number + 1}", of=spec("resistor", "47k"))
    assert len(first(viewer, marking="47k", kind="resistor")["wanted_by"]) == 10


@pytest.mark.both_databases
def test_a_value_that_the_bench_holds_is_evidence_wherever_it_lies(viewer: Any) -> None:
    sent = "this bench already holds this value"

    def holds() -> bool:
        return sent in first(viewer, marking="4k7", kind="resistor")["reasons"]

    part = PartFactory(of=spec("resistor", "4k7"))
    assert not holds(), "a part without pieces is only a name"
    stock(5, part=part, condition=Lot.Condition.FAULTY)
    assert not holds()
    stock(5, part=part, place=Place.scrap())
    assert not holds()
    stock(1, part=part, place=PlaceFactory(type=Place.Type.PERSON))
    assert holds()


def test_a_reading_goes_into_a_drawer_as_it_is(bench: Any) -> None:
    """Whatever Spec a published example reads as, `parts/` takes it and says the same."""
    for example in EXAMPLES[::9]:
        sent = first(bench, **query_of(example))
        if sent["spec"] is None:
            continue
        made = bench.post("/api/v1/parts/", sent["spec"])
        assert made.status_code in (201, 409), (example["marking"], made.content)
        if made.status_code == 201:
            assert made.json()["value"] == sent["value"]
            assert made.json()["spec_text"] == sent["spec"]["spec_text"]


def test_a_type_number_is_a_spec_with_its_traits(viewer: Any) -> None:
    """SN74LS04N, week 13 of 1982; hex inverter (data book of the 7400 series)."""
    best = first(viewer, marking="SN74LS04N 8213", kind="ic")
    assert (best["spec"]["kind"], best["spec"]["number"], best["date"]) == ("ic", "74LS04", "1982-W13")
    assert best["spec"]["traits"]["family"] == "ls"


@pytest.mark.both_databases
def test_the_questions_asked_of_the_database_do_not_grow(viewer: Any, job: Job) -> None:
    def queries(**sent: str) -> int:
        with CaptureQueriesContext(
            connection,
        ) as caught:
            ask(viewer, **sent)
        return len(caught)

    NeedFactory(job=job, of=spec("capacitor", "10p"))
    stock(part=PartFactory(of=spec("capacitor", "10p")))
    few = queries(marking="100", kind="capacitor")
    for value in ("100p", "10n", "47p", "1n", "100µ", "10µ"):
        NeedFactory.create_batch(3, job=job, of=spec("capacitor", value))
        stock(part=PartFactory(of=spec("capacitor", value)))
    queries(marking="1?0", kind="capacitor")  # the Specs are read once in a process
    assert queries(marking="1?0", kind="capacitor", limit="100") <= few
    assert few <= 10


# --- refusals

HOSTILE: list[tuple[str, dict[str, Any], str, str]] = [
    ("nothing asked", {}, "#/marking", "required"),
    ("both asked", {"marking": "104", "bands": "red,red,red"}, "#/marking", "required"),
    ("an empty marking", {"marking": ""}, "#/marking", "empty"),
    ("only a space", {"marking": " "}, "#/marking", "malformed"),
    ("an open bracket", {"marking": "10[34"}, "#/marking", "malformed"),
    ("a closed bracket", {"marking": "10]"}, "#/marking", "malformed"),
    ("nothing in brackets", {"marking": "10[]"}, "#/marking", "malformed"),
    ("nested brackets", {"marking": "1[2[3]]"}, "#/marking", "malformed"),
    ("a bar and nothing", {"marking": "|"}, "#/marking", "malformed"),
    ("no colour", {"bands": "red,plaid,red"}, "#/bands", "malformed"),
    ("an empty band", {"bands": "red,,red"}, "#/bands", "malformed"),
    ("too many bands", {"bands": ",".join(["red"] * 10)}, "#/bands", "malformed"),
    ("a bracket among bands", {"bands": "[red,blue"}, "#/bands", "malformed"),
    ("an unknown parameter", {"marking": "104", "mesured": "1n"}, "#/mesured", "unknown"),
    ("a page of it", {"marking": "104", "page": "1"}, "#/page", "unknown"),
    ("given twice", {"marking": ["104", "103"]}, "#/marking", "repeated"),
    ("no kind", {"marking": "104", "kind": "gizmo"}, "#/kind", "invalid_choice"),
    ("no value", {"marking": "104", "measured": "blue"}, "#/measured", "unreadable"),
    ("of what", {"marking": "104", "measured": "0.1"}, "#/measured", "ambiguous"),
    ("two values", {"marking": "104", "kind": "capacitor", "measured": "100"}, "#/measured", "ambiguous"),
    ("below nothing", {"marking": "104", "kind": "capacitor", "measured": "-1n"}, "#/measured", "unreadable"),
    ("infinite", {"marking": "104", "kind": "resistor", "measured": "inf"}, "#/measured", "unreadable"),
    ("beyond a column", {"marking": "1", "kind": "resistor", "expected": "9e99"}, "#/expected", "unreadable"),
    ("not of its kind", {"marking": "7404", "kind": "ic", "measured": "1k"}, "#/measured", "not_of_kind"),
    ("an error of nothing", {"marking": "1", "measured_tolerance": "1"}, "#/measured_tolerance", "required"),
    ("no error", {"marking": "1", "measured": "1n", "measured_tolerance": "NaN"}, "#/measured_tolerance",
     "unreadable"),
    ("all error", {"marking": "1", "measured": "1n", "measured_tolerance": "101"}, "#/measured_tolerance",
     "unreadable"),
    ("no year", {"marking": "104", "era": "long ago"}, "#/era", "unreadable"),
    ("year 0", {"marking": "104", "era": "0"}, "#/era", "unreadable"),
    ("no scheme", {"bands": "red,red,red", "scheme": "tartan"}, "#/scheme", "invalid_choice"),
    ("two kinds", {"bands": "red", "scheme": "resistor", "kind": "inductor"}, "#/scheme", "contradiction"),
    ("neither yes nor no", {"marking": "104", "doubtful": "maybe"}, "#/doubtful", "unreadable"),
    ("none of them", {"marking": "104", "limit": "0"}, "#/limit", "unreadable"),
    ("all of them", {"marking": "104", "limit": "1001"}, "#/limit", "unreadable"),
    ("other digits", {"marking": "104", "limit": "²"}, "#/limit", "unreadable"),
    ("a novel", {"marking": "104", "body": "x" * 201}, "#/body", "max_length"),
]  # fmt: skip


@pytest.mark.parametrize(
    ("sent", "pointer", "code"), [row[1:] for row in HOSTILE], ids=[row[0] for row in HOSTILE]
)
def test_a_malformed_question_is_refused_where_it_is_wrong(
    viewer: Any, sent: dict[str, Any], pointer: str, code: str
) -> None:
    problem = refused(viewer.get(DECODE, sent), 400)
    assert (pointer, code) in {(error["pointer"], error["code"]) for error in problem["errors"]}
    assert all(error["in"] == "query" for error in problem["errors"])


def test_everything_wrong_is_reported_at_once_and_the_place_by_its_number(viewer: Any) -> None:
    problem = refused(viewer.get(DECODE, {"marking": "1", "era": "x", "limit": "x", "kind": "x"}), 400)
    assert {error["pointer"] for error in problem["errors"]} == {"#/era", "#/limit", "#/kind"}
    assert "character 3" in refused(viewer.get(DECODE, {"marking": "10["}), 400)["detail"]
    assert "Band 2" in refused(viewer.get(DECODE, {"bands": "red,plaid"}), 400)["detail"]


@pytest.mark.parametrize(
    "marking",
    ["\x00", "104\x00", "\u202e104", "💥" * 80, "?" * 300, "[38]" * 60, "a|b|c|d " * 40, "%00",
     "'; DROP TABLE", "../..", "1e999", "µ" * 300, "٣٤٥", "\ud7ff", "<script>", "=1+1", "(", ")", "()", "0",
     "000", "-", "K"],
)  # fmt: skip
def test_no_marking_is_too_strange_for_an_answer(viewer: Any, marking: str) -> None:
    assert viewer.get(DECODE, {"marking": marking}).status_code in (200, 400)


@given(
    sent=st.dictionaries(
        st.sampled_from(NAMES),
        st.text(max_size=30)
        | st.sampled_from(["104", "red,red,red", "resistor", "4k7", "5", "1980s", "true", "20", "bead"]),
    )
)
@settings(max_examples=150, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture])
def test_any_question_gets_an_answer_or_a_reason(viewer: Any, sent: dict[str, str]) -> None:
    assert viewer.get(DECODE, sent).status_code in (200, 400, 429)


def test_nobody_reads_without_a_sign_in_and_nobody_writes(stranger: Any, bench: Any) -> None:
    for path in (DECODE, "/api/v1/decode/schemes/"):
        refused(stranger.get(path, {"marking": "104"}), 401)
        assert bench.post(path, {}).status_code == 405
