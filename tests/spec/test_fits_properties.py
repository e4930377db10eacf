"""What holds of every verdict, whatever the parts."""

from dataclasses import replace
from decimal import Decimal
from typing import Any

import pytest
from hypothesis import assume, given, settings
from hypothesis import strategies as st

from inventory.spec import GRADES, KINDS, UNITS, UNKNOWN, Fit, Spec, fits, value_window
from tests.spec.strategies import figures, near_pairs, specs

MEASURED = st.none() | st.integers(0, 2**63 - 1)


def badness(fit: Fit) -> int:
    return GRADES.index(fit.grade)


@settings(max_examples=300)
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


@settings(max_examples=300)
@given(specs())
def test_a_part_is_the_same_as_itself_unless_something_was_left_open(part: Spec) -> None:
    assume("any" not in part.traits)
    fit = fits(part, part)
    left_open = {reason.property for reason in fit.reasons if reason.offered == UNKNOWN}
    assert left_open <= {"pin_order", "amps", "low_esr", "esr_ohm", "volts", "dielectric", "technology"}
    assert fit.grade in ("ask", "no") if left_open else fit.grade == "same"
    assert fit.closeness == 0


@given(st.data())
def test_what_the_requirement_leaves_open_is_not_judged(data: st.DataObject) -> None:
    kind = data.draw(st.sampled_from(sorted(set(KINDS) - {"transistor", "regulator", "fuse"})))
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
def test_a_measured_part_is_never_better_than_with_a_note(
    wanted: Spec, offer: Spec, units: int, measured: int
) -> None:
    requirement = replace(wanted, value=units, traits={})
    for reading in (measured, units):
        assert badness(fits(requirement, offer, measured=reading)) >= GRADES.index("with_note")


@given(st.sampled_from(sorted(UNITS)).flatmap(specs), st.integers(1, 2**63 - 1), st.booleans())
def test_outside_its_window_a_value_is_refused_and_inside_it_is_not(
    requirement: Spec, other: int, measured: bool
) -> None:
    window = value_window(requirement)
    if window is None:
        assert requirement.value is None or "value" in requirement.traits["any"]
        return
    assert requirement.value is not None
    for units in (other, window[0], window[0] - 1, window[1], window[1] + 1, requirement.value):
        if not 1 <= units <= 2**63 - 1:
            continue
        offer = replace(requirement, value=None if measured else units)
        fit = fits(requirement, offer, measured=units if measured else None)
        refused = [reason for reason in fit.reasons if reason.property == "value" and reason.grade == "no"]
        near_a_safety_part = requirement.safety_class or requirement.traits.get("fusible")
        if not window[0] <= units <= window[1]:
            assert refused
        elif not (near_a_safety_part or requirement.traits.get("flameproof")):
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
