"""Is it safe to switch on?  Every check in the order of bringing up, each pass, open or stop, and never ready
by default.

An item is open until a person has said or measured it on the board as it is now; whatever is changed
afterwards opens it again.  A stop is a known fault.  An exception accepts an open item, by name and with a
reason; a stop is only accepted where a person may know better than the drawing (`MAY_BE_ACCEPTED`).
"""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field, replace

from inventory.refs import split_ref
from inventory.spec import Spec, Substitution, fits
from repairs.proving import cautions, links, orientation, rails
from repairs.proving.board import Accepted, BoardFacts, Confirmation, Position
from repairs.proving.drawing import Drawing, Rail, read_condition
from repairs.proving.fitted import Piece
from repairs.proving.orientation import Expected
from repairs.proving.rails import OPEN, PASS, STOP

READY = "ready"
CHECKS = (
    "drawing", "hazards", "position", "fit", "condition", "bank", "inspection", "supply", "ohms",
    "orientation",
    "link", "heatsink", "rail", "pins",
)  # fmt: skip
"""In the order of bringing up."""
PERSONAL = ("inspection", "supply", "heatsink")
"""Checks of the whole board that a person simply confirms."""
MAY_BE_ACCEPTED = ("fit", "bank")
"""Checks of which even a stop may be accepted: a substitute, makes mixed on purpose.  Never a safety part."""
NEVER_ACCEPTED = ("drawing", "hazards")


@dataclass(frozen=True)
class Item:
    """One check: what it is about, its state, why, where, what to mind, and who accepted it."""

    check: str
    subject: str
    state: str
    reason: str
    refs: tuple[str, ...] = ()
    caution: str = ""
    evidence: tuple[str, ...] = ()
    accepted_by: str = ""
    why: str = ""
    final: bool = field(default=False, repr=False)


@dataclass(frozen=True)
class Readiness:
    verdict: str
    items: tuple[Item, ...]
    cautions: tuple[str, ...]


def judge(facts: BoardFacts) -> Readiness:
    """The verdict: ready only where there is something to check and every item passes."""
    items = _grouped(findings(facts))
    states = {item.state for item in items}
    verdict = STOP if STOP in states else OPEN if OPEN in states or not items else READY
    hazards = facts.drawing.hazards if facts.drawing else ()
    told = [caution.text for caution in cautions.of_hazards(hazards)]
    told += [cautions.FIRST_POWER.text, cautions.DEFER]
    return Readiness(verdict, tuple(items), tuple(told))


def findings(facts: BoardFacts) -> list[Item]:
    """Every check of every position, link and rail by itself, exceptions taken into account."""
    return _with_exceptions(facts, list(_findings(facts)))


def _findings(facts: BoardFacts) -> Iterable[Item]:
    if facts.drawing is None:
        yield Item(
            "drawing", "", OPEN, "no drawing is known of this board: nothing can be checked against it"
        )
        return
    yield from _drawing(facts, facts.drawing)
    yield from _positions(facts)
    for bank in links.check_banks(facts.drawing, facts.fitted):
        state = {links.ALIKE: PASS, links.MIXED_BANK: STOP}.get(bank.state, OPEN)
        yield Item("bank", bank.bank, state, bank.reason, bank.refs, evidence=bank.evidence)
    yield _personal(
        facts, "inspection", facts.all_touches, "look it over: splashes, notches, sockets too, polarity"
    )
    supply = "prove the supply alone, on a dummy load, and the polarity of its plug"
    yield replace(_personal(facts, "supply", 0, supply), caution=_AT_THE_SUPPLY)
    rail_findings = [*_rails(facts, facts.drawing.rails), *_undrawn_rails(facts, facts.drawing)]
    yield from (item for item in rail_findings if item.check == "ohms")
    yield from _orientation(facts)
    yield from _links(facts, facts.drawing)
    if hot := heatsinks(facts):
        told = "heatsinks on, washers and paste, and the tab not shorted to it"
        yield replace(_personal(facts, "heatsink", facts.touches(hot), told), refs=tuple(hot))
    yield from (item for item in rail_findings if item.check != "ohms")


# --- the drawing, the hazards


def _drawing(facts: BoardFacts, drawing: Drawing) -> Iterable[Item]:
    if drawing.problems:
        told = "; ".join(f"{problem.pointer}: {problem.detail}" for problem in drawing.problems[:5])
        yield Item("drawing", "", STOP, f"the drawing cannot be read: {told}", final=True)
    elif not facts.positions:
        yield Item("drawing", "", OPEN, "the drawing has no positions: nothing can be checked against it")
    else:
        yield Item("drawing", "", PASS, f"{len(facts.positions)} positions drawn")
    for ref in facts.undrawn:
        yield Item("drawing", ref, OPEN, "something is fitted where the drawing has no position", (ref,))
    for caution in cautions.of_hazards(drawing.hazards):
        if caution.blocked:
            yield Item("hazards", caution.step, STOP, caution.text, caution=cautions.DEFER, final=True)
        else:
            yield Item(
                "hazards", caution.step, PASS, f"the drawing says: {caution.step}", caution=caution.text
            )


# --- what is fitted


def _positions(facts: BoardFacts) -> Iterable[Item]:
    for position in facts.positions:
        holds, why = empty_by_rule(facts, position)
        if holds == links.YES and position.piece is None:
            yield Item("position", position.ref, PASS, f"left empty: {why}", (position.ref,))
        elif holds == links.YES:
            yield Item(
                "position", position.ref, STOP, f"filled, and to be left empty: {why}", (position.ref,)
            )
        elif holds in (links.UNKNOWN, links.MIXED):
            told = f"whether it is to be left empty cannot be told: {why}"
            yield Item("position", position.ref, OPEN, told, (position.ref,))
        elif position.piece is None:
            told = (
                f"its own piece is {position.lent}: incomplete"
                if position.lent
                else "empty: fill it, or say that it is left out on purpose"
            )
            yield Item("position", position.ref, OPEN, told, (position.ref,))
        else:
            yield Item("position", position.ref, PASS, "filled", (position.ref,))
    for position in facts.positions:
        if position.piece is not None:
            yield _fit(position, position.piece, facts.recorded_of(position, position.piece))
    for position in facts.positions:
        if position.piece is not None:
            yield _condition(position, position.piece)


def empty_by_rule(facts: BoardFacts, position: Position) -> tuple[str, str]:
    """Whether what is fitted elsewhere leaves a position empty (yes, no, unknown, mixed), and why."""
    if not position.empty_when or facts.drawing is None:
        return links.NO, ""
    return links.is_met(facts.drawing, read_condition(position.empty_when), facts.fitted)


_FIT = {"same": PASS, "drop_in": PASS, "with_note": PASS, "ask": OPEN, "no": STOP}


def _fit(position: Position, piece: Piece, recorded: Substitution | None) -> Item:
    fit = fits(position.required, piece.spec, measured=position.measured, recorded=recorded)
    worst = [reason for reason in fit.reasons if reason.grade == fit.grade]
    told = "; ".join(
        f"{reason.property}: {reason.required} wanted, {reason.offered} fitted, {reason.rule}"
        for reason in worst
    )
    safety = bool(position.required.safety_class) or position.required.kind == "fuse"
    reason = "as drawn" if fit.grade == "same" else told
    if fit.grade in ("with_note", "drop_in"):
        reason = f"serves: {told}"
    return Item(
        "fit", position.ref, _FIT[fit.grade], reason, (position.ref,), final=safety and fit.grade == "no"
    )


def _condition(position: Position, piece: Piece) -> Item:
    if piece.condition == "good":
        return Item("condition", position.ref, PASS, "tested good", (position.ref,))
    if piece.condition == "faulty":
        return Item("condition", position.ref, STOP, "found faulty: take it out", (position.ref,))
    told = {"suspect": "suspect: test it", "untested": "not tested"}[piece.condition]
    return Item("condition", position.ref, OPEN, told, (position.ref,))


def heatsinks(facts: BoardFacts) -> list[str]:
    """Filled positions whose part is bolted to something cold."""
    return [
        position.ref
        for position in facts.positions
        if position.piece is not None and needs_heatsink(position.required)
    ]


def needs_heatsink(required: Spec) -> bool:
    """Whether a position's part is made to be bolted to something cold (common practice)."""
    package = required.package.upper().replace(" ", "")
    tabbed = ("TO-220", "TO220", "TO-3", "TO3", "TO-126", "TO126", "TO-247", "TO247", "TO-218", "TO218")
    return required.kind in ("regulator", "transistor", "diode", "ic") and package in tabbed


def _personal(facts: BoardFacts, check: str, stamp: int, wanted: str) -> Item:
    said = next(
        (each for each in reversed(facts.confirmations) if each.check == check and not each.ref), None
    )
    if said is None:
        return Item(check, "", OPEN, wanted)
    if not said.right:
        return Item(
            check, "", STOP, f"{said.by or 'someone'} found it wrong{f': {said.note}' if said.note else ''}"
        )
    if said.stamp != stamp:
        return Item(
            check, "", OPEN, f"a part was changed since {said.by or 'someone'} confirmed it: {wanted}"
        )
    return Item(check, "", PASS, f"confirmed by {said.by or 'someone'}")


# --- orientation


def expectations(facts: BoardFacts) -> Mapping[str, Expected]:
    """For each filled position that has a way round, which."""
    found = {
        position.ref: orientation.expected(
            position.required,
            position.piece.spec,
            position.note,
            facts.recorded_of(position, position.piece),
        )
        for position in facts.positions
        if position.piece is not None
    }
    return {ref: told for ref, told in found.items() if told is not None}


def _orientation(facts: BoardFacts) -> Iterable[Item]:
    wanted = expectations(facts)
    said = {each.ref: each for each in facts.confirmations if each.check == "orientation"}
    for position in facts.positions:
        if position.ref in wanted and position.piece is not None:
            yield _way_round(position, position.piece, wanted[position.ref], said.get(position.ref))


def _way_round(position: Position, piece: Piece, told: Expected, said: Confirmation | None) -> Item:
    def item(state: str, reason: str) -> Item:
        return Item("orientation", position.ref, state, reason, (position.ref,))

    if said is None:
        return item(OPEN, f"{told.mark}: {told.text}")
    if said.stamp != position.touches or said.lot != piece.lot:
        return item(OPEN, f"changed since {said.by or 'someone'} confirmed it. {told.mark}: {told.text}")
    if not said.right:
        return item(STOP, f"{said.by or 'someone'} found it the wrong way round: {told.text}")
    if told.way is not None and said.way != told.way:
        return item(STOP, f"confirmed {said.way.replace('_', ' ')}, but {told.text}")
    return item(PASS, f"confirmed by {said.by or 'someone'}: {told.mark}")


# --- links


_LINK_STATE = {
    links.AGREES: PASS, links.FREE: PASS, links.CONFLICT: STOP, links.CONTRADICTION: STOP,
    links.UNDECIDED: OPEN, links.UNSAID: OPEN,
}  # fmt: skip


def link_findings(facts: BoardFacts) -> tuple[links.LinkFinding, ...]:
    """Required and present setting of each link, with the evidence."""
    if facts.drawing is None:
        return ()
    return links.check_links(
        facts.drawing, facts.fitted, {each.link: each.setting for each in facts.settings}
    )


def _links(facts: BoardFacts, drawing: Drawing) -> Iterable[Item]:
    latest = {each.link: each for each in facts.settings}
    for finding in link_findings(facts):
        state, reason = _LINK_STATE[finding.state], finding.reason
        known = latest.get(finding.link)
        if finding.state == links.AGREES and known is not None and known.stamp != facts.touches(finding.refs):
            state, reason = OPEN, f"a part was changed since the link was looked at; {reason}"
        yield Item("link", finding.link, state, reason, finding.refs, evidence=finding.evidence)


# --- rails


_RAIL_CHECK = {rails.OHMS: "ohms", rails.CHIPS_OUT: "rail", rails.AT_PINS: "pins"}


def _rails(facts: BoardFacts, drawn: Sequence[Rail]) -> list[Item]:
    bench = rails.Bench(
        filled=frozenset(facts.fitted),
        departures={position.ref: position.departures for position in facts.positions},
        stamp=facts.supply_touches,
        runs=facts.works,
    )
    found = []
    for finding in rails.check_rails(drawn, facts.readings, bench):
        ohms = finding.stage == rails.OHMS
        caution = cautions.of_hazards(["stored_charge"])[0].text if ohms else cautions.FIRST_POWER.text
        high = max((abs(rail.nominal) for rail in drawn if rail.name == finding.rail), default=0)
        if not ohms and high > cautions.TOUCHABLE_VOLTS:
            caution = f"{caution} {cautions.of_hazards(['high_voltage'])[0].text}"
        found.append(
            Item(
                _RAIL_CHECK[finding.stage], finding.rail, finding.state, finding.reason, finding.refs, caution
            )
        )
    return found


def _undrawn_rails(facts: BoardFacts, drawing: Drawing) -> Iterable[Item]:
    """Chips that are destroyed without a minus rail of which the drawing says nothing."""
    wants = {position.ref: position.required for position in facts.positions}
    for ref, volts in rails.with_negative_first(drawing.rails, wants)[1].items():
        if facts.works:
            continue
        told = f"{ref} is destroyed without {volts} V, and the drawing names no such rail"
        if ref in facts.fitted:
            yield Item("rail", ref, STOP, f"{told}: take it out, find the rail and draw it", (ref,))
        else:
            yield Item("rail", ref, OPEN, f"{told}: find where it is measured, and draw it", (ref,))


# --- exceptions, grouping


def stamp_for(facts: BoardFacts, check: str, subject: str) -> int:
    """What an exception to this item is stamped with; it lapses when that changes."""
    if check == "link" and facts.drawing is not None:
        drawn = next((link for link in facts.drawing.links if link.name == subject), None)
        return facts.touches(facts.drawing.refs_of(drawn) if drawn else ())
    if check == "bank" and facts.drawing is not None:
        bank = facts.drawing.bank(subject)
        return facts.touches(bank.refs if bank else ())
    if check in ("ohms", "rail"):
        return facts.supply_touches
    if check in ("inspection", "heatsink", "pins"):
        return facts.all_touches
    if check == "supply":
        return 0
    return facts.touches([subject])


def _with_exceptions(facts: BoardFacts, found: list[Item]) -> list[Item]:
    latest = {(each.check, each.subject): each for each in facts.exceptions}
    return [_excepted(facts, item, latest.get((item.check, item.subject))) for item in found]


def may_be_accepted(item: Item) -> bool:
    """Whether a person may accept this item as it is."""
    if item.final or item.check in NEVER_ACCEPTED:
        return False
    return item.state == OPEN or item.check in MAY_BE_ACCEPTED


def _excepted(facts: BoardFacts, item: Item, accepted: Accepted | None) -> Item:
    if accepted is None or item.state == PASS or not may_be_accepted(item):
        return item
    if accepted.stamp != stamp_for(facts, item.check, item.subject):
        return replace(
            item, reason=f"{item.reason}; the exception of {accepted.by} lapsed: a part was changed since"
        )
    told = f"accepted by {accepted.by}: {accepted.why} ({item.reason})"
    return replace(item, state=PASS, reason=told, accepted_by=accepted.by, why=accepted.why)


def _grouped(found: Sequence[Item]) -> list[Item]:
    """Items of one check that say the same of several positions become one."""
    groups: dict[tuple[object, ...], list[Item]] = {}
    for item in found:
        whole = (item.check, item.state, item.reason, item.caution, item.evidence, item.why)
        alone = () if item.check in _BY_POSITION else (item.subject,)
        groups.setdefault((*whole, *alone), []).append(item)
    merged = [
        items[0]
        if len(items) == 1
        else replace(
            items[0],
            subject="",
            refs=tuple(sorted({ref for item in items for ref in item.refs}, key=split_ref)),
        )
        for items in groups.values()
    ]
    return sorted(merged, key=lambda item: CHECKS.index(item.check))


_AT_THE_SUPPLY = f"{cautions.of_hazards(['mains'])[0].text} {cautions.DEFER}"
_BY_POSITION = ("position", "fit", "condition", "orientation", "drawing")


_UNSETTLING = ("bank", "link", "ohms", "orientation", "rail", "pins")


def unsettled(facts: BoardFacts) -> tuple[Item, ...]:
    """Links, banks, rails and orientations that are open or in conflict: while there are any, a failure seen
    on the board condemns no part.

    On a board that runs, only what is known to be wrong counts, or cannot be told of what is in it now: that
    it passes its baseline is proof of the rest.
    """
    found = [item for item in findings(facts) if item.check in _UNSETTLING and item.state != PASS]
    if not facts.runs:
        return tuple(found)
    untold = {("link", told.link) for told in link_findings(facts) if told.state == links.UNDECIDED}
    if facts.drawing is not None:
        banks = links.check_banks(facts.drawing, facts.fitted)
        untold |= {("bank", told.bank) for told in banks if told.state == links.UNKNOWN_PIECES}
    return tuple(item for item in found if item.state == STOP or (item.check, item.subject) in untold)
