"""`manage.py substitutions`: listed, recorded and refuted at a terminal as over the API."""

import json
from io import StringIO
from typing import Any

import pytest
from django.core.management import CommandError, call_command

from inventory.spec import Spec
from repairs import substitutions
from repairs.proving_models import Substitution
from tests.factories import (
    DesignFactory,
    PartFactory,
    PersonFactory,
    SubstitutionFactory,
    spec,
    stock,
)
from tests.sheets.importing import everything

pytestmark = pytest.mark.django_db

# 2N3904 has its legs as E-B-C, BC547 as C-B-E (data sheets, TO-92 seen from the flat): turned round it fits.
WANTED, OFFERED = Spec("transistor", number="2N3904"), Spec("transistor", number="BC547")
PAIR = ("transistor 2N3904", "transistor BC547")


def output(*command: str) -> str:
    out = StringIO()
    call_command("substitutions", *command, stdout=out, stderr=StringIO(), no_color=True)
    return out.getvalue()


def test_one_is_recorded_and_the_judge_goes_by_it() -> None:
    PersonFactory(username="robin")
    answer = output("record", *PAIR, "--evidence", "data_sheet", "--way", "turned_round", "--by", "robin")
    assert "read in the data sheets (robin); turned round" in answer
    row = Substitution.objects.get()
    assert (row.required.spec, row.offered.spec, row.design, row.by.username) == (
        WANTED, OFFERED, None, "robin",
    )  # fmt: skip
    found = substitutions.recorded().find(WANTED, OFFERED, ())
    assert found is not None
    assert found.way == "turned_round"


def test_it_is_shown_as_the_api_tells_it(viewer: Any) -> None:
    design = DesignFactory(name="Plover", revision="A", positions={"TR2": WANTED})
    output(
        "record", *PAIR, "--evidence", "seen_working", "--way", "legs_crossed", "--pin-map", "e=c, b=b, c=e",
        "--design", "Plover A", "--ref", "TR2", "--note", "gain 210",
    )  # fmt: skip
    SubstitutionFactory(of=spec("resistor", "4k7"), by_part=spec("resistor", "5k6"))
    listed = viewer.get("/api/v1/substitutions/?ordering=id").json()["results"]
    assert [row["design_name"] for row in listed] == ["Plover A", ""]
    assert json.loads(output("--json")) == {"results": listed}
    assert [row["pin_map"] for row in listed] == ["E=C, B=B, C=E", ""]
    assert json.loads(output("--number", "bc547", "--json"))["results"] == listed[:1]
    assert (
        json.loads(output("--design", str(design.pk), "--evidence", "seen_working", "--json"))["results"]
        == listed
    )
    assert "Plover A TR2" in output("--number", "2N3904")


def test_a_lot_may_be_named_instead_of_what_it_is() -> None:
    lot = stock(part=PartFactory(of=OFFERED)).lot_id
    output("record", PAIR[0], "--lot", str(lot), "--evidence", "listed", "--json")
    assert Substitution.objects.get().offered.spec == OFFERED


def test_one_that_does_not_serve_after_all_is_refuted() -> None:
    row = SubstitutionFactory(of=WANTED, by_part=OFFERED, evidence="seen_working", note="gain 210")
    answer = json.loads(output("refute", str(row.pk), "--note", "rings at 1 MHz", "--json"))["results"]
    assert [(each["evidence"], each["note"], each["version"]) for each in answer] == [
        ("refuted", "rings at 1 MHz", 2),
    ]  # fmt: skip
    other = SubstitutionFactory(note="kept")
    output("refute", str(other.pk))
    other.refresh_from_db()
    assert (other.evidence, other.note) == ("refuted", "kept")


@pytest.mark.parametrize(
    ("command", "message"),
    [
        (("record", *PAIR), "evidence:"),
        (("record", "--evidence", "listed"), "required:"),
        (
            ("record", PAIR[0], "resistor 1k", "--evidence", "listed"),
            "a resistor is recorded for no transistor",
        ),
        (("record", *PAIR, "--evidence", "hearsay"), "hearsay"),
        (("record", *PAIR, "--evidence", "listed", "--way", "legs_crossed"), "say which goes where"),
        (
            ("record", *PAIR, "--evidence", "listed", "--pin-map", "E-C"),
            "pin-map: expected a pair for each leg",
        ),
        (("record", *PAIR, "--evidence", "listed", "--design", "Nothing"), "no design is named Nothing"),
        (("record", *PAIR, "--evidence", "listed", "--ref", "TR2"), "say the design"),
        (("record", *PAIR, "--evidence", "listed", "--lot", "1"), "lot:"),
        (("record", *PAIR, "--evidence", "listed", "--by", "nobody"), "nobody is called nobody"),
        (("record", *PAIR, "--trial", "999"), "trial:"),
        (("record", "thing X1", PAIR[1], "--evidence", "listed"), "thing is not a kind of part"),
        (("record", *PAIR, "--evidence", "listed", "--note", "x" * 401), "note:"),
        (("refute", "999"), "no substitution has the number 999"),
        (("refute", "x"), "no substitution has the number x"),
        (("--design", "Nothing"), "no design is named Nothing; designs: none"),
        (("--evidence", "hearsay"), "hearsay"),
    ],
)
def test_what_cannot_be_is_reported_in_one_line(command: tuple[str, ...], message: str) -> None:
    before = everything()
    with pytest.raises(CommandError, match=message) as refusal:
        output(*command)
    assert "\n" not in str(refusal.value)
    assert everything() == before


def test_the_same_is_recorded_once() -> None:
    output("record", *PAIR, "--evidence", "listed")
    with pytest.raises(CommandError, match="recorded already, as listed: change that"):
        output("record", *PAIR, "--evidence", "data_sheet")
    assert Substitution.objects.count() == 1


def test_the_help_has_an_example(capsys: pytest.CaptureFixture[str]) -> None:
    with pytest.raises(SystemExit):
        call_command("substitutions", "--help")
    assert "Examples:\n  python3 manage.py substitutions" in capsys.readouterr().out
