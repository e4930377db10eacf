"""What a type number says is shown as the type's, apart from what somebody wrote down.

Figures of the types: data books, from memory (inventory/type_numbers/tables).
"""

from typing import Any

import pytest
from rest_framework.test import APIClient

from inventory.decoding import Question, decode
from inventory.spec import Spec, of_type, of_type_text
from inventory.type_numbers.tables import rows


def test_the_type_adds_what_nobody_wrote_down() -> None:
    spec = Spec("transistor", number="BC547B", volts=30)
    added = of_type(spec)
    assert "volts" not in added  # somebody wrote 30
    assert (added["amps"], added["pin_order"]) == ("0.1 A", "C-B-E")
    assert of_type_text(Spec("transistor", number="BC547B")).startswith(
        "NPN, bipolar, silicon, 45 V, 0.1 A, 0.5 W, gain 200 to 450"
    )


def test_a_type_that_no_table_has_adds_nothing() -> None:
    assert of_type(Spec("transistor", number="XT547")) == {}
    assert of_type_text(Spec("regulator", number="")) == ""


def test_an_adjustable_regulator_says_so() -> None:
    assert "adjustable" in of_type_text(Spec("regulator", number="LM317T"))


@pytest.mark.parametrize(
    ("marking", "body", "kind", "reason"),
    [
        ("BC547B", "to-92", "transistor", "45 V, 0.1 A"),
        ("2N5061", "to-92", "diode", "thyristor"),
        ("4148", "glass", "diode", "75 V"),
        ("7812", "to-220", "regulator", "12 V"),
    ],
)
def test_a_reading_carries_what_its_type_says(marking: str, body: str, kind: str, reason: str) -> None:
    reading = decode(Question(marking=marking, body=body)).readings[0]
    assert reading.kind == kind
    assert any("the type, by the data books" in each and reason in each for each in reading.reasons)


def test_a_lot_shows_what_its_type_says_and_takes_it_back_without_effect(owner: APIClient) -> None:
    body = {"part": {"kind": "transistor", "number": "BC547B"}, "origin": {"source": "unknown"}}
    part = owner.post("/api/v1/parts/", {"kind": "transistor", "number": "BC547B"}, format="json").json()
    assert part["of_type"]["polarity"] == "npn"
    assert part["traits"] == {}
    again = owner.patch(f"/api/v1/parts/{part['id']}/", {"of_type": {"polarity": "pnp"}}, format="json")
    assert again.status_code == 200
    assert again.json()["of_type"]["polarity"] == "npn"
    lot: dict[str, Any] = owner.post("/api/v1/lots/", body, format="json").json()
    assert lot, "the lot is made as before"


@pytest.mark.parametrize("kind", ["diode", "transistor", "ic", "regulator", "fuse", "resistor"])
def test_a_number_put_down_under_a_wrong_kind_still_makes_a_spec(kind: str) -> None:
    # JIS C 7012: 2SC is an NPN transistor; a diode has no polarity, whatever its number says.
    tables = ("chips", "transistors", "diodes", "regulators", "memories", "eastern", "eastern_devices")
    numbers = [row["number"] for table in tables for row in rows(table)]
    for number in [*numbers, "2SC9999", "2SK999", "BC999", "AA999"]:
        known = Spec(kind, number=number).known
        assert kind != "diode" or "polarity" not in known


def test_a_transistor_number_half_read_as_a_diode_is_no_error() -> None:
    assert decode(Question(marking="2SC99?9", kind="diode")).readings
