"""What a place adds to the figures: holes and room, wider and narrower wishes, what settles a question.

Common practice, no source, unless a source is named.
"""

from typing import Any

import pytest

from inventory.spec import UNKNOWN, Spec, fits


def spec(kind: str, **data: Any) -> Spec:
    fields = Spec("other").to_dict().keys()
    return Spec.from_dict(
        {
            "kind": kind,
            **{name: value for name, value in data.items() if name in fields},
            "traits": {name: value for name, value in data.items() if name not in fields},
        }
    )


def grade(required: Spec, offered: Spec) -> str:
    return fits(required, offered).grade


def first(required: Spec, offered: Spec) -> tuple[str, str, str]:
    reason = fits(required, offered).reasons[0]
    return reason.grade, reason.property, reason.settled_by


# ── Holes and room ───────────────────────────────────────────────────────────────────────────────


@pytest.mark.parametrize("kind", ["resistor", "capacitor", "diode", "transistor", "connector", "regulator"])
@pytest.mark.parametrize("name", ["lead_mm", "height_mm"])
def test_leads_must_go_through_the_holes_and_the_body_under_the_lid(kind: str, name: str) -> None:
    place = spec(kind, **{name: "0.8"})
    for offered, expected in (("0.8", True), ("0.6", True), ("1.3", False), (None, False)):
        part = spec(kind, **({name: offered} if offered else {}))
        objections = [each for each in fits(place, part).reasons if each.property == name]
        assert [(each.grade, each.settled_by) for each in objections] == (
            [] if expected else [("ask", "look")]
        )


def test_an_unknown_pitch_is_a_question_even_across_the_mains() -> None:
    place = spec("capacitor", value="100n", volts=275, safety_class="X2", lead_style="radial", pitch_mm=15)
    part = spec("capacitor", value="100n", volts=275, safety_class="X2", lead_style="radial")
    assert first(place, part) == ("ask", "pitch_mm", "look")
    unmarked = spec("capacitor", value="100n", safety_class="X2", lead_style="radial", pitch_mm=15)
    assert first(place, unmarked) == ("no", "volts", "look")


# ── Wider and narrower ───────────────────────────────────────────────────────────────────────────

DRAWN = {"value": "10n", "volts": 16, "dielectric": "film", "lead_style": "axial"}


@pytest.mark.parametrize(
    ("given", "offered", "expected"),
    [
        ({"any": ["lead_style"]}, {"lead_style": "radial"}, "same"),
        ({"any": ["lead_style"]}, {"lead_style": ""}, "same"),
        ({"volts": 25}, {"volts": 16}, "no"),
        ({"volts": 25}, {"volts": 35}, "drop_in"),
        ({"dielectric": "c0g", "exact": ["dielectric"]}, {"dielectric": "mica"}, "no"),
        ({"dielectric": "c0g", "exact": ["dielectric"]}, {"dielectric": "c0g"}, "same"),
        ({"exact": ["volts"]}, {"volts": 25}, "no"),
        ({"any": ["dielectric"]}, {"dielectric": "class2"}, "same"),
    ],
)
def test_a_place_that_takes_more_or_less_than_is_drawn(
    given: dict[str, Any], offered: dict[str, Any], expected: str
) -> None:
    assert grade(spec("capacitor", **(DRAWN | given)), spec("capacitor", **(DRAWN | offered))) == expected


def test_a_place_may_insist_on_what_only_one_kind_has() -> None:
    place = spec("resistor", value="4k7", technology="metal_film", exact=["technology"])
    assert first(place, spec("resistor", value="4k7", technology="foil")) == ("no", "technology", "")
    assert first(place, spec("resistor", value="4k7")) == ("no", "technology", "look")


def test_what_a_place_insists_on_is_objected_to_once() -> None:
    place = spec("ic", number="2114", make="Hitachi", exact=["make"])
    for make in ("NEC", ""):
        objections = [each.rule for each in fits(place, spec("ic", number="2114", make=make)).reasons]
        assert objections == ["this place takes nothing else"]


# ── What would settle it ─────────────────────────────────────────────────────────────────────────


@pytest.mark.parametrize(
    ("required", "offered", "expected"),
    [
        # what is printed on a part is looked for, what is measured is tested, the rest is read
        (spec("capacitor", value="1u", volts=50), spec("capacitor", value="1u"), ("ask", "volts", "look")),
        (spec("resistor", value="1k"), spec("resistor"), ("ask", "value", "test")),
        (spec("regulator", number="LM338"), spec("regulator", number="LM338"), ("ask", "pin_order", "test")),
        (
            spec("diode", function="rectifier", volts=100, amps=1),
            spec("diode", number="BY999", function="rectifier", amps=1),
            ("ask", "volts", "data_sheet"),
        ),
        (
            spec("diode", function="fast_rectifier", recovery_ns=50),
            spec("diode", number="1N5404", function="rectifier"),
            ("no", "function", "data_sheet"),
        ),
        (
            spec("capacitor", value="1u", dielectric="film"),
            spec("capacitor", value="1u", dielectric="paper"),
            ("ask", "dielectric", "test"),
        ),
        (spec("ic", number="74LS04"), spec("ic", number="74HC04"), ("ask", "family", "look")),
        (
            spec("crystal", value="4 MHz", load_pf=20),
            spec("crystal", value="4 MHz", load_pf=30),
            ("ask", "load_pf", "test"),
        ),
        # nothing settles what is known
        (spec("other", volts=12), spec("other", volts=5), ("no", "volts", "")),
        (spec("fuse", amps=1), spec("fuse", amps=2), ("no", "amps", "")),
    ],
)  # fmt: skip
def test_a_question_says_what_would_answer_it(
    required: Spec, offered: Spec, expected: tuple[str, str, str]
) -> None:
    assert first(required, offered) == expected


def test_of_two_objections_the_one_that_nothing_settles_stands_in_the_way() -> None:
    place = spec("fuse", amps=1, volts=250, speed="slow")
    fit = fits(place, spec("fuse", amps=2, speed="slow"))
    assert [(each.property, each.offered) for each in fit.reasons] == [("amps", "2 A"), ("volts", UNKNOWN)]


def test_a_piece_with_questions_that_a_test_answers_names_them() -> None:
    wanted = Spec.from_dict({"kind": "transistor", "number": "BC109C", "traits": {"pin_order": "C-B-E"}})
    piece = Spec.from_dict({"kind": "transistor", "number": "BC109C"})
    fit = fits(wanted, piece)
    assert [reason.property for reason in fit.questions] == ["pin_order"]
    assert fit.settled_by == "test"
    surge = Spec.from_dict({"kind": "resistor", "value": "1k", "traits": {"technology": "wirewound"}})
    film = Spec.from_dict({"kind": "resistor", "value": "1k", "traits": {"technology": "metal_film"}})
    judged = fits(surge, film)
    assert (judged.grade, judged.questions, judged.settled_by) == ("ask", (), "")  # a person judges the place


def test_the_same_type_off_the_same_position_goes_in_as_it_came_out() -> None:
    """Where its pin order is not known; elsewhere it is asked."""
    wanted = Spec.from_dict({"kind": "transistor", "number": "XT109C"})
    piece = Spec.from_dict({"kind": "transistor", "number": "XT109C", "make": "X"})
    assert fits(wanted, piece).grade == "ask"
    assert fits(wanted, piece, same_position=True).grade == "with_note"
    another = Spec.from_dict({"kind": "transistor", "number": "XT108C"})
    assert fits(wanted, another, same_position=True).grade == "ask"
