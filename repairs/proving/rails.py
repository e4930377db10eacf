"""Supply rails in the order of proving: ohms to ground, volts with the chips out, ohms once more with the
chips in, volts at their pins.

A reading counts while what it was taken on is as it was: any later movement at a position that no rail
protects puts it out of date; fitting a protected chip is the next step and does not.  Chips that are soldered
in cannot be out: their board is powered for the first time through a current limit, and its rails are
measured with everything in.
"""

import re
from collections.abc import Collection, Mapping, Sequence
from dataclasses import dataclass, field, replace
from decimal import Decimal

from inventory.design_facts import Rail
from inventory.spec import Spec
from repairs.proving.meter import Measurement, UnreadableReading, read_meter, spoken
from repairs.proving.verdict import COMMON

OHMS, CHIPS_OUT, AT_PINS = "ohms", "chips_out", "at_pins"
STAGES = (OHMS, CHIPS_OUT, AT_PINS)
"""What is measured."""
CHIPS_IN = "chips_in"
"""The step of the ohms once more; its readings are of the stage `ohms`."""
STEPS = (OHMS, CHIPS_OUT, CHIPS_IN, AT_PINS)
PASS, OPEN, STOP = "pass", "open", "stop"

MIN_OHMS = Decimal(10)
MIN_OHMS_SOURCE = f"under {MIN_OHMS} Ω a rail is taken for shorted; {COMMON}"
MAX_VALUE = Decimal(10**11)
"""Ohms or volts; nothing larger is kept."""


def reading_at(stage: str, text: str) -> Measurement:
    """What the meter showed at a stage: ohms to ground, or volts.

    UnreadableReading: more than one figure, another quantity, no figure where volts are wanted, a bound that
    is not one of the range, less than no ohms.
    """
    quantity = "ohms" if stage == OHMS else "volts"
    found = read_meter(text, bare=quantity)
    if len(found) != 1 or found[0].quantity != quantity:
        raise UnreadableReading(f"expected one reading in {quantity}")
    [read] = found
    if read.amount is None and stage != OHMS:
        raise UnreadableReading("expected volts; over the range: turn the meter's range up and measure again")
    if re.search("[<≤]", text) or (read.at_least and stage != OHMS):
        raise UnreadableReading("expected the figure itself, not what it is above or below")
    if read.amount is not None and abs(read.amount) >= MAX_VALUE:
        raise UnreadableReading("larger than what is kept")
    if read.amount is not None and read.amount < 0 and stage == OHMS:
        raise UnreadableReading(
            "ohms are never negative: there is charge on the rail. Unplug, discharge it through a resistor, "
            "measure volts to be sure, then ohms again"
        )
    return read


@dataclass(frozen=True)
class BoardRailReading:
    """One reading, in Ω (None: open) or V, with the board as it was.

    `stamp` is the latest movement on the board then, `at` where the design had it measured, `protects` the
    positions that the design kept empty for some rail, and `filled` those of them that held a chip: of this
    rail, or soldered in.
    """

    rail: str
    stage: str
    amount: Decimal | None
    stamp: int
    ref: str = ""
    at: str = ""
    protects: tuple[str, ...] = ()
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
    """What the rail checks know of the board: which positions hold a piece, which of those cannot be pulled,
    and the latest movement at each reference.

    `runs` is set for a board that works with its chips in: nothing is fitted too early on it.
    """

    filled: frozenset[str]
    soldered: frozenset[str] = frozenset()
    moved: Mapping[str, int] = field(default_factory=dict)
    runs: bool = False


def with_negative_first(
    rails: Sequence[Rail], positions: Mapping[str, Collection[Spec]]
) -> tuple[tuple[Rail, ...], Mapping[str, Decimal]]:
    """Rails that also protect every chip that wants their minus volts, and chips whose minus rail is not in
    the design.

    A three-rail memory is destroyed without its negative rail: it waits for it, whether or not the design
    says so, and whether the position asks for it or the piece in it does.
    """
    needed = {ref: min(volts) for ref, specs in positions.items() if (volts := _minus(specs))}

    def serves(rail: Rail, ref: str) -> bool:
        return rail.low <= needed[ref] <= rail.high

    protecting = tuple(
        replace(
            rail,
            protects=tuple(dict.fromkeys([*rail.protects, *(ref for ref in needed if serves(rail, ref))])),
        )
        for rail in rails
    )
    undrawn = {ref: volts for ref, volts in needed.items() if not any(serves(rail, ref) for rail in rails)}
    return protecting, undrawn


def may_want_minus(specs: Collection[Spec]) -> bool:
    """Whether a memory, of which nobody said the supply volts, is of a sort made with three rails, too."""
    known = [spec.known for spec in specs if spec.kind == "ic"]
    if any(facts.get("rails") for facts in known):
        return False
    for facts in known:
        most = _THREE_RAIL_SORTS.get(facts.get("function", ""))
        organisation = facts.get("organisation")
        if most and (organisation is None or (organisation[0] <= most[0] and organisation[-1] == most[1])):
            return True
    return False


_THREE_RAIL_SORTS = {"dram": (16384, 1), "eprom": (2048, 8)}
"""Function -> most words, and bits, made with three rails: 4116, TMS2716 (from memory: data books)."""


def _minus(specs: Collection[Spec]) -> tuple[Decimal, ...]:
    """The minus rails of a chip that has three or more; those with two, such as amplifiers, do not mind."""
    supplies = [spec.known.get("rails") or () for spec in specs if spec.kind == "ic"]
    return tuple(volts for rails in supplies if len(rails) >= 3 for volts in rails if volts < 0)


def judge_ohms(rail: Rail, amount: Decimal | None) -> tuple[str, str]:
    """State and reason of a resistance from the rail to ground.  Low is no verdict on any part."""
    least = rail.ohms_low if rail.ohms_low is not None else MIN_OHMS
    source = "the design" if rail.ohms_low is not None else MIN_OHMS_SOURCE
    if amount is not None and amount < least:
        short = f"{spoken(amount, 'ohms')} to ground looks shorted: no power"
        return STOP, f"{short}; lift legs one by one, it condemns no part ({source})"
    if rail.ohms_high is not None and (amount is None or amount > rail.ohms_high):
        seen = "open" if amount is None else spoken(amount, "ohms")
        most = spoken(rail.ohms_high, "ohms")
        return STOP, f"{seen} to ground, at most {most} by the design: what draws from it is not connected"
    return PASS, "open to ground" if amount is None else f"{spoken(amount, 'ohms')} to ground"


def judge_volts(rail: Rail, amount: Decimal | None) -> tuple[str, str]:
    """State and reason of a voltage on the rail."""
    if amount is None:
        return STOP, "no volts were read"
    if rail.low <= amount <= rail.high:
        return PASS, f"{amount.normalize():f} V is inside {rail.low} to {rail.high} V"
    return STOP, f"{amount.normalize():f} V, expected {rail.low} to {rail.high} V"


def check_rails(
    rails: Sequence[Rail], readings: Sequence[BoardRailReading], bench: Bench
) -> tuple[RailFinding, ...]:
    """Every step of every rail in the order in which they are done; readings are oldest first.

    Ohms to ground of all; volts with the chips out, rail by rail; with the chips in the ohms once more, then
    volts at the pins of each.
    """
    ordered = sorted(rails, key=lambda rail: rail.order)
    protected = frozenset(ref for rail in rails for ref in rail.protects)
    ohms = [_ohms(_Taken(rail, readings, bench, protected)) for rail in ordered]
    findings = list(ohms)
    waits_for = next((f"the ohms of {finding.rail}" for finding in ohms if finding.state != PASS), "")
    for rail in ordered:
        finding = _chips_out(_Taken(rail, readings, bench, protected), waits_for)
        findings.append(finding)
        if finding.state != PASS and not waits_for:
            waits_for = f"{rail.name}, which comes first"
    chips_in = tuple(ref for ref in sorted(protected) if ref in bench.filled)
    if chips_in:
        findings += [_chips_in(_Taken(rail, readings, bench, protected), chips_in) for rail in ordered]
    findings += [_at_pins(_Taken(rail, readings, bench, protected)) for rail in ordered if rail.protects]
    return tuple(findings)


def powered_with(
    rails: Sequence[Rail], readings: Sequence[BoardRailReading], bench: Bench
) -> tuple[str, ...]:
    """Soldered chips that had to be in when their rail was powered for the first time, or will have to be."""
    protected = frozenset(ref for rail in rails for ref in rail.protects)
    refs: dict[str, None] = {}
    for rail in rails:
        proven = _Taken(rail, readings, bench, protected).chips_out()
        soldered = [ref for ref in rail.protects if ref in bench.soldered]
        refs.update(dict.fromkeys(ref for ref in soldered if proven is None or ref in proven.filled))
    return tuple(refs)


@dataclass(frozen=True)
class _Taken:
    """The readings of one rail that still hold."""

    rail: Rail
    readings: Sequence[BoardRailReading]
    bench: Bench
    protected: frozenset[str]

    def latest(self, stage: str, ref: str = "") -> BoardRailReading | None:
        return next((each for each in reversed(self.readings) if self._is_of(each, stage, ref)), None)

    def holding(self, stage: str, ref: str = "") -> list[BoardRailReading]:
        """Oldest first: those since which nothing was moved that the reading was of."""
        return [each for each in self.readings if self._is_of(each, stage, ref) and self.holds(each)]

    def _is_of(self, reading: BoardRailReading, stage: str, ref: str) -> bool:
        return (reading.rail, reading.stage, reading.ref) == (self.rail.name, stage, ref)

    def holds(self, reading: BoardRailReading) -> bool:
        """A protected chip may come and go, if the design protected it then and does now: fitting it is the
        next step.  One that was in when the reading was taken is part of what was measured.
        """
        part_of_it = {reading.ref} if reading.stage == AT_PINS else set(reading.filled)
        spared = (set(reading.protects) & self.protected) - part_of_it
        return reading.at == self.rail.at and not any(
            moved > reading.stamp for ref, moved in self.bench.moved.items() if ref not in spared
        )

    def chips_out(self) -> BoardRailReading | None:
        """The latest volts that hold and were read after the ohms, with every socket empty that this rail
        protects.
        """
        removable = set(self.rail.protects) - self.bench.soldered
        proper, ohms_taken = None, False
        for each in self.readings:
            if not self.holds(each):
                continue
            if self._is_of(each, OHMS, ""):
                ohms_taken = True
            elif ohms_taken and self._is_of(each, CHIPS_OUT, ""):
                proper = each if self.bench.runs or not removable & set(each.filled) else proper
        return proper


def _ohms(taken: _Taken) -> RailFinding:
    rail, holding = taken.rail, taken.holding(OHMS)
    if holding:
        return RailFinding(OHMS, rail.name, *judge_ohms(rail, holding[-1].amount))
    if taken.latest(OHMS) is not None:
        return RailFinding(
            OHMS, rail.name, OPEN, "a part or the design was changed since: take the ohms to ground again"
        )
    return RailFinding(OHMS, rail.name, OPEN, "not taken: ohms from the rail to ground come before any power")


def _chips_out(taken: _Taken, waits_for: str) -> RailFinding:
    rail, bench = taken.rail, taken.bench
    too_early = tuple(ref for ref in rail.protects if ref in bench.filled - bench.soldered)
    holding, latest, proper = taken.holding(CHIPS_OUT), taken.latest(CHIPS_OUT), taken.chips_out()
    state, reason = OPEN, f"not measured with the chips out{f' at {rail.at}' if rail.at else ''}"
    if holding and judge_volts(rail, holding[-1].amount)[0] != PASS:
        state, reason = judge_volts(rail, holding[-1].amount)
    elif proper is not None:
        state, reason = judge_volts(rail, proper.amount)
    elif holding and holding[-1].filled:
        there = ", ".join(holding[-1].filled)
        reason = f"it was measured with {there} in: take the chips out and measure again"
    elif holding:
        reason = "it was measured before the ohms to ground were: take those, then measure again"
    elif latest is not None:
        reason = "a part or the design was changed since: measure it again, chips out"
    if state == PASS and waits_for:
        state, reason = OPEN, f"waits for {waits_for}"
    if state == PASS:
        return RailFinding(CHIPS_OUT, rail.name, PASS, reason)
    was_good = (
        latest is not None
        and not holding
        and judge_volts(rail, latest.amount)[0] == PASS
        and set(latest.filled) <= bench.soldered
    )
    if too_early and not bench.runs and not was_good:
        early = f"{reason}; must not be fitted before it is good: {', '.join(too_early)}, take them out"
        return RailFinding(CHIPS_OUT, rail.name, STOP, early, too_early)
    if bench.soldered & set(rail.protects):
        reason = f"{reason}; soldered chips stay in: current-limited, then volts with everything in"
    elif rail.protects:
        reason = f"{reason}; stays empty until it is good: {', '.join(rail.protects)}"
    return RailFinding(CHIPS_OUT, rail.name, state, reason, rail.protects)


def _chips_in(taken: _Taken, chips: tuple[str, ...]) -> RailFinding:
    """The ohms once more, since the last of the protected chips went in."""
    rail = taken.rail
    arrived = max(taken.bench.moved.get(ref, 0) for ref in chips)
    since = [each for each in taken.holding(OHMS) if each.stamp >= arrived]
    if since:
        return RailFinding(CHIPS_IN, rail.name, *judge_ohms(rail, since[-1].amount), chips)
    again = f"chips went in ({', '.join(chips)}): unplug it and take the ohms to ground once more"
    return RailFinding(CHIPS_IN, rail.name, OPEN, again, chips)


def _at_pins(taken: _Taken) -> RailFinding:
    """At the pins of every protected chip that is in, measured since it went in.

    A soldered chip that was in when the rail was measured is covered by that reading.
    """
    rail, missing, wrong = taken.rail, [], []
    proven = taken.chips_out()
    there = tuple(ref for ref in rail.protects if ref in taken.bench.filled)
    for ref in there:
        if proven is not None and ref in taken.bench.soldered and ref in proven.filled:
            continue
        holding = taken.holding(AT_PINS, ref)
        if not holding:
            missing.append(ref)
            continue
        state, reason = judge_volts(rail, holding[-1].amount)
        if state != PASS:
            wrong.append((ref, reason))
    if wrong:
        reasons = "; ".join(f"{ref}: {reason}" for ref, reason in wrong)
        return RailFinding(AT_PINS, rail.name, STOP, reasons, tuple(ref for ref, _reason in wrong))
    if missing:
        reason = "not measured at the pins since the chip went in: chip by chip, power off each time"
        return RailFinding(AT_PINS, rail.name, OPEN, reason, tuple(missing))
    reason = "good at the pins of every chip that is in" if there else "no chip that it protects is in yet"
    return RailFinding(AT_PINS, rail.name, PASS, reason, there)
