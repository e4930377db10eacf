"""Thermistors: NTC and PTC by R25 and B, and when one will do for another."""

from dataclasses import replace
from decimal import Decimal

from inventory.spec.judging import DATA_SHEET, Case, Rule, exact, not_less, shape_of_two_legs
from inventory.spec.kinds.kind import Kind
from inventory.spec.kinds.resistor import NOTATION
from inventory.spec.traits import TEMPERATURE, Number, Trait, Word, place_use
from inventory.spec.values import NEAR, spread, tolerance_fits, value_fits

TRAITS: dict[str, Trait] = {
    "curve": Word("falls (ntc) or rises (ptc) with temperature", "ntc ptc"),
    "b_k": Number("B constant of an NTC, kelvin, 25 to 85 °C", "K", least=Decimal(1), most=Decimal(20000)),
    "switch_c": Number("temperature at which a PTC switches", "°C", least=Decimal(-100), most=Decimal(1000)),
    "use": place_use("inrush degauss protection"),
    "temp_max_c": TEMPERATURE,
}
_B_WITHIN_PERCENT = 3
"""Makers give B to 1 to 3 per cent (from memory: data sheets)."""


def _b(case: Case) -> None:
    """B is the slope of the curve: another reads another temperature at every point but 25 °C."""
    wanted, found = case.need.get("b_k"), case.have.get("b_k")
    if wanted is None:
        if case.need.get("use") == "sense" and not case.same_type:
            case.add_reason(
                "b_k", "ask", "the place measures by the curve: read B off the data sheet", DATA_SHEET
            )
    elif found is None:
        if not case.same_type:
            case.unknown("b_k")
    elif abs(found - wanted) * 100 > wanted * _B_WITHIN_PERCENT:
        measures = case.need.get("use") not in ("inrush", "degauss")
        case.add_reason(
            "b_k", "no" if measures else "ask", "another slope: right at 25 °C only", required=wanted
        )
    elif found != wanted:
        case.add_reason("b_k", "with_note", "a slope within 3 %: check it at two temperatures")


RULES: tuple[Rule, ...] = (
    value_fits,
    tolerance_fits,
    exact("curve", "one falls with heat, the other rises"),
    _b,
    exact("switch_c", "switches at another temperature"),
    not_less("amps"),
    not_less("volts"),
    not_less("watts"),
    not_less("temp_max_c", weight=50),
    shape_of_two_legs,
)

THERMISTOR = Kind(
    name="thermistor",
    noun="thermistor",
    traits=TRAITS,
    rules=RULES,
    words=("ntc", "ptc"),
    meter_percent=Decimal(2),
    notation=replace(NOTATION, expected="its resistance at 25 °C such as 10k or 4R7", least=1),
    window=lambda need: spread(need) or NEAR,
)
