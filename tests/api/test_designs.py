"""Designs: drawn whole or not at all, with links, rails and banks that make sense, and compared."""

import json
from pathlib import Path
from typing import Any

import pytest

from inventory.api.designs import SENT
from inventory.design_facts import HAZARDS
from inventory.designs import problems_with_design
from inventory.models import Design, Position, StoredSpec
from inventory.refs import split_ref
from tests.api.test_problems import pointers, refused
from tests.factories import BoardFactory, DesignFactory, spec

DESIGNS = "/api/v1/designs/"
DEMO = sorted((Path(__file__).parents[2] / "fixtures" / "designs").glob("*.json"))
R1 = {"ref": "R1", "kind": "resistor", "value": "4k7"}
C1 = {
    "ref": "C1",
    "kind": "capacitor",
    "value": "100n",
    "socketed": False,
    "note": "bypass",
    "x": "0.25",
    "y": "0.5",
}
U1 = {"ref": "U1", "kind": "ic", "number": "2114", "socketed": True}
U2 = {"ref": "U2", "kind": "ic", "number": "2114", "socketed": True}


def test_a_design_is_drawn_with_all_its_positions(bench: Any) -> None:
    answer = bench.post(DESIGNS, {"name": "Plover", "revision": "A", "positions": [R1, C1, U1]})
    assert answer.status_code == 201, answer.content
    design = answer.json()
    assert bench.get(answer.headers["Location"]).json() == design
    assert [position["ref"] for position in design["positions"]] == ["R1", "C1", "U1"]
    result = design["positions"][1]
    assert {name: result[name] for name in ("value_text", "note", "x", "y", "side", "socketed")} == {
        "value_text": "100n", "note": "bypass", "x": "0.25", "y": "0.5", "side": "", "socketed": False,
    }  # fmt: skip
    assert design["positions"][2]["socketed"] is True


def test_the_documented_example_is_a_design(bench: Any) -> None:
    assert bench.post(DESIGNS, SENT).status_code == 201


def test_one_wrong_position_keeps_the_whole_design_out(bench: Any) -> None:
    wrong = [R1, {**C1, "value": "100x"}, {"kind": "resistor"}, {**U1, "x": "far", "pins": 18}]
    body = refused(bench.post(DESIGNS, {"name": "Plover", "positions": wrong}), 400)
    assert pointers(body) == {
        "#/positions/1/value", "#/positions/2/ref", "#/positions/3/x", "#/positions/3/pins",
    }  # fmt: skip
    assert not Design.objects.exists()
    assert not StoredSpec.objects.exists()


@pytest.mark.parametrize("ref", ["", " ", "R1-R4", "R1, R2", "R1 R2", "R" * 33, "-R1", "R\n1", None, 7.5, {}])
def test_a_position_has_one_readable_reference(bench: Any, ref: Any) -> None:
    body = refused(bench.post(DESIGNS, {"name": "Plover", "positions": [{**R1, "ref": ref}]}), 400)
    assert pointers(body) == {"#/positions/0/ref"}


def test_a_reference_is_drawn_once(bench: Any) -> None:
    body = refused(bench.post(DESIGNS, {"name": "Plover", "positions": [R1, C1, R1]}), 400)
    assert [(error["pointer"], error["code"]) for error in body["errors"]] == [
        ("#/positions/2/ref", "repeated")
    ]


def test_a_revision_of_a_name_is_there_once(bench: Any) -> None:
    bench.post(DESIGNS, {"name": "Plover", "revision": "A"})
    body = refused(bench.post(DESIGNS, {"name": "Plover", "revision": "A"}), 409)
    assert pointers(body) == {"#/name", "#/revision"}
    assert bench.post(DESIGNS, {"name": "Plover", "revision": "B"}).status_code == 201


def test_positions_are_redrawn_whole_and_what_stays_is_the_same_row(bench: Any) -> None:
    design = bench.post(DESIGNS, {"name": "Plover", "positions": [R1, C1]}).json()
    kept = Position.objects.get(ref="R1").pk
    here = f"{DESIGNS}{design['id']}/"
    answer = bench.patch(here, {"positions": [{**R1, "value": "10k"}, U1]}, headers={"If-Match": '"1"'})
    assert answer.status_code == 200, answer.content
    assert {position["ref"]: position["spec_text"] for position in answer.json()["positions"]} == {
        "R1": "10k resistor", "U1": "2114 IC",
    }  # fmt: skip
    assert Position.objects.get(ref="R1").pk == kept
    assert answer.json()["version"] == 2


def test_a_redrawn_position_forgets_what_is_not_given_again(bench: Any) -> None:
    design = bench.post(DESIGNS, {"name": "Plover", "positions": [C1]}).json()
    answer = bench.patch(f"{DESIGNS}{design['id']}/", {"positions": [{"ref": "C1", "kind": "capacitor"}]})
    result = answer.json()["positions"][0]
    assert (result["value"], result["note"], result["x"]) == (None, "", None)


def test_a_patch_of_the_note_leaves_the_positions_alone(bench: Any) -> None:
    design = bench.post(DESIGNS, {"name": "Plover", "positions": [R1, C1]}).json()
    answer = bench.patch(f"{DESIGNS}{design['id']}/", {"note": "cracked near J2"})
    assert answer.json()["positions"] == design["positions"]


@pytest.mark.parametrize("positions", [[R1, {"kind": "lamp"}], [R1, R1], [{**R1, "value": "?"}], "all", [7]])
def test_a_wrong_redrawing_leaves_the_old_one(bench: Any, positions: Any) -> None:
    design = bench.post(DESIGNS, {"name": "Plover", "positions": [R1, C1]}).json()
    here = f"{DESIGNS}{design['id']}/"
    refused(bench.patch(here, {"positions": positions}), 400)
    refused(bench.put(here, {"name": "Plover", "positions": positions}), 400)
    assert bench.get(here).json() == design


def test_a_design_that_boards_are_made_to_is_kept(owner: Any) -> None:
    design = BoardFactory(design=DesignFactory()).design
    assert refused(owner.delete(f"{DESIGNS}{design.pk}/"), 409)["used_by"] == {"board": 1}


# --- links, rails, banks, hazards


LINK = {
    "name": "LK1",
    "settings": ["1-2", "2-3"],
    "rules": [{"setting": "1-2", "when": {"ref": "U1", "make": "Intel"}}],
}


WHEN = "#/links/0/rules/0/when"


def ruled(**rule: Any) -> dict[str, Any]:
    return {"links": [{**LINK, "rules": [{"setting": "1-2", "when": {"ref": "U1", "make": "x"}, **rule}]}]}


def mapped(**span: Any) -> dict[str, Any]:
    return {"banks": [{**BANK, "map": [{"start": "0", "end": "F", "bits": {"D0": "U1"}, **span}]}]}


RAIL = {"name": "+5V", "nominal": "5", "low": "4.75", "high": "5.25"}
SPAN = {"start": "0", "end": "F", "bits": {"D0": "U1"}}
BANK = {"name": "RAM", "refs": ["U1", "U2"], "equal": ["make"], "counts": [2]}


@pytest.mark.parametrize(
    ("drawing", "pointer"),
    [
        ({"hazards": ["mains", "ghosts"]}, "#/hazards/1"),
        ({"hazards": "mains"}, "#/hazards"),
        ({"links": [{"name": "LK1"}]}, "#/links/0/settings"),
        ({"links": [{"name": "LK1", "settings": []}]}, "#/links/0/settings"),
        ({"links": [{**LINK, "colour": "red"}]}, "#/links/0/colour"),
        ({"links": [LINK, LINK]}, "#/links/1/name"),
        ({"links": ["LK1"]}, "#/links/0"),
        (ruled(setting="3-4"), "#/links/0/rules/0/setting"),
        (ruled(when={"ref": "U9", "make": "x"}), "#/links/0/rules/0/when/ref"),
        (ruled(when={"bank": "ROM", "make": "x"}), "#/links/0/rules/0/when/bank"),
        (ruled(when={"ref": "U1"}), WHEN),
        (ruled(when={"make": "x"}), WHEN),
        ({**ruled(when={"ref": "U1", "bank": "RAM", "half": "x"}), "banks": [BANK]}, WHEN),
        (ruled(when={"ref": "U1", "make": []}), "#/links/0/rules/0/when/make"),
        (ruled(when={"ref": "U1", "count": "2"}), "#/links/0/rules/0/when/count"),
        ({"rails": [{**RAIL, "low": "5.5"}]}, "#/rails/0/low"),
        ({"rails": [{**RAIL, "nominal": "five"}]}, "#/rails/0/nominal"),
        ({"rails": [{**RAIL, "nominal": 5.0}]}, "#/rails/0/nominal"),
        ({"rails": [{**RAIL, "nominal": "NaN"}]}, "#/rails/0/nominal"),
        ({"rails": [{**RAIL, "high": "1e99"}]}, "#/rails/0/high"),
        ({"rails": [{**RAIL, "high": True}]}, "#/rails/0/high"),
        ({"rails": [{**RAIL, "protects": ["U7"]}]}, "#/rails/0/protects/0"),
        ({"rails": [{**RAIL, "order": "first"}]}, "#/rails/0/order"),
        ({"banks": [{**BANK, "refs": ["U1", "U3"]}]}, "#/banks/0/refs/1"),
        ({"banks": [{**BANK, "equal": ["colour"]}]}, "#/banks/0/equal/0"),
        ({"banks": [{**BANK, "counts": [-1]}]}, "#/banks/0/counts/0"),
        (mapped(end="xyz"), "#/banks/0/map/0/end"),
        (mapped(bits={"D0/1": "R1"}), "#/banks/0/map/0/bits/D0~11"),
        (mapped(bits=["U1"]), "#/banks/0/map/0/bits"),
        (mapped(start="0400", end="03FF"), "#/banks/0/map/0/end"),
        (mapped(bits={"lowest": "U1"}), "#/banks/0/map/0/bits/lowest"),
        (mapped(bits={"D٣": "U1"}), "#/banks/0/map/0/bits/D٣"),
        (mapped(bits={"D0-D3": "U1", "D3": "U1"}), "#/banks/0/map/0/bits/D3"),
        ({"banks": [{**BANK, "map": [SPAN, SPAN]}]}, "#/banks/0/map/1"),
        ({"rails": [{**RAIL, "ohms_low": "0"}]}, "#/rails/0/ohms_low"),
        ({"rails": [{**RAIL, "ohms_low": "8", "ohms_high": "4"}]}, "#/rails/0/ohms_low"),
    ],
)  # fmt: skip
def test_a_drawing_that_makes_no_sense_is_refused_with_the_place(
    bench: Any, drawing: dict[str, Any], pointer: str
) -> None:
    answer = bench.post(DESIGNS, {"name": "Plover", "positions": [R1, U1, U2], **drawing})
    assert pointers(refused(answer, 400)) == {pointer}
    assert not Design.objects.exists()


def test_links_follow_the_positions_they_speak_of(bench: Any) -> None:
    sent = {"name": "Plover", "positions": [R1, U1, U2], "links": [LINK], "banks": [BANK], "rails": [RAIL]}
    design = bench.post(DESIGNS, sent).json()
    here = f"{DESIGNS}{design['id']}/"
    body = refused(bench.patch(here, {"positions": [R1, U2]}), 400)
    assert pointers(body) == {"#/links/0/rules/0/when/ref", "#/banks/0/refs/0"}
    without = {"positions": [R1, U2], "links": [], "banks": [{**BANK, "refs": ["U2"]}]}
    assert bench.patch(here, without).status_code == 200


@pytest.mark.parametrize(
    ("change", "pointer"),
    [
        (mapped(start="0400", end="03FF"), "#/banks/0/map/0/end"),
        (mapped(bits={"lowest": "U1"}), "#/banks/0/map/0/bits/lowest"),
        ({"banks": [{**BANK, "map": [SPAN, SPAN]}]}, "#/banks/0/map/1"),
        ({"banks": []}, "#/positions/0/empty_when/bank"),
    ],
)
def test_a_change_is_refused_as_the_whole_design_would_be(
    bench: Any, change: dict[str, Any], pointer: str
) -> None:
    positions = [{**R1, "empty_when": {"bank": "RAM", "count": 2}}, U1, U2]
    design = bench.post(DESIGNS, {"name": "Plover", "positions": positions, "banks": [BANK]}).json()
    here = f"{DESIGNS}{design['id']}/"
    assert pointers(refused(bench.patch(here, change), 400)) == {pointer}
    assert bench.get(here).json() == design


def test_a_design_from_before_a_rule_can_still_be_renamed(bench: Any) -> None:
    """Only what touches links, rails, banks, hazards or positions is asked to put them right."""
    old = DesignFactory(name="Plover", links=[{"name": "LK1"}])
    here = f"{DESIGNS}{old.pk}/"
    assert bench.patch(here, {"note": "tone generator"}).status_code == 200
    assert pointers(refused(bench.patch(here, {"hazards": ["mains"]}), 400)) == {"#/links/0/settings"}


@pytest.mark.parametrize("file", DEMO, ids=lambda file: file.stem)
def test_the_drawings_of_the_demo_workshop_make_sense(file: Path) -> None:
    """Every reference that they name is taken to be drawn; the rest is checked."""
    drawing = json.loads(file.read_text())
    named: set[str] = set()
    for bank in drawing["banks"]:
        named |= set(bank["refs"])
    for rail in drawing["rails"]:
        named |= set(rail.get("protects", []))
    named |= {
        rule["when"]["ref"] for link in drawing["links"] for rule in link["rules"] if "ref" in rule["when"]
    }
    assert problems_with_design(drawing, named) == []
    assert set(drawing["hazards"]) <= set(HAZARDS)


# --- compared


def test_two_revisions_are_compared_by_reference(viewer: Any) -> None:
    old = DesignFactory(
        name="Plover", revision="A",
        positions={"R1": spec(), "R2": spec("resistor", "10k"), "C1": spec("capacitor", "100n")},
    )  # fmt: skip
    new = DesignFactory(
        name="Plover", revision="B",
        positions={"R1": spec(), "R2": spec("resistor", "22k"), "U1": spec("ic", None, number="2114")},
    )  # fmt: skip
    result = viewer.get(f"{DESIGNS}{old.pk}/compare/?with={new.pk}").json()
    assert (result["from"], result["to"]) == (old.pk, new.pk)
    assert result["same"] == [{"ref": "R1", "spec_text": "4k7 resistor"}]
    assert result["added"] == [{"ref": "U1", "spec_text": "2114 IC"}]
    assert result["removed"] == [{"ref": "C1", "spec_text": "100n capacitor"}]
    changed = result["changed"][0]
    assert {name: changed[name] for name in ("ref", "was", "now", "properties", "grade")} == {
        "ref": "R2", "was": "10k resistor", "now": "22k resistor", "properties": ["value"], "grade": "no",
    }  # fmt: skip
    assert changed["reasons"][0]["property"] == "value"


def test_a_design_is_the_same_as_itself_in_natural_order(viewer: Any) -> None:
    refs = ["R10", "R2", "C1", "R1"]
    design = DesignFactory(positions={ref: spec("resistor", "4k7") for ref in refs})
    result = viewer.get(f"{DESIGNS}{design.pk}/compare/?with={design.pk}").json()
    assert (
        [each["ref"] for each in result["same"]] == sorted(refs, key=split_ref) == ["C1", "R1", "R2", "R10"]
    )
    assert result["changed"] == result["added"] == result["removed"] == []


def test_a_position_that_gets_a_socket_has_changed(viewer: Any) -> None:
    old = DesignFactory(positions={"U1": spec("ic", None, number="2114")})
    new = DesignFactory(positions={"U1": spec("ic", None, number="2114")})
    Position.objects.filter(design=new).update(socketed=True)
    changed = viewer.get(f"{DESIGNS}{old.pk}/compare/?with={new.pk}").json()["changed"]
    assert [(each["ref"], each["properties"], each["grade"]) for each in changed] == [
        ("U1", ["socketed"], "same")
    ]


@pytest.mark.parametrize(
    "query", ["", "?with=", "?with=x", "?with=999", "?with=0", "?with=1&with=1", "?with=1&a=1"]
)
def test_a_comparison_needs_another_design(viewer: Any, query: str) -> None:
    refused(viewer.get(f"{DESIGNS}{DesignFactory().pk}/compare/{query}"), 400)


def test_designs_are_found(viewer: Any) -> None:
    DesignFactory(name="Plover timer", revision="A")
    DesignFactory(name="Plover timer", revision="B")
    DesignFactory(name="Dunlin", revision="A")

    def found(query: str) -> list[str]:
        return [
            f"{row['name']} {row['revision']}" for row in viewer.get(f"{DESIGNS}?{query}").json()["results"]
        ]

    assert found("name=plover%20timer&revision=b") == ["Plover timer B"]
    assert found("q=plover") == ["Plover timer A", "Plover timer B"]
    assert found("ordering=name,-revision") == ["Dunlin A", "Plover timer B", "Plover timer A"]


def test_a_list_of_designs_takes_a_constant_number_of_queries(
    viewer: Any, django_assert_max_num_queries: Any
) -> None:
    for number in range(8):
        DesignFactory(positions={f"R{n}": spec("resistor", f"{n + 1}{number}k") for n in range(9)})
    with django_assert_max_num_queries(6):
        rows = viewer.get(DESIGNS).json()["results"]
    assert [len(row["positions"]) for row in rows] == [9] * 8
