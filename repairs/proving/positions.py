"""What is in each position: filled or left empty as the design asks, whether it fits, its condition."""

import re
from collections.abc import Iterable

from inventory.spec import Spec, SubstitutionRecord, fits, is_safety_part
from repairs.proving import links
from repairs.proving.board import BoardFacts, BoardPosition
from repairs.proving.fitted import FittedPiece
from repairs.proving.items import Item
from repairs.proving.rails import OPEN, PASS, STOP
from repairs.proving.verdict import IN_CIRCUIT_GOOD


def check_positions(facts: BoardFacts) -> Iterable[Item]:
    """Of each position whether it is filled, then whether its piece fits, then the condition of that."""
    for position in facts.positions:
        state, reason = _filled(facts, position)
        yield Item("position", position.ref, state, reason, (position.ref,), basis=reason)
    for extra in facts.undrawn:
        basis = f"undrawn: {extra.required.text}"
        reason = "something is fitted where the design has no position"
        yield Item("position", extra.ref, OPEN, reason, (extra.ref,), basis=basis)
    for position in facts.positions:
        if position.piece is not None:
            yield _fit(position, position.piece, facts.recorded_of(position, position.piece))
    in_circuit = {
        trial.ref: trial.text
        for trial in facts.trials
        if trial.passed and trial.ref and not facts.moved_since(trial.stamp, [trial.ref])
    }
    for position in (*facts.positions, *facts.undrawn):
        if position.piece is not None:
            yield _condition(position, position.piece, in_circuit.get(position.ref, ""))


def _filled(facts: BoardFacts, position: BoardPosition) -> tuple[str, str]:
    holds, why = empty_by_rule(facts, position)
    if holds == links.YES:
        if position.piece is None:
            return PASS, f"left empty: {why}"
        return STOP, f"filled, and to be left empty: {why}"
    if holds in (links.UNKNOWN, links.MIXED):
        return OPEN, f"whether it should be empty is unknown: {why}"
    if position.piece is not None:
        return PASS, "filled"
    if position.lent:
        return OPEN, f"its own piece is {position.lent}: incomplete"
    return OPEN, "empty: fill it, or say that it is left out on purpose"


def empty_by_rule(facts: BoardFacts, position: BoardPosition) -> tuple[str, str]:
    """Whether what is fitted elsewhere leaves a position empty (yes, no, unknown, mixed), and why."""
    if position.empty_when is None or facts.design is None:
        return links.NO, ""
    return links.is_met(facts.design, position.empty_when, facts.fitted)


_FIT = {"same": PASS, "drop_in": PASS, "with_note": PASS, "ask": OPEN, "no": STOP}


def _fit(position: BoardPosition, piece: FittedPiece, recorded: SubstitutionRecord | None) -> Item:
    fit = fits(
        position.required, piece.spec, measured=position.measured,
        measured_tolerance=position.measured_tolerance, recorded=recorded,
        same_position=position.at_home,
    )  # fmt: skip
    worst = [reason for reason in fit.reasons if reason.grade == fit.grade]
    differing = "; ".join(
        f"{reason.property}: {reason.required} wanted, {reason.offered} fitted, {reason.rule}"
        for reason in worst
    )
    reason = "as drawn" if fit.grade == "same" else differing
    if fit.grade in ("with_note", "drop_in"):
        reason = f"serves: {differing}"
    doubts = (each for each in fit.reasons if each.grade in ("ask", "no"))
    basis = "; ".join(
        f"{each.grade} {each.property}: {each.required} wanted, {each.offered} fitted" for each in doubts
    )
    return Item(
        "fit", position.ref, _FIT[fit.grade], reason, (position.ref,),
        final=is_safety_part(position.required), basis=basis,
    )  # fmt: skip


def _condition(position: BoardPosition, piece: FittedPiece, in_circuit: str) -> Item:
    safety = is_safety_part(position.required)
    state, reason = {
        "good": (PASS, "tested good"),
        "faulty": (STOP, "found faulty: take it out"),
        "suspect": (OPEN, "suspect: test it"),
        "untested": (OPEN, "not tested"),
    }[piece.condition]
    if in_circuit and state == OPEN:
        reason = f"{reason} out of circuit; it passed {in_circuit}: {IN_CIRCUIT_GOOD}"
    if safety and state == OPEN:
        reason = f"{reason}; people rely on it, so that it is tested, not accepted"
    return Item(
        "condition", position.ref, state, reason, (position.ref,), final=safety, basis=piece.condition
    )


def heatsinks(facts: BoardFacts) -> list[str]:
    """Filled positions whose part is bolted to something cold."""
    return [
        position.ref
        for position in facts.positions
        if position.piece is not None and needs_heatsink(position.required, position.piece.spec)
    ]


_TABBED = re.compile(
    r"(?:TO-?(?:3P?F?|66|126|202|218|220|225|247|264)|SOT-?(?:32|82|93)|TOP-?3|MULTIWATT|PENTAWATT|ISOWATT)"
    r"(?![0-9])"
)
"""Families of bodies with a tab or flange: TO-220 and its own, such as TO-220AB."""
_HOT_KINDS = ("regulator", "transistor", "diode", "ic")


def needs_heatsink(*specs: Spec) -> bool:
    """Whether a part, by its position or by itself, is made to be bolted to something cold (common practice,
    no source).
    """
    return any(
        spec.kind in _HOT_KINDS and _TABBED.match(spec.package.upper().replace(" ", "")) is not None
        for spec in specs
    )
