"""A Spec: read from what the API is sent, whole or with every problem named, and given back the same.

One file, since what is read is also given back.
"""

import copy
import json
import pickle
from decimal import Decimal
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from inventory.spec import KINDS, TRAITS, UNITS, Spec, SpecError
from tests.spec.strategies import spec_data, specs

FIELDS = {
    *("kind", "number", "value", "tolerance_percent", "volts", "watts", "amps", "dielectric", "package"),
    *("lead_style", "pitch_mm", "polarised", "safety_class", "speed_ns", "make", "traits"),
}


def spec(**data: Any) -> Spec:
    return Spec.from_dict(data)


def problems(**data: Any) -> dict[str, str]:
    with pytest.raises(SpecError) as refused:
        Spec.from_dict(data)
    return {problem.pointer: problem.code for problem in refused.value.problems}


def read_or_refused(data: object) -> list[Spec]:
    """The Spec, or none where the data is refused with its problems; nothing else may happen."""
    try:
        return [Spec.from_dict(data)]
    except SpecError as refused:
        pointers = [problem.pointer for problem in refused.problems]
    if not pointers:
        pytest.fail("refused without saying why")
    return []


# ── In ───────────────────────────────────────────────────────────────────────────────────────────


@pytest.mark.parametrize("value", ["4k7", "4.7 kΩ", "4700", 4700, Decimal("4700"), 4700.0])
def test_a_value_comes_in_as_text_or_as_a_number_of_ohms(value: object) -> None:
    assert spec(kind="resistor", value=value).value == 4_700_000_000


@pytest.mark.parametrize(
    ("given", "volts"),
    [
        (63, "63"),
        ("63", "63"),
        ("63 V", "63"),
        ("6,3V", "6.3"),
        ("1.2 kV", "1200"),
        (6.3, "6.3"),
        ("63.00", "63"),
    ],
)
def test_a_rating_comes_in_with_or_without_its_unit(given: object, volts: str) -> None:
    assert str(spec(kind="capacitor", volts=given).volts) == volts


@pytest.mark.parametrize(
    ("given", "watts"), [("1/4", "0.25"), ("¼ W", "0.25"), ("250mW", "0.25"), ("0.6 W", "0.6")]
)
def test_watts_come_in_as_fractions_and_milliwatts_too(given: str, watts: str) -> None:
    assert str(spec(kind="resistor", watts=given).watts) == watts


@pytest.mark.parametrize(
    ("given", "kept"),
    [
        ("C0G", "c0g"),
        ("NP0", "c0g"),
        ("Film", "film"),
        ("electrolytic", "aluminium"),
        ("class 2", "class2"),
        ("MKP", "polypropylene"),
    ],
)
def test_a_dielectric_has_one_spelling(given: str, kept: str) -> None:
    assert spec(kind="capacitor", dielectric=given).dielectric == kept


def test_a_class_2_code_says_the_class_and_the_code() -> None:
    capacitor = spec(kind="capacitor", dielectric="X7R")
    assert (capacitor.dielectric, capacitor.traits) == ("class2", {"temperature_char": "X7R"})


def test_traits_are_read_by_the_kind_s_own_schema() -> None:
    transistor = spec(
        kind="transistor", traits={"polarity": "NPN", "vceo": "45 V", "ic": "100mA", "pin_order": "cbe"}
    )
    assert transistor.traits == {"ic": "0.1", "pin_order": "C-B-E", "polarity": "npn", "vceo": "45"}
    memory = spec(kind="ic", traits={"organisation": "64K x 1", "rails": "5, -5, 12"})
    assert memory.traits == {"organisation": "64Kx1", "rails": ("12", "5", "-5")}


def test_null_and_empty_mean_nothing_given() -> None:
    bare = spec(kind="resistor")
    assert bare == Spec.from_dict(dict.fromkeys(FIELDS, None) | {"kind": "resistor"})
    assert bare == spec(kind="resistor", value="", volts="", number="", traits={"use": None}, polarised=None)


# ── Refused ──────────────────────────────────────────────────────────────────────────────────────


def test_every_problem_is_named_at_once() -> None:
    assert problems(
        kind="capacitor",
        value="10mF",
        volts="plenty",
        number="a\x00b",
        make="m" * 65,
        polarised="perhaps",
        colour="blue",
        traits={"use": "everything", "gain_min": 5},
    ) == {
        "/value": "ambiguous",
        "/volts": "unreadable",
        "/number": "unreadable",
        "/make": "unreadable",
        "/polarised": "unreadable",
        "/colour": "unknown",
        "/traits/use": "unreadable",
        "/traits/gain_min": "unknown",
    }


def test_an_unknown_trait_is_answered_with_the_known_ones() -> None:
    with pytest.raises(SpecError) as refused:
        spec(kind="fuse", traits={"spede": "slow"})
    assert "speed" in refused.value.problems[0].detail
    assert "breaking" in refused.value.problems[0].detail


@pytest.mark.parametrize(
    ("data", "pointer", "code"),
    [
        ({}, "/kind", "required"),
        ({"kind": "valve"}, "/kind", "unknown"),
        ({"kind": ["resistor"]}, "/kind", "unknown"),
        ({"kind": {}}, "/kind", "unknown"),
        ({"kind": "fuse", "value": "1"}, "/value", "not_of_kind"),
        ({"kind": "resistor", "value": []}, "/value", "unreadable"),
        ({"kind": "resistor", "value": True}, "/value", "unreadable"),
        ({"kind": "resistor", "value": float("nan")}, "/value", "unreadable"),
        ({"kind": "resistor", "value": 10**30}, "/value", "unreadable"),
        ({"kind": "resistor", "value": 1e18}, "/value", "unreadable"),
        ({"kind": "resistor", "value": 1e-30}, "/value", "unreadable"),
        ({"kind": "resistor", "dielectric": "film"}, "/dielectric", "not_of_kind"),
        ({"kind": "resistor", "volts": 0}, "/volts", "unreadable"),
        ({"kind": "resistor", "volts": -5}, "/volts", "unreadable"),
        ({"kind": "resistor", "volts": Decimal("sNaN")}, "/volts", "unreadable"),
        ({"kind": "resistor", "volts": Decimal("1e400")}, "/volts", "unreadable"),
        ({"kind": "resistor", "volts": "1e3"}, "/volts", "unreadable"),
        ({"kind": "resistor", "volts": float("inf")}, "/volts", "unreadable"),
        ({"kind": "resistor", "volts": 10**9}, "/volts", "unreadable"),
        ({"kind": "resistor", "volts": "63 A"}, "/volts", "unreadable"),
        ({"kind": "resistor", "volts": "1/3"}, "/volts", "unreadable"),
        ({"kind": "resistor", "volts": "1/0"}, "/volts", "unreadable"),
        ({"kind": "resistor", "volts": "0.00001"}, "/volts", "unreadable"),
        ({"kind": "resistor", "volts": "0.99999999999999999999999999999999"}, "/volts", "unreadable"),
        ({"kind": "resistor", "lead_style": "a" * 40}, "/lead_style", "unreadable"),
        ({"kind": "resistor", "package": "\u200b"}, "/package", "unreadable"),
        ({"kind": "resistor", "package": "\ud800"}, "/package", "unreadable"),
        ({"kind": "resistor", "make": 7}, "/make", "unreadable"),
        ({"kind": "resistor", "traits": []}, None, None),
        ({"kind": "resistor", "traits": "x"}, "/traits", "unreadable"),
        (
            {"kind": "transistor", "traits": {"gain_min": 5, "gain_max": 2}},
            "/traits/gain_min",
            "contradiction",
        ),
        ({"kind": "transistor", "volts": 40, "traits": {"vceo": 45}}, "/traits/vceo", "contradiction"),
        ({"kind": "resistor", "a/b~c": 1}, "/a~1b~0c", "unknown"),
        # a film capacitor written 0.01 is one of 0.01 µF (Grob 11e: decimals below one are µF)
        ({"kind": "capacitor", "value": "0.01", "dielectric": "film"}, "/value", "ambiguous"),
    ],
)
def test_what_no_part_can_be_is_refused_where_it_stands(
    data: dict[str, Any], pointer: str | None, code: str
) -> None:
    if pointer is None:
        assert Spec.from_dict(data).traits == {}
    else:
        assert problems(**data)[pointer] == code


@pytest.mark.parametrize("data", [None, [], "resistor", 5])
def test_what_is_no_object_is_refused(data: object) -> None:
    with pytest.raises(SpecError, match="object"):
        Spec.from_dict(data)


json_values = st.recursive(
    st.none() | st.booleans() | st.integers() | st.floats() | st.text(max_size=20),
    lambda inner: st.lists(inner, max_size=3) | st.dictionaries(st.text(max_size=10), inner, max_size=3),
    max_leaves=5,
)


@given(
    st.dictionaries(st.sampled_from(sorted(FIELDS)) | st.text(max_size=8), json_values, max_size=8),
    st.sampled_from(KINDS),
    st.booleans(),
)
def test_no_json_at_all_breaks_the_reading(data: dict[str, Any], kind: str, with_kind: bool) -> None:
    if with_kind:
        data["kind"] = kind
    for read in read_or_refused(data):
        assert Spec.from_dict(read.to_dict()) == read


@given(st.sampled_from([(kind, name) for kind, schema in TRAITS.items() for name in schema]), json_values)
def test_no_trait_value_breaks_the_reading(kind_and_name: tuple[str, str], value: object) -> None:
    kind, name = kind_and_name
    for read in read_or_refused({"kind": kind, "traits": {name: value}}):
        assert Spec.from_dict(read.to_dict()) == read


# ── Out, and back in ─────────────────────────────────────────────────────────────────────────────


@given(specs())
def test_what_is_given_out_goes_back_in(part: Spec) -> None:
    sent = json.loads(json.dumps(part.to_dict()))
    back = Spec.from_dict(sent)
    assert back == part
    assert back.key == part.key
    assert back.to_dict() == part.to_dict()


@given(spec_data())
def test_equal_descriptions_have_equal_keys_however_they_were_written(data: dict[str, Any]) -> None:
    padded = dict(data)
    for name in ("volts", "watts", "amps"):
        if name in padded:
            padded[name] = padded[name].quantize(Decimal("1.00000"))
    padded["traits"] = dict(reversed(data["traits"].items()))
    assert Spec(**padded).key == Spec(**data).key
    assert hash(Spec(**padded)) == hash(Spec(**data))


def test_another_value_is_another_key() -> None:
    assert spec(kind="resistor", value="4k7") != spec(kind="resistor", value="4k8")
    assert spec(kind="resistor", value="4k7") != "4k7"


def test_answers_hold_every_field_as_text_that_json_keeps_exactly() -> None:
    out = spec(kind="capacitor", value="100n", volts="6.3", traits={"temp_max_c": 85}).to_dict()
    assert set(out) == {*FIELDS, "value_text", "spec_text"}
    assert (out["value"], out["value_text"], out["volts"]) == ("0.0000001", "100n", "6.3")
    assert out["traits"] == {"temp_max_c": "85"}


def test_a_farad_goes_back_in_because_its_text_settles_it() -> None:
    memory_backup = spec(kind="capacitor", value="1 F")
    assert memory_backup.to_dict()["value"] == "1"
    assert problems(kind="capacitor", value="1") == {"/value": "ambiguous"}
    assert Spec.from_dict(memory_backup.to_dict()) == memory_backup


@given(specs())
def test_a_spec_can_be_copied_and_sent_to_another_process(part: Spec) -> None:
    assert copy.deepcopy(part) == part
    assert pickle.loads(pickle.dumps(part)) == part


def test_a_spec_does_not_change() -> None:
    part = spec(kind="resistor", traits={"use": "rf"})
    with pytest.raises(AttributeError):
        part.volts = Decimal(5)  # type: ignore[misc]
    with pytest.raises(TypeError):
        part.traits["use"] = "surge"  # type: ignore[index]


def test_a_value_given_as_units_must_be_a_whole_number_in_range() -> None:
    for units in (-1, 2**63, 4.7, True):
        with pytest.raises(SpecError):
            Spec(kind="resistor", value=units)  # type: ignore[arg-type]
    with pytest.raises(SpecError):
        Spec(kind="capacitor", value=0)


def test_every_kind_of_the_contract_is_known_and_five_have_a_value() -> None:
    assert set(KINDS) == {
        *("resistor", "capacitor", "inductor", "diode", "transistor", "ic", "crystal", "regulator", "fuse"),
        *("connector", "socket", "switch", "transformer", "lamp", "other"),
        "thermistor",  # beyond the contract's list, which may grow
    }
    assert set(UNITS) == {"resistor", "capacitor", "inductor", "crystal", "thermistor"}
    assert set(TRAITS) == set(KINDS)


# ── The one-line reading ─────────────────────────────────────────────────────────────────────────


@pytest.mark.parametrize(
    ("data", "text"),
    [
        (
            {
                "kind": "capacitor",
                "value": "100n",
                "volts": "63.0",
                "dielectric": "film",
                "lead_style": "radial",
            },
            "100n 63 V film, radial",  # the example of the API contract
        ),
        (
            {"kind": "resistor", "value": "4k7", "tolerance_percent": 5, "watts": "0.250"},
            "4k7 5 % 0.25 W resistor",
        ),
        (
            {"kind": "resistor", "value": "100", "traits": {"technology": "carbon_composition"}},
            "100R carbon composition resistor",
        ),
        ({"kind": "capacitor", "value": "10n", "volts": 250, "safety_class": "Y2"}, "10n 250 V Y2 capacitor"),
        (
            {"kind": "capacitor", "value": "22u", "volts": 25, "dielectric": "aluminium", "pitch_mm": 2.5},
            "22µ 25 V aluminium, 2.5 mm",
        ),
        (
            {"kind": "transistor", "number": "BC547B", "package": "TO-92", "traits": {"polarity": "npn"}},
            "BC547B NPN transistor, TO-92",
        ),
        ({"kind": "diode", "traits": {"function": "zener", "zener_volts": "5.1"}}, "5.1 V zener diode"),
        ({"kind": "regulator", "number": "7912", "traits": {"output_volts": -12}}, "7912 -12 V regulator"),
        (
            {"kind": "fuse", "amps": "500mA", "volts": 250, "traits": {"speed": "slow"}},
            "0.5 A 250 V slow fuse",
        ),
        (
            {"kind": "ic", "number": "4116", "traits": {"organisation": "16Kx1"}, "speed_ns": 200},
            "4116 16Kx1 200 ns IC",
        ),
        ({"kind": "crystal", "value": "3.579545 MHz"}, "3.579545 MHz crystal"),
        (
            {"kind": "crystal", "value": "4 MHz", "traits": {"resonance": "parallel", "load_pf": 20}},
            "4 MHz 20 pF parallel crystal",
        ),
        (
            {
                "kind": "transformer",
                "number": "TX-4",
                "traits": {"secondary_volts": [9, 15], "va": 30, "rewound": True},
            },
            "TX-4 15 V + 9 V 30 VA rewound transformer",
        ),
        (
            {
                "kind": "connector",
                "pitch_mm": "2.54",
                "traits": {"ways": 6, "plating": "gold", "gender": "plug"},
            },
            "6-way gold plug connector, 2.54 mm",
        ),
        (
            {"kind": "resistor", "value": "47R", "watts": 1, "traits": {"fusible": True}},
            "47R 1 W fusible resistor",
        ),
        ({"kind": "socket", "lead_style": "dip", "traits": {"ways": 16}}, "16-way socket, DIP"),
        # what the package says of the leads is not said twice
        ({"kind": "ic", "number": "4116", "lead_style": "dip", "package": "dip16"}, "4116 IC, DIP-16"),
        ({"kind": "transistor", "lead_style": "to_flat", "package": "TO-126"}, "transistor, TO-126"),
        ({"kind": "ic", "number": "X1", "lead_style": "smd", "package": "SOIC-8"}, "X1 IC, SMD, SOIC-8"),
        (
            {
                "kind": "resistor",
                "value": "10R",
                "safety_class": "fusible",
                "traits": {"fusible": True, "technology": "metal_film"},
            },
            "10R fusible metal film resistor",
        ),
        (
            {"kind": "capacitor", "value": "22u", "dielectric": "aluminium", "polarised": False},
            "22µ aluminium, unpolarised",
        ),
        (
            {
                "kind": "capacitor",
                "value": "1n",
                "dielectric": "C0G",
                "traits": {"use": "timing", "exact": ["dielectric"]},
            },
            "1n C0G, for timing, exactly this dielectric",
        ),
        (
            {"kind": "resistor", "value": "1k", "traits": {"any": ["lead_style", "pitch_mm"]}},
            "1k resistor, any lead style, pitch",
        ),
        ({"kind": "other"}, "other"),
    ],
)
def test_a_spec_reads_as_one_line(data: dict[str, Any], text: str) -> None:
    assert spec(**data).text == text


@given(specs())
def test_every_spec_reads_as_one_printable_line(part: Spec) -> None:
    assert part.text
    assert part.text.isprintable()


def test_a_resistor_with_a_law_is_not_said_to_be_fixed() -> None:
    """Common practice, no source: only what is turned has a law."""
    with pytest.raises(SpecError) as refused:
        Spec(kind="resistor", value=10**10, traits={"taper": "log", "variable": "no"})
    assert [(each.pointer, each.code) for each in refused.value.problems] == [
        ("/traits/variable", "contradiction")
    ]
    assert Spec(kind="resistor", traits={"taper": "log", "variable": "yes"}) == Spec(
        kind="resistor", traits={"taper": "log"}
    )
