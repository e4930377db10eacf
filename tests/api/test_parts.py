"""Parts: a Spec that the bench knows by name, written in any notation and answered in one."""

from decimal import Decimal
from typing import Any

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from inventory import ledger
from inventory.ledger import Spot
from inventory.models import Board, Lot, Part, Place, StoredSpec
from tests.api.test_problems import pointers, refused
from tests.factories import BoardFactory, JobFactory, NeedFactory, PartFactory, PlaceFactory, spec, stock

PARTS = "/api/v1/parts/"


def test_a_part_is_made_from_its_spec_and_named_by_its_reading(bench: Any) -> None:
    answer = bench.post(PARTS, {"kind": "capacitor", "value": "0.1uF", "volts": "63 V", "dielectric": "film"})
    assert answer.status_code == 201, answer.content
    part = answer.json()
    assert answer.headers["Location"].endswith(f"{PARTS}{part['id']}/")
    assert bench.get(answer.headers["Location"]).json() == part
    result = {name: part[name] for name in ("value", "value_text", "volts", "spec_text", "name", "pack_size")}
    assert result == {
        "value": "0.0000001", "value_text": "100n", "volts": "63", "spec_text": "100n 63 V film",
        "name": "100n 63 V film", "pack_size": 1,
    }  # fmt: skip


@pytest.mark.parametrize("text", ["4k7", "4.7 kΩ", "4700", "4,7k", "4.7K", 4700, 4700.0])
def test_a_value_is_taken_in_any_notation_and_answered_plain(bench: Any, text: Any) -> None:
    part = bench.post(PARTS, {"kind": "resistor", "value": text}).json()
    assert (part["value"], part["value_text"]) == ("4700", "4k7")


def test_no_float_touches_a_value(bench: Any) -> None:
    """0.1 and 0.3 have no exact binary fraction; 4.7 µF as a JSON number keeps its two figures."""
    body = b'{"kind": "capacitor", "value": 0.0000047, "price": 0.30}'
    part = bench.generic("POST", PARTS, body, content_type="application/json").json()
    assert (part["value"], part["value_text"], part["price"]) == ("0.0000047", "4µ7", "0.3")


def test_every_field_of_a_spec_comes_back(bench: Any) -> None:
    sent = {
        "kind": "transistor", "number": "2N3904", "volts": "40", "amps": "0.2", "watts": "0.625",
        "package": "TO-92", "lead_style": "to_can", "make": "Motorola", "traits": {"polarity": "npn"},
    }  # fmt: skip
    part = bench.post(PARTS, sent).json()
    assert {name: part[name] for name in sent} == sent


def test_a_part_that_is_known_is_not_made_twice(bench: Any) -> None:
    first = bench.post(PARTS, {"kind": "resistor", "value": "4k7"}).json()
    body = refused(bench.post(PARTS, {"kind": "resistor", "value": "4.7 kΩ"}), 409)
    assert (body["code"], body["part"]) == ("taken", first["id"])
    assert Part.objects.count() == 1


@pytest.mark.parametrize(
    ("sent", "pointer"),
    [
        ({}, "#/kind"),
        ({"kind": "resistor", "value": "10mF"}, "#/value"),
        ({"kind": "ic", "value": "4k7"}, "#/value"),
        ({"kind": "resistor", "dielectric": "film"}, "#/dielectric"),
        ({"kind": "transistor", "traits": {"colour": "red"}}, "#/traits/colour"),
        ({"kind": "lamp", "name": ""}, "#/name"),
        ({"kind": "lamp", "price": "-1"}, "#/price"),
        ({"kind": "lamp", "price": "1.00001"}, "#/price"),
        ({"kind": "lamp", "price": "lots"}, "#/price"),
        ({"kind": "lamp", "pack_size": 0}, "#/pack_size"),
        ({"kind": "lamp", "pack_size": 1.5}, "#/pack_size"),
        ({"kind": "lamp", "reorder_at": -1}, "#/reorder_at"),
        ({"kind": "lamp", "note": None}, "#/note"),
        ({"kind": "lamp", "number": "n" * 65}, "#/number"),
        ({"kind": "lamp", "volts": "1e9"}, "#/volts"),
    ],
)
def test_a_wrong_part_is_refused_with_the_place(bench: Any, sent: dict[str, Any], pointer: str) -> None:
    assert pointers(refused(bench.post(PARTS, sent), 400)) == {pointer}
    assert not Part.objects.exists()
    assert not StoredSpec.objects.exists()


def test_a_patch_of_one_rating_leaves_the_rest(bench: Any) -> None:
    part = PartFactory(of=spec("capacitor", "100n", dielectric="film"), name="bypass")
    answer = bench.patch(f"{PARTS}{part.pk}/", {"volts": "63"}).json()
    assert (answer["volts"], answer["dielectric"], answer["value_text"], answer["name"]) == (
        "63",
        "film",
        "100n",
        "bypass",
    )


def test_a_figure_is_taken_back_with_null(bench: Any) -> None:
    part = PartFactory(of=spec("capacitor", "100n", volts=Decimal(63)))
    assert bench.patch(f"{PARTS}{part.pk}/", {"volts": None}).json()["volts"] is None


def test_a_part_cannot_become_another_that_is_known(bench: Any) -> None:
    known = PartFactory(of=spec("resistor", "4k7"))
    other = PartFactory(of=spec("resistor", "47k"))
    assert refused(bench.patch(f"{PARTS}{other.pk}/", {"value": "4k7"}), 409)["part"] == known.pk


def test_a_change_of_kind_asks_for_the_value_again(bench: Any) -> None:
    here = f"{PARTS}{PartFactory(of=spec('resistor', '4k7')).pk}/"
    assert pointers(refused(bench.patch(here, {"kind": "capacitor"}), 400)) == {"#/value"}
    answer = bench.patch(here, {"kind": "capacitor", "value": "4n7"})
    assert (answer.status_code, answer.json()["value_text"]) == (200, "4n7")


def test_a_put_says_the_whole_spec(bench: Any) -> None:
    part = PartFactory(of=spec("capacitor", "100n", dielectric="film"), name="bypass")
    answer = bench.put(f"{PARTS}{part.pk}/", {"kind": "capacitor", "value": "100n"}).json()
    assert (answer["dielectric"], answer["name"]) == ("", "bypass")


def test_free_are_pieces_at_hand_or_on_donors_that_nobody_is_promised(bench: Any) -> None:
    part = PartFactory()
    stock(10, part=part, place=PlaceFactory(type=Place.Type.DRAWER))
    stock(7, part=part, place=PlaceFactory(type=Place.Type.TRAY))
    stock(1, part=part, place=BoardFactory(purpose=Board.Purpose.DONOR).place, ref="R1")
    stock(1, part=part, place=BoardFactory(purpose=Board.Purpose.WORKING).place, ref="R1")
    stock(1, part=part, place=BoardFactory(purpose=Board.Purpose.UNDER_REPAIR).place, ref="R1")
    stock(50, part=part, condition=Lot.Condition.FAULTY)
    stock(60, part=part, place=PlaceFactory(type=Place.Type.PERSON))
    binned = stock(70, part=part)
    ledger.scrap(binned.lot, Spot(binned.place_id), 70, by=None)
    answer = bench.get(f"{PARTS}{part.pk}/").json()
    assert (answer["free"], answer["promised"]) == (18, 0)


def test_promised_pieces_are_not_free(bench: Any) -> None:
    from repairs.reservations import reserve

    holding = stock(10)
    reserve(NeedFactory(of=holding.lot.part.spec.spec, quantity=4, job=JobFactory()), holding, 4, by=None)
    answer = bench.get(f"{PARTS}{holding.lot.part_id}/").json()
    assert (answer["free"], answer["promised"]) == (6, 4)


def test_a_part_nobody_has_is_free_of_nothing(bench: Any) -> None:
    answer = bench.get(f"{PARTS}{PartFactory().pk}/").json()
    assert (answer["free"], answer["promised"]) == (0, 0)


def test_an_owner_removes_a_part_that_nothing_is_kept_of(owner: Any) -> None:
    part = PartFactory()
    assert owner.delete(f"{PARTS}{part.pk}/").status_code == 204
    refused(owner.delete(f"{PARTS}{part.pk}/"), 404)


@settings(max_examples=40, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(
    units=st.integers(min_value=1, max_value=10**15),
    kind=st.sampled_from(["resistor", "capacitor", "inductor"]),
)
def test_what_is_answered_goes_back_in_unchanged(bench: Any, units: int, kind: str) -> None:
    """The plain decimal and the trade text both name the very same number of units."""
    part = PartFactory(of=spec(kind, None).__class__(kind=kind, value=units))
    here = f"{PARTS}{part.pk}/"
    result = bench.get(here).json()
    for name in ("value", "value_text"):
        answer = bench.patch(here, {"value": result[name]})
        assert answer.status_code in (200, 400), answer.content
        if answer.status_code == 200:
            assert StoredSpec.objects.get(part=part).value == units
        else:
            assert answer.json()["errors"][0]["code"] == "ambiguous"
    assert bench.put(here, result).status_code == 200
    assert StoredSpec.objects.get(part=part).value == units
