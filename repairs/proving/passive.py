"""Trials of parts with two legs on an ohmmeter, a capacitance meter or a frequency counter.

In circuit, what lies beside a part can only lower a resistance and only add to a capacitance.  So a high or
open reading is believed there, and a low or shorted one is no fault: it is a reason to lift a leg.
"""

from decimal import Decimal

from inventory.spec import Spec
from repairs.proving import windows
from repairs.proving.meter import Measurement, UnreadableReading, read_meter, spoken
from repairs.proving.verdict import (
    COMMON,
    FAULTY,
    GOOD,
    IN_CIRCUIT_GOOD,
    INCONCLUSIVE,
    SUSPECT,
    Judgement,
    TrialReason,
    together,
)
from repairs.proving.windows import Window

IN_CIRCUIT_SOURCE = (
    "paths beside a part only lower its reading (arithmetic): a high one is credible, a low one is not"
)
LIFT_A_LEG = TrialReason(
    "lift_a_leg",
    "in circuit other paths can only lower the reading: lift a leg and read again",
    IN_CIRCUIT_SOURCE,
)
SHORTED_OHMS = Decimal(10)  # below it a capacitor out of circuit is a short


def read(text: str, quantity: str) -> tuple[Measurement, ...]:
    return read_meter(text, bare=quantity)


def only(readings: tuple[Measurement, ...], quantity: str) -> Measurement:
    """The one figure of that quantity."""
    found = [reading for reading in readings if reading.quantity == quantity]
    if len(found) != 1:
        raise UnreadableReading(f"write {_WANTED[quantity]}, such as {_SUCH_AS[quantity]}, and only one")
    return found[0]


_WANTED = {
    "ohms": "a resistance", "farads": "a capacitance", "henries": "an inductance", "hertz": "a frequency",
    "volts": "volts", "gain": "a gain",
}  # fmt: skip
_SUCH_AS = {
    "ohms": "4.7 k", "farads": "98 nF", "henries": "100 uH", "hertz": "4 MHz",
    "volts": "4.98 V", "gain": "120",
}  # fmt: skip


def _inside(window: Window, reading: Measurement) -> TrialReason:
    assumed = f" (taken as {window.assumed}: none is marked)" if window.assumed else ""
    return TrialReason("inside", f"{reading.text} is inside {window.text}{assumed}", window.source)


def _outside(window: Window, reading: Measurement) -> TrialReason:
    assumed = f" (taken as {window.assumed}: none is marked)" if window.assumed else ""
    return TrialReason("outside", f"{reading.text} is outside {window.text}{assumed}", window.source)


def is_short(reading: Measurement) -> bool:
    """Whether a part that should not conduct does."""
    return reading.amount is not None and reading.amount < SHORTED_OHMS and not reading.at_least


def ohms_of_resistor(spec: Spec, text: str, *, in_circuit: bool) -> Judgement:
    reading = only(read(text, "ohms"), "ohms")
    if reading.is_open:
        return Judgement(
            FAULTY, (TrialReason("open", "open: no path beside it could hide that", IN_CIRCUIT_SOURCE),)
        )
    assert reading.amount is not None
    window = windows.resistance(spec)
    if window is None:
        return _no_value(spec, reading, in_circuit)
    low = window.low or Decimal(0)
    if in_circuit and reading.amount < low:
        return Judgement(INCONCLUSIVE, (_outside(window, reading), LIFT_A_LEG))
    if window.holds(reading.amount) and not reading.at_least:
        reasons = [_inside(window, reading)]
        if in_circuit:
            reasons.append(TrialReason("agrees", IN_CIRCUIT_GOOD, IN_CIRCUIT_SOURCE))
        return Judgement(GOOD, tuple(reasons), None if in_circuit else windows.units_of(spec, reading))
    nominal = windows.amount_of(spec)
    off = (reading.amount / nominal - 1) * 100 if nominal else None
    reasons = [_outside(window, reading)]
    if in_circuit:
        reasons.append(
            TrialReason(
                "high", "high in circuit: paths beside it can only lower a reading", IN_CIRCUIT_SOURCE
            )
        )
    if off is None or abs(off) > windows.DRIFTED or reading.at_least:
        reasons.append(TrialReason("far_off", f"more than {windows.DRIFTED} % off", windows.DRIFT_SOURCE))
        return Judgement(FAULTY, tuple(reasons))
    reasons.append(
        TrialReason(
            "drifted",
            f"{off:+.1f} % of its marking: it goes by its reading where that serves",
            windows.DRIFT_SOURCE,
        )
    )
    return Judgement(SUSPECT, tuple(reasons), None if in_circuit else windows.units_of(spec, reading))


def _no_value(spec: Spec, reading: Measurement, in_circuit: bool) -> Judgement:
    if in_circuit:
        return Judgement(
            INCONCLUSIVE, (TrialReason("no_value", "no value is known to compare with"), LIFT_A_LEG)
        )
    reason = TrialReason(
        "no_value", f"no value is known to compare with: it goes by its reading, {reading.text}"
    )
    return Judgement(INCONCLUSIVE, (reason,), windows.units_of(spec, reading))


def ohms_of_capacitor(spec: Spec, text: str, *, in_circuit: bool) -> Judgement:
    """A short, or none; an ohmmeter says nothing of the capacitance."""
    reading = only(read(text, "ohms"), "ohms")
    if is_short(reading):
        short = TrialReason("shorted", f"{reading.text}: under {SHORTED_OHMS} Ω", COMMON)
        return Judgement(INCONCLUSIVE, (short, LIFT_A_LEG)) if in_circuit else Judgement(FAULTY, (short,))
    return Judgement(
        INCONCLUSIVE,
        (TrialReason("no_short", f"{reading.text}: no short; its capacitance is not measured", COMMON),),
    )


def ohms_of_supply(spec: Spec, text: str, *, in_circuit: bool) -> Judgement:
    """A chip's supply leg to its ground leg: shorted, or fit to be tried; whether it works is not shown."""
    reading = only(read(text, "ohms"), "ohms")
    if is_short(reading):
        short = TrialReason("shorted", f"{reading.text}: under {SHORTED_OHMS} Ω", COMMON)
        return Judgement(INCONCLUSIVE, (short, LIFT_A_LEG)) if in_circuit else Judgement(FAULTY, (short,))
    detail = f"{reading.text}: no short, so it may be tried; this does not show that it works"
    return Judgement(INCONCLUSIVE, (TrialReason("no_short", detail, COMMON),))


def capacitance(spec: Spec, text: str, *, in_circuit: bool) -> Judgement:
    judged = _farads(spec, only(read(text, "farads"), "farads"), in_circuit)
    if spec.dielectric.startswith("aluminium") and judged.verdict == GOOD:
        reason = TrialReason(
            "esr_not_taken", "its ESR was not taken: a dry part may still read its capacitance", COMMON
        )
        return Judgement(GOOD, (*judged.reasons, reason), judged.measured)
    return judged


def _farads(spec: Spec, reading: Measurement, in_circuit: bool) -> Judgement:
    window = windows.capacitance(spec)
    if in_circuit:
        reason = TrialReason(
            "lift_a_leg", "in circuit what lies beside it adds to or upsets the reading: lift a leg", COMMON
        )
        return Judgement(INCONCLUSIVE, (reason,))
    if reading.amount is None:
        reason = TrialReason("over_range", "over range: short on most meters; take the ohms", COMMON)
        return Judgement(INCONCLUSIVE, (reason,))
    if window is None:
        return _no_value(spec, reading, in_circuit)
    measured = windows.units_of(spec, reading)
    if window.holds(reading.amount):
        return Judgement(GOOD, (_inside(window, reading),), measured)
    nominal = windows.amount_of(spec)
    if nominal is not None and reading.amount < nominal / 2:
        lost = TrialReason("lost", "less than half of its value is left", COMMON)
        return Judgement(FAULTY, (_outside(window, reading), lost))
    reasons = [_outside(window, reading)]
    if spec.dielectric.startswith("aluminium") and window.high is not None and reading.amount > window.high:
        reasons.append(TrialReason("leaky", "reading high may be leakage: reform it and read again", COMMON))
    return Judgement(SUSPECT, tuple(reasons), measured)


def esr(spec: Spec, text: str, *, in_circuit: bool) -> Judgement:
    return _esr(spec, only(read(text, "ohms"), "ohms"), in_circuit)


def _esr(spec: Spec, reading: Measurement, in_circuit: bool) -> Judgement:
    """A screen, never more: a high ESR is suspicious, no ESR is a fault by itself but an open one."""
    if reading.amount is None:
        return Judgement(
            FAULTY, (TrialReason("open", "open: no path beside it could hide that", IN_CIRCUIT_SOURCE),)
        )
    window = windows.series_resistance(spec)
    if window is None or window.high is None:
        return Judgement(
            INCONCLUSIVE,
            (TrialReason("no_screen", "its volts or sort are not known: no ESR to compare with"),),
        )
    if reading.amount > window.high:
        return Judgement(SUSPECT, (_outside(window, reading),))
    if in_circuit:
        reason = TrialReason(
            "lift_a_leg",
            "in circuit capacitors beside it read low together: lift a leg to be sure",
            IN_CIRCUIT_SOURCE,
        )
        return Judgement(INCONCLUSIVE, (reason,))
    return Judgement(GOOD, (_inside(window, reading),))


def capacitance_and_esr(spec: Spec, text: str, *, in_circuit: bool) -> Judgement:
    readings = read(text, "farads")
    return together(
        [
            _farads(spec, only(readings, "farads"), in_circuit),
            _esr(spec, only(readings, "ohms"), in_circuit),
        ]
    )


def inductance(spec: Spec, text: str, *, in_circuit: bool) -> Judgement:
    reading = only(read(text, "henries"), "henries")
    window = windows.inductance(spec)
    if in_circuit:
        return Judgement(
            INCONCLUSIVE,
            (
                TrialReason(
                    "lift_a_leg", "in circuit what lies beside it upsets the reading: lift a leg", COMMON
                ),
            ),
        )
    if reading.amount is None:
        return Judgement(FAULTY, (TrialReason("open", "open winding", COMMON),))
    if window is None:
        return _no_value(spec, reading, in_circuit)
    if window.holds(reading.amount):
        return Judgement(GOOD, (_inside(window, reading),), windows.units_of(spec, reading))
    reasons = [_outside(window, reading)]
    if window.low is not None and reading.amount < window.low / 2:
        reasons.append(TrialReason("shorted_turns", "far too low: shorted turns or a broken core", COMMON))
        return Judgement(FAULTY, tuple(reasons))
    return Judgement(SUSPECT, tuple(reasons), windows.units_of(spec, reading))


def continuity(spec: Spec, text: str, *, in_circuit: bool) -> Judgement:
    """Windings, fuses, lamps: open is a fault; a path is not yet a proof of a winding."""
    reading = only(read(text, "ohms"), "ohms")
    if reading.is_open:
        return Judgement(
            FAULTY, (TrialReason("open", "open: no path beside it could hide that", IN_CIRCUIT_SOURCE),)
        )
    if in_circuit:
        return Judgement(INCONCLUSIVE, (LIFT_A_LEG,))
    stated: Decimal | None = spec.facts.get("dcr_ohm")
    if spec.kind in ("inductor", "transformer"):
        if stated is not None and reading.amount is not None and reading.amount > 2 * stated:
            detail = f"{reading.text}: more than twice the {spoken(stated, 'ohms')} of its winding"
            return Judgement(SUSPECT, (TrialReason("outside", detail, COMMON),))
        detail = "it has a path; shorted turns do not show on an ohmmeter: take its inductance"
        return Judgement(INCONCLUSIVE, (TrialReason("has_a_path", detail, COMMON),))
    if reading.amount is not None and reading.amount > 100:
        return Judgement(SUSPECT, (TrialReason("outside", f"{reading.text}: a poor path", COMMON),))
    return Judgement(GOOD, (TrialReason("has_a_path", f"{reading.text}: it has a path", COMMON),))


def frequency(spec: Spec, text: str, *, in_circuit: bool) -> Judgement:
    reading = only(read(text, "hertz"), "hertz")
    window = windows.frequency(spec)
    if window is None or reading.amount is None:
        return Judgement(INCONCLUSIVE, (TrialReason("no_value", "no frequency to compare"),))
    measured = None if in_circuit else windows.units_of(spec, reading)
    if window.holds(reading.amount):
        return Judgement(GOOD, (_inside(window, reading),), measured)
    return Judgement(SUSPECT, (_outside(window, reading),), measured)
