"""Voltage regulators: what is said of them, and when one will do for another."""

from __future__ import annotations

from decimal import Decimal
from typing import TYPE_CHECKING

from inventory.spec.by_type import another_type, pin_order, tab
from inventory.spec.figures import plain
from inventory.spec.judging import LOOK, Case, Rule, exact, not_less, not_more, plainly, shape_of_many_legs
from inventory.spec.kinds.kind import Kind
from inventory.spec.traits import Flag, Number, Pins, Trait, Word
from inventory.type_numbers import type_number

if TYPE_CHECKING:
    from inventory.spec.spec import Spec

TRAITS: dict[str, Trait] = {
    "output_volts": Number("output", "V", least=Decimal(-10000), most=Decimal(10000)),
    "polarity": Word("sign of the output", "positive negative"),
    "adjustable": Flag("output set by resistors"),
    "dropout": Number("least input above output", "V"),
    "input_max_volts": Number("highest input", "V"),
    "input_volts": Number("input that the place gives it", "V"),
    "load_amps": Number("current that the place draws", "A"),
    "pin_order": Pins("legs in order"),
    "tab": Word("what the metal tab is joined to"),
}


def _output(case: Case) -> None:
    wanted, found = case.need.get("output_volts"), case.have.get("output_volts")
    if wanted is None:
        return
    if found is None:
        if case.have.get("adjustable") and not case.need.get("adjustable"):
            case.add_reason("output_volts", "no", "the same output only", offered="adjustable")
        elif not case.same_type:
            case.unknown("output_volts")
    elif wanted != found:
        case.add_reason("output_volts", "no", "the same output only")


def _sign(case: Case) -> None:
    wanted, found = (
        facts.get("polarity") or _sign_of(facts.get("output_volts")) for facts in (case.need, case.have)
    )
    if wanted is not None and found is not None and wanted != found:
        case.add_reason("polarity", "no", "the same sign only", required=wanted, offered=found)
    elif wanted is not None and found is None and not case.same_type:
        case.unknown("polarity")


def _sign_of(output: Decimal | None) -> str | None:
    return None if not output else "positive" if output > 0 else "negative"


def _headroom(case: Case) -> None:
    """What the place gives it: enough above the output, and not more than it stands."""
    given, output = case.need.get("input_volts"), case.need.get("output_volts")
    if given is None:
        return
    most, dropout = case.have.get("input_max_volts"), case.have.get("dropout")
    if most is not None and most < given and most != case.need.get("input_max_volts"):
        case.add_reason("input_max_volts", "no", "less than the place gives it", required=given)
    if output is None or dropout is None or "dropout" in case.need:
        return
    headroom = given - abs(output)
    if dropout > headroom:
        case.add_reason(
            "dropout", "no", "the place does not give so much above the output", required=headroom
        )


_STANDS = (("78", Decimal(35)), ("79", Decimal(35)), ("LM317", Decimal(40)), ("317", Decimal(40)))
"""Highest input of the standard series (from memory: data sheets)."""


def _input_of_the_type(case: Case) -> None:
    """The place was drawn with a type that stands so much; one that stands less is asked, or judged by what
    the place gives it."""
    if "input_volts" in case.need or case.same_type:
        return
    most, found = case.need.get("input_max_volts"), case.have.get("input_max_volts")
    number = case.need.get("number", "")
    base = type_number("regulator", number).base if number else ""
    most = most or next((volts for series, volts in _STANDS if base.startswith(series)), None)
    if most is not None and found is not None and found < most:
        rule = "withstands less than the type in the design: measure what the place applies to it"
        case.add_reason("input_max_volts", "ask", rule, LOOK, required=most, alone=True)


def _amps(case: Case) -> None:
    """What the place draws goes before what the drawn type could give."""
    load, rated, drawn = case.need.get("load_amps"), case.have.get("amps"), case.need.get("amps")
    if load is None:
        _AMPS(case)
    elif rated is None:
        if not case.same_type:
            case.unknown("amps", required=load)
    elif rated < (load if drawn is None else min(load, drawn)):
        case.add_reason("amps", "no", "less than the place draws", required=load)
    elif drawn is not None and rated < drawn:
        case.add_reason("amps", "with_note", "less than the type drawn here, but more than the place draws")
    elif drawn is not None and rated > drawn:
        _AMPS(case)


_AMPS = not_less("amps", weight=150)
_INPUT_MAX = not_less("input_max_volts", weight=50)


def _input_max(case: Case) -> None:
    if "input_volts" in case.need:
        _headroom(case)
    elif case.need.get("number") is None:
        _INPUT_MAX(case)


def _same_outline(case: Case) -> None:
    """Of the standard series one package has one pin order, whoever made it (from memory: data sheets)."""
    wanted, found = case.need.get("pin_order"), case.have.get("pin_order")
    packages = [_outline(side) for side in (case.requirement, case.offer)]
    if case.same_type and None in (wanted, found) and packages[0] and packages[0] == packages[1]:
        return
    pin_order(case)


def _outline(spec: Spec) -> str:
    return plainly(spec.package or (type_number("regulator", spec.number).package if spec.number else ""))


def _heat(case: Case) -> None:
    """(Vin - Vout) x I goes to the heatsink; told of any but the very type that it was chosen for."""
    given, output = case.need.get("input_volts"), case.need.get("output_volts")
    load = case.need.get("load_amps")
    if given is None or output is None or load is None or not case.reasons:
        return
    heat = plain((given - abs(output)) * load)
    rule = f"see to the heatsink: ({plain(given)} V - {plain(abs(output))} V) x {plain(load)} A = {heat} W"
    case.add_reason(
        "heat", "with_note", rule, required=f"{heat} W", offered=case.offer.number or case.offer.text
    )


def _adjustable(case: Case) -> None:
    """One that is known for its output is fixed, said or not."""
    fixed = "output_volts" in case.have and "adjustable" not in case.have
    if case.need.get("adjustable") and fixed:
        case.add_reason("adjustable", "no", _FIXED, offered="fixed")
    else:
        _SAME_SORT(case)


_FIXED = "fixed for adjustable or the reverse"
_SAME_SORT = exact("adjustable", _FIXED)
_CORE = ("output_volts", "amps")

RULES: tuple[Rule, ...] = (
    another_type(*_CORE),
    _output,
    _sign,
    _adjustable,
    _amps,
    not_less("watts", weight=150),
    not_less("volts"),
    _input_of_the_type,
    not_more("dropout"),
    _input_max,
    _same_outline,
    tab,
    shape_of_many_legs,
    _heat,
)

REGULATOR = Kind(
    name="regulator",
    noun="regulator",
    traits=TRAITS,
    rules=RULES,
    words=("voltageregulator",),
    by_type_number=frozenset(("volts", "amps", "watts", "speed_ns")),
    must_agree="output_volts",
    core=lambda _need: _CORE,
)
