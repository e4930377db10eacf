"""What holds of every verdict, whatever the parts."""

from dataclasses import replace
from decimal import Decimal
from typing import Any

import pytest
from hypothesis import assume, given, settings
from hypothesis import strategies as st

from inventory.spec import (
    GRADES,
    KINDS,
    TRAITS,
    UNITS,
    UNKNOWN,
    Fit,
    Spec,
    SpecError,
    fits,
    is_safety_part,
    search_window,
    value_window,
)
from tests.examples import examples
from tests.spec.strategies import figures, near_pairs, specs

MEASURED = st.none() | st.integers(0, 2**63 - 1)


def badness(fit: Fit) -> int:
    return GRADES.index(fit.grade)


@settings(max_examples=examples(60, 300))
@given(near_pairs(), MEASURED)
def test_every_pair_gets_a_verdict_with_reasons(
    pair: tuple[dict[str, Any], dict[str, Any]], measured: int | None
) -> None:
    requirement, offer = (Spec(**data) for data in pair)
    fit = fits(requirement, offer, measured=measured)
    assert 0 <= fit.closeness <= 999
    assert fit.reasons
    assert badness(fit) == max(GRADES.index(reason.grade) for reason in fit.reasons)
    for reason in fit.reasons:
        assert all((reason.property, reason.required, reason.offered, reason.rule))


@given(specs(), specs())
def test_another_kind_never_fits(requirement: Spec, offer: Spec) -> None:
    assume(requirement.kind != offer.kind)
    assert fits(requirement, offer).grade == "no"


@settings(max_examples=examples(60, 300))
@given(specs())
def test_a_part_is_the_same_as_itself_unless_something_was_left_open(part: Spec) -> None:
    assume("any" not in part.traits)
    fit = fits(part, part)
    left_open = {reason.property for reason in fit.reasons if reason.offered == UNKNOWN}
    assert left_open <= {
        *("pin_order", "amps", "low_esr", "esr_ohm", "volts", "dielectric", "technology", "watts", "speed"),
        *(
            "capacitance_pf",
            "gate_ma",
            "saturation_amps",
            "b_k",
            "ft_mhz",
            "on_ohm",
            "use",
            "device",
            "opens_c",
        ),
    }
    assert fit.grade in ("ask", "no") if left_open else fit.grade == "same"
    assert fit.closeness == 0


@given(st.data())
def test_what_the_requirement_leaves_open_is_not_judged(data: st.DataObject) -> None:
    kind = data.draw(st.sampled_from(sorted(set(KINDS) - {"transistor", "regulator", "fuse", "diode"})))
    assert fits(Spec(kind), data.draw(specs(kind))).grade in ("same", "with_note", "no")


@given(near_pairs("capacitor"), st.decimals("0.1", "1000", places=1))
def test_more_volts_never_turn_a_capacitor_s_yes_into_a_no(
    pair: tuple[dict[str, Any], dict[str, Any]], more: Decimal
) -> None:
    wanted, offered = pair
    wanted["traits"].pop("exact", None)
    requirement, part = (Spec(**{**data, "volts": Decimal(50)}) for data in (wanted, offered))
    before = fits(requirement, part)
    after = fits(requirement, replace(part, volts=50 + more))
    if before.grade != "no":
        assert after.grade != "no"
    assert after.closeness >= before.closeness


@given(specs("capacitor"), specs("capacitor"), st.decimals("0.1", "5000", places=1))
def test_fewer_volts_than_required_never_fit(requirement: Spec, offer: Spec, volts: Decimal) -> None:
    wanted = replace(requirement, volts=volts + Decimal("0.1"), traits={})
    assert fits(wanted, replace(offer, volts=volts)).grade == "no"


@given(specs("resistor"), specs("resistor"), st.decimals("0.1", "50", places=1))
def test_fewer_watts_than_required_never_fit(requirement: Spec, offer: Spec, watts: Decimal) -> None:
    wanted = replace(requirement, watts=watts + Decimal("0.1"), traits={})
    assert fits(wanted, replace(offer, watts=watts)).grade == "no"


@given(near_pairs(), st.data())
def test_forgetting_a_rating_that_is_required_never_improves_a_part(
    pair: tuple[dict[str, Any], dict[str, Any]], data: st.DataObject
) -> None:
    name = data.draw(st.sampled_from(["volts", "watts", "amps", "tolerance_percent"]))
    least, more = data.draw(figures), data.draw(st.just(Decimal(0)) | figures)
    wanted, offered = ({**each, "number": "", "traits": {}} for each in pair)
    requirement = Spec(**{**wanted, name: least})
    known, forgotten = (fits(requirement, Spec(**{**offered, name: rated})) for rated in (least + more, None))
    if known.grade != "no":
        assert badness(forgotten) >= badness(known)


@given(specs("resistor"), specs("resistor"), st.integers(1, 10**12), st.integers(1, 10**12))
def test_a_reading_of_a_part_marked_otherwise_is_never_better_than_with_a_note(
    wanted: Spec, offer: Spec, units: int, measured: int
) -> None:
    """One that is marked as wanted and reads so is what it says; any other is taken for its reading alone."""
    assume(offer.value != units)
    requirement = replace(wanted, value=units, traits={})
    for reading in (measured, units):
        assert badness(fits(requirement, offer, measured=reading)) >= GRADES.index("with_note")


@given(st.sampled_from(sorted(UNITS)).flatmap(specs), st.integers(1, 2**63 - 1), st.booleans())
def test_outside_its_window_a_value_is_refused_and_inside_it_is_not(
    requirement: Spec, other: int, measured: bool
) -> None:
    window, searched = value_window(requirement), search_window(requirement)
    if window is None or searched is None:
        assert requirement.value is None or "value" in requirement.traits["any"]
        return
    assert requirement.value is not None
    for units in (other, window[0], window[0] - 1, window[1], window[1] + 1, requirement.value):
        if not 1 <= units <= 2**63 - 1:
            continue
        offer = replace(requirement, value=None if measured else units)
        fit = fits(requirement, offer, measured=units if measured else None)
        refused = [reason for reason in fit.reasons if reason.property == "value" and reason.grade == "no"]
        if not searched[0] <= units <= searched[1]:
            assert refused
        elif window[0] <= units <= window[1] and not is_safety_part(requirement):
            assert not refused


@given(st.sampled_from(["capacitor", "resistor"]), st.data())
def test_a_safety_part_is_never_replaced_by_an_ordinary_one(kind: str, data: st.DataObject) -> None:
    mark = data.draw(
        st.sampled_from(["x1", "x2", "y1", "y2"] if kind == "capacitor" else ["fusible", "flameproof"])
    )
    requirement = replace(data.draw(specs(kind)), safety_class=mark)
    offer = data.draw(specs(kind))
    ordinary = replace(
        offer,
        safety_class="",
        traits={name: kept for name, kept in offer.traits.items() if name not in ("fusible", "flameproof")},
    )
    assert fits(requirement, ordinary).grade == "no"


@given(near_pairs())
def test_verdicts_depend_on_nothing_else(pair: tuple[dict[str, Any], dict[str, Any]]) -> None:
    requirement, offer = (Spec(**data) for data in pair)
    again = fits(Spec.from_dict(requirement.to_dict()), Spec.from_dict(offer.to_dict()))
    assert fits(requirement, offer) == again


def test_between_two_that_serve_the_closer_rating_is_preferred() -> None:
    wanted = Spec.from_dict({"kind": "capacitor", "value": "100n", "volts": 50, "dielectric": "film"})
    near, far = (replace(wanted, volts=Decimal(volts)) for volts in (63, 400))
    assert fits(wanted, near).grade == fits(wanted, far).grade == "drop_in"
    assert fits(wanted, near).closeness < fits(wanted, far).closeness


@pytest.mark.parametrize("trait", ["any", "exact"])
def test_a_need_may_widen_or_narrow_what_it_takes(trait: str) -> None:
    wanted = Spec.from_dict(
        {
            "kind": "capacitor",
            "value": "1n",
            "dielectric": "film",
            "lead_style": "axial",
            "traits": {trait: ["dielectric", "lead_style"]},
        }
    )
    other = Spec.from_dict({"kind": "capacitor", "value": "1n", "dielectric": "c0g", "lead_style": "radial"})
    assert fits(wanted, other).grade == ("same" if trait == "any" else "no")


# ── What is not known ────────────────────────────────────────────────────────────────────────────

_OF_PLACES = frozenset(("any", "exact", "use"))
_SCALES = ("volts", "watts", "amps")


def _stated(data: dict[str, Any]) -> list[tuple[str, bool]]:
    """(name, whether it is a trait) of everything a description states of a part."""
    fields = [(name, False) for name in data if name not in ("kind", "traits")]
    return fields + [(name, True) for name in data["traits"] if name not in _OF_PLACES]


def _with(data: dict[str, Any], name: str, trait: bool, fact: Any) -> dict[str, Any]:
    """The description with one fact changed, or left out where it is None."""
    changed = {**data, "traits": {**data["traits"]}}
    side = changed["traits"] if trait else changed
    side.pop(name, None)
    if fact is not None:
        side[name] = fact
    return changed


@settings(max_examples=examples(60, 300), deadline=None)
@given(st.sampled_from(KINDS).flatmap(near_pairs), st.data())
def test_not_knowing_a_wanted_fact_is_never_better_than_knowing_it(
    pair: tuple[dict[str, Any], dict[str, Any]], data: st.DataObject
) -> None:
    wanted, offered = pair
    if wanted.get("number") == offered.get("number"):
        offered.pop("number", None)  # the same type vouches for what nobody wrote down
    both = [each for each in _stated(wanted) if each in _stated(offered)]
    assume(both)
    name, trait = data.draw(st.sampled_from(both))
    requirement, part = Spec(**wanted), Spec(**offered)
    vague = Spec(**_with(offered, name, trait, None))
    known, unknown = fits(requirement, part), fits(requirement, vague)
    assert badness(unknown) >= min(badness(known), GRADES.index("ask")), (
        name,
        known.reasons,
        unknown.reasons,
    )


@settings(max_examples=examples(60, 300), deadline=None)
@given(st.sampled_from(KINDS).flatmap(near_pairs), st.data())
def test_finding_an_unknown_fact_as_wanted_never_makes_it_worse(
    pair: tuple[dict[str, Any], dict[str, Any]], data: st.DataObject
) -> None:
    wanted, offered = pair
    wanted["traits"].pop(
        "rail_volts", None
    )  # of another sort a rail asks more than the volts that were drawn
    unstated = [each for each in _stated(wanted) if each not in _stated(offered)]
    assume(unstated)
    name, trait = data.draw(st.sampled_from(unstated))
    fact = (wanted["traits"] if trait else wanted)[name]
    requirement, vague = Spec(**wanted), Spec(**offered)
    try:
        part = Spec(**_with(offered, name, trait, fact))
    except SpecError:
        assume(False)
    before, after = fits(requirement, vague), fits(requirement, part)
    assert badness(after) <= badness(before), (name, before.reasons, after.reasons)


@settings(max_examples=examples(60, 300), deadline=None)
@given(
    st.sampled_from(sorted(set(KINDS) - {"fuse", "lamp", "other", "diode"})).flatmap(near_pairs),
    st.sampled_from(_SCALES),
    st.lists(figures, min_size=3, max_size=3).map(sorted),
)
def test_less_of_a_rating_is_never_better(
    pair: tuple[dict[str, Any], dict[str, Any]], name: str, rated: list[Decimal]
) -> None:
    """Left out: fuses, lamps and what else wants its own figure, and diodes that clamp or fire."""
    wanted, offered = pair
    requirement, better, worse = (
        Spec(**{**data, "traits": {}, name: figure})
        for data, figure in ((wanted, rated[2]), (offered, rated[1]), (offered, rated[0]))
    )
    assert badness(fits(requirement, worse)) >= badness(fits(requirement, better))


_WORSE_IF_MORE = {
    "resistor": ("tolerance_percent", "tcr_ppm"),
    "capacitor": ("tolerance_percent", "esr_ohm"),
    "inductor": ("tolerance_percent", "dcr_ohm"),
    "crystal": ("ppm", "esr_ohm"),
    "regulator": ("dropout",),
    "ic": ("speed_ns",),
}
_WORSE_IF_LESS = {
    "resistor": ("temp_max_c",),
    "capacitor": ("temp_max_c", "ripple", "ac_volts"),
    "inductor": ("saturation_amps",),
    "diode": ("surge_amps",),
    "fuse": ("breaking",),
    "transformer": ("va",),
    "regulator": ("input_max_volts",),
    "switch": ("poles", "throws"),
}


@settings(max_examples=50, deadline=None)
@given(
    st.sampled_from(
        [(kind, name, 1) for kind, names in _WORSE_IF_MORE.items() for name in names]
        + [(kind, name, -1) for kind, names in _WORSE_IF_LESS.items() for name in names]
    ),
    st.lists(st.integers(1, 60).map(Decimal), min_size=3, max_size=3, unique=True),
    st.data(),
)
def test_what_is_worse_than_required_is_never_better_the_worse_it_is(
    fact: tuple[str, str, int], figures: list[Decimal], data: st.DataObject
) -> None:
    kind, name, sign = fact
    trait = name in TRAITS[kind]
    wanted, offered = data.draw(near_pairs(kind))
    right, near, far = sorted(figures, key=lambda figure: sign * figure)
    bare = [{**each, "number": "", "traits": {}} for each in (wanted, offered, offered, offered)]
    requirement, meets, worse, worst = (
        Spec(**_with(each, name, trait, figure))
        for each, figure in zip(bare, (right, right, near, far), strict=True)
    )
    grades = [badness(fits(requirement, part)) for part in (meets, worse, worst)]
    assert grades == sorted(grades), (name, right, near, far)


@settings(max_examples=50, deadline=None)
@given(
    st.sampled_from(sorted(UNITS)).flatmap(near_pairs),
    st.decimals("0.9", "1.1", places=3),
    st.lists(st.decimals("0", "50", places=2), min_size=2, max_size=2).map(sorted),
)
def test_a_worse_meter_never_turns_a_question_or_a_yes_into_a_better_grade(
    pair: tuple[dict[str, Any], dict[str, Any]], read: Decimal, percents: list[Decimal]
) -> None:
    """It may turn a no into a question: what a bad meter reads outside may yet be inside."""
    requirement, part = (Spec(**data) for data in pair)
    assume(requirement.value is not None)
    measured = min(int((requirement.value or 0) * read), 2**63 - 1)
    better, worse = (
        fits(requirement, part, measured=measured, measured_tolerance=percent) for percent in percents
    )
    if better.grade != "no":
        assert badness(worse) >= badness(better)
