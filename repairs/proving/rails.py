"""Supply rails in the order of proving: ohms to ground, volts with the chips out, volts at the pins, chip by
chip.

A reading counts while what it was taken on is as it was: any later movement at a position that no rail
protects puts it out of date; fitting a protected chip is the next step and does not.
"""

import re
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from decimal import Decimal

from inventory.spec import Spec
from repairs.proving.drawing import Rail
from repairs.proving.meter import Measurement, UnreadableReading, read_meter, spoken
from repairs.proving.verdict import COMMON

OHMS, CHIPS_OUT, AT_PINS = "ohms", "chips_out", "at_pins"
STAGES = (OHMS, CHIPS_OUT, AT_PINS)
PASS, OPEN, STOP = "pass", "open", "stop"

LEAST_OHMS = Decimal(10)
LEAST_OHMS_SOURCE = f"under {LEAST_OHMS} Ω a rail is taken for shorted; {COMMON}"
MOST = Decimal(10**11)
"""Ohms or volts; nothing larger is kept."""


def reading_at(stage: str, text: str) -> Measurement:
    """What the meter showed at a stage: ohms to ground, or volts.

    UnreadableReading: more than one figure, another quantity, no figure where volts are wanted, a bound that
    is not one of the range, less than no ohms.
    """
    quantity = "ohms" if stage == OHMS else "volts"
    found = read_meter(text, bare=quantity)
    if len(found) != 1 or found[0].quantity != quantity:
        raise UnreadableReading(f"want one reading in {quantity}")
    [read] = found
    if read.amount is None and stage != OHMS:
        raise UnreadableReading("want volts; over the range: turn the meter's range up and measure again")
    if re.search("[<≤]", text) or (read.at_least and stage != OHMS):
        raise UnreadableReading("want the figure itself, not what it is above or below")
    if read.amount is not None and abs(read.amount) >= MOST:
        raise UnreadableReading("larger than what is kept")
    if read.amount is not None and read.amount < 0 and stage == OHMS:
        raise UnreadableReading(
            "ohms are never negative: there is charge on the rail. Unplug, discharge it through a resistor, "
            "measure volts to be sure, then ohms again"
        )
    return read


@dataclass(frozen=True)
class RailReading:
    """One reading, in Ω (None: open) or V.

    `stamp` counts the movements at unprotected positions of the board when it was taken; `departures` those
    out of `ref`; `filled` are the protected positions that held a chip then.
    """

    rail: str
    stage: str
    amount: Decimal | None
    stamp: int
    ref: str = ""
    departures: int = 0
    filled: tuple[str, ...] = ()


@dataclass(frozen=True)
class RailFinding:
    """One step of one rail."""

    stage: str
    rail: str
    state: str
    reason: str
    refs: tuple[str, ...] = ()


@dataclass(frozen=True)
class Bench:
    """What the rail checks know of the board: which positions hold a piece, how often each was emptied, and
    the stamp.

    `runs` is set for a board that works with its chips in: nothing is fitted too early on it.
    """

    filled: frozenset[str]
    departures: Mapping[str, int]
    stamp: int
    runs: bool = False


def with_negative_first(
    rails: Sequence[Rail], positions: Mapping[str, Spec]
) -> tuple[tuple[Rail, ...], Mapping[str, Decimal]]:
    """Rails that also protect every chip that wants their minus volts, and chips whose minus rail is not
    drawn.

    A three-rail memory is destroyed without its negative rail: it waits for it, whether or not the drawing
    says so.
    """
    wanted = {ref: min(volts) for ref, spec in positions.items() if (volts := _minus(spec))}

    def serves(rail: Rail, ref: str) -> bool:
        return rail.low <= wanted[ref] <= rail.high

    found = tuple(
        replace(
            rail,
            protects=tuple(dict.fromkeys([*rail.protects, *(ref for ref in wanted if serves(rail, ref))])),
        )
        for rail in rails
    )
    undrawn = {ref: volts for ref, volts in wanted.items() if not any(serves(rail, ref) for rail in rails)}
    return found, undrawn


def _minus(spec: Spec) -> tuple[Decimal, ...]:
    """The minus rails of a chip that has three or more; those with two, such as amplifiers, do not mind."""
    wanted = (spec.known.get("rails") or ()) if spec.kind == "ic" else ()
    return tuple(volts for volts in wanted if volts < 0) if len(wanted) >= 3 else ()


def judge_ohms(rail: Rail, amount: Decimal | None) -> tuple[str, str]:
    """State and reason of a resistance from the rail to ground.  Low is no verdict on any part."""
    if amount is None:
        return PASS, "open to ground"
    if amount < LEAST_OHMS:
        told = f"{spoken(amount, 'ohms')} to ground looks shorted: no power"
        return STOP, f"{told}; lift legs one by one, it condemns no part ({LEAST_OHMS_SOURCE})"
    return PASS, f"{spoken(amount, 'ohms')} to ground"


def judge_volts(rail: Rail, amount: Decimal | None) -> tuple[str, str]:
    """State and reason of a voltage on the rail."""
    if amount is None:
        return STOP, "no volts were read"
    if rail.low <= amount <= rail.high:
        return PASS, f"{amount.normalize():f} V is inside {rail.low} to {rail.high} V"
    return STOP, f"{amount.normalize():f} V, wants {rail.low} to {rail.high} V"


def check_rails(
    rails: Sequence[Rail], readings: Sequence[RailReading], bench: Bench
) -> tuple[RailFinding, ...]:
    """Every step of every rail in the order in which they are done; readings are oldest first."""
    ordered = sorted(rails, key=lambda rail: rail.order)
    ohms = [_ohms(rail, readings, bench) for rail in ordered]
    found = list(ohms)
    waits_for = next((f"the ohms of {finding.rail}" for finding in ohms if finding.state != PASS), "")
    for rail in ordered:
        finding = _chips_out(rail, readings, bench, waits_for)
        found.append(finding)
        if finding.state != PASS and not waits_for:
            waits_for = f"{rail.name}, which comes first"
    found += [_at_pins(rail, readings, bench) for rail in ordered if rail.protects]
    return tuple(found)


def _latest(readings: Sequence[RailReading], rail: Rail, stage: str, ref: str = "") -> RailReading | None:
    return next(
        (
            reading
            for reading in reversed(readings)
            if (reading.rail, reading.stage) == (rail.name, stage) and (not ref or reading.ref == ref)
        ),
        None,
    )


def _ohms(rail: Rail, readings: Sequence[RailReading], bench: Bench) -> RailFinding:
    reading = _latest(readings, rail, OHMS)
    if reading is None:
        return RailFinding(
            OHMS, rail.name, OPEN, "not taken: ohms from the rail to ground come before any power"
        )
    if reading.stamp != bench.stamp:
        return RailFinding(OHMS, rail.name, OPEN, "a part was changed since: take the ohms to ground again")
    return RailFinding(OHMS, rail.name, *judge_ohms(rail, reading.amount))


def _chips_out(rail: Rail, readings: Sequence[RailReading], bench: Bench, waits_for: str) -> RailFinding:
    too_early = tuple(ref for ref in rail.protects if ref in bench.filled)
    reading = _latest(readings, rail, CHIPS_OUT)
    state, reason = OPEN, f"not measured with the chips out{f' at {rail.at}' if rail.at else ''}"
    was_good = False
    if reading is not None and reading.stamp != bench.stamp:
        was_good = judge_volts(rail, reading.amount)[0] == PASS and not reading.filled
        reason = "a part was changed since: measure it again, chips out"
    elif reading is not None:
        state, reason = judge_volts(rail, reading.amount)
        if state == PASS and reading.filled and not bench.runs:
            state, reason = (
                OPEN,
                f"it was measured with {', '.join(reading.filled)} in: take the chips out and measure again",
            )
    if state == PASS and waits_for:
        state, reason = OPEN, f"waits for {waits_for}"
    if state == PASS:
        return RailFinding(CHIPS_OUT, rail.name, PASS, reason)
    if too_early and not bench.runs and not was_good:
        told = f"{reason}; must not be fitted before it is good: {', '.join(too_early)}, take them out"
        return RailFinding(CHIPS_OUT, rail.name, STOP, told, too_early)
    if rail.protects:
        reason = f"{reason}; stays empty until it is good: {', '.join(rail.protects)}"
    return RailFinding(CHIPS_OUT, rail.name, state, reason, rail.protects)


def _at_pins(rail: Rail, readings: Sequence[RailReading], bench: Bench) -> RailFinding:
    """At the pins of every protected chip that is in, measured since the position was last emptied."""
    missing, wrong = [], []
    for ref in rail.protects:
        if ref not in bench.filled:
            continue
        reading = _latest(readings, rail, AT_PINS, ref)
        if (
            reading is None
            or reading.stamp != bench.stamp
            or reading.departures != bench.departures.get(ref, 0)
        ):
            missing.append(ref)
            continue
        state, reason = judge_volts(rail, reading.amount)
        if state != PASS:
            wrong.append((ref, reason))
    if wrong:
        told = "; ".join(f"{ref}: {reason}" for ref, reason in wrong)
        return RailFinding(AT_PINS, rail.name, STOP, told, tuple(ref for ref, _reason in wrong))
    if missing:
        told = "not measured at the pins: chip by chip, power off each time"
        return RailFinding(AT_PINS, rail.name, OPEN, told, tuple(missing))
    there = tuple(ref for ref in rail.protects if ref in bench.filled)
    told = "good at the pins of every chip that is in" if there else "no chip that it protects is in yet"
    return RailFinding(AT_PINS, rail.name, PASS, told, there)
