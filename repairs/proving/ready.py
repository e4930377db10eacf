"""Is it safe to switch on?  Every check in the order of bringing up, each pass, open or stop, and never ready
by default.

An item is open until a person has said or measured it on the board as it is now, against the design as it is
now; whatever is changed afterwards opens it again.  A stop is a known fault.  What is measured is measured:
no exception stands in for it.  Any other open item a person may accept, by name and with a reason, except of
a safety part; the exception names the finding that it accepts and lapses when that changes.  A stop is only
accepted where a person may know better than the design (`MAY_BE_ACCEPTED`).
"""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace

from inventory.design_facts import HAZARD_NAMES, DesignFacts, Rail
from inventory.refs import split_ref
from repairs.proving import cautions, confirmations, links, positions, rails
from repairs.proving.board import BoardFacts, BoardTrial
from repairs.proving.items import CHECKS, Item, with_exceptions
from repairs.proving.rails import OPEN, PASS, STOP

READY = "ready"


@dataclass(frozen=True)
class Readiness:
    """The verdict; `accepted` counts the exceptions that it rests on, `accepted_by` names who made them."""

    verdict: str
    items: tuple[Item, ...]
    cautions: tuple[str, ...]
    accepted: int = 0
    accepted_by: tuple[str, ...] = ()

    @property
    def text(self) -> str:
        """`ready`, `ready, 2 accepted by robin`, `open`."""
        if self.verdict != READY or not self.accepted:
            return self.verdict
        return f"{self.verdict}, {self.accepted} accepted by {' and '.join(self.accepted_by)}"


def judge(facts: BoardFacts) -> Readiness:
    """The verdict: ready only where there is something to check and every item passes."""
    each = findings(facts)
    items = _grouped(each)
    states = {item.state for item in items}
    verdict = STOP if STOP in states else OPEN if OPEN in states or not items else READY
    hazards = facts.design.hazards if facts.design else ()
    warnings = cautions.distinct_texts((*cautions.of_hazards(hazards), cautions.FIRST_POWER))
    accepted = [item.accepted_by for item in each if item.accepted_by]
    return Readiness(
        verdict, tuple(items), tuple(warnings), len(accepted), tuple(sorted(dict.fromkeys(accepted)))
    )


def findings(facts: BoardFacts) -> list[Item]:
    """Every check of every position, link and rail by itself, exceptions taken into account."""
    return with_exceptions(facts, _findings(facts))


def _findings(facts: BoardFacts) -> Iterable[Item]:
    if facts.design is None:
        yield Item("design", "", OPEN, "no design is known of this board: nothing can be checked against it")
        return
    yield from _design(facts, facts.design)
    yield from positions.check_positions(facts)
    for bank in links.check_banks(facts.design, facts.fitted):
        state = {links.ALIKE: PASS, links.MIXED_BANK: STOP}.get(bank.state, OPEN)
        basis = "; ".join((bank.state, *bank.evidence))
        yield Item("bank", bank.bank, state, bank.reason, bank.refs, evidence=bank.evidence, basis=basis)
    yield from _trials(facts)
    yield confirmations.check_board(
        facts, "inspection", "look it over: splashes, notches, sockets too, polarity"
    )
    supply = "prove the supply alone, on a dummy load, and the polarity of its plug"
    yield replace(confirmations.check_board(facts, "supply", supply), caution=_AT_THE_SUPPLY)
    bench = _bench(facts)
    rail_findings = [*_rails(facts, facts.design.rails, bench), *_undrawn_rails(facts, facts.design)]
    yield from (item for item in rail_findings if item.check == "ohms")
    yield from confirmations.check_orientations(facts)
    yield from confirmations.check_link_settings(facts, facts.design)
    if hot := positions.heatsinks(facts):
        tight = "heatsinks on, washers and paste, and the tab not shorted to it"
        yield replace(confirmations.check_board(facts, "heatsink", tight), refs=tuple(hot))
    if soldered := rails.powered_with(facts.design.rails, facts.readings, bench):
        limited = (
            f"chips that cannot be pulled are in ({', '.join(soldered)}): first power through a current "
            "limit, and the current stays low and steady"
        )
        first = confirmations.check_board(facts, "first_power", limited)
        yield replace(first, refs=soldered, caution=cautions.FIRST_POWER.text)
    yield from (item for item in rail_findings if item.check != "ohms")


def _design(facts: BoardFacts, design: DesignFacts) -> Iterable[Item]:
    if design.problems:
        faults = "; ".join(f"{problem.pointer}: {problem.detail}" for problem in design.problems[:5])
        yield Item("design", "", STOP, f"the design cannot be read: {faults}", final=True)
    elif not facts.positions:
        yield Item("design", "", OPEN, "the design has no positions: nothing can be checked against it")
    else:
        yield Item("design", "", PASS, f"the design has {len(facts.positions)} positions")
    if not design.rails:
        rails_wanted = "the design names no supply rail: name each, so that it can be measured before power"
        yield Item("design", "rails", OPEN, rails_wanted)
    if facts.scrapped:
        yield Item("design", "board", OPEN, "the board is scrapped: nothing of it is switched on")
    for caution in cautions.of_hazards(design.hazards):
        if caution.blocked:
            yield Item("hazards", caution.step, STOP, caution.text, caution=cautions.DEFER, final=True)
        else:
            named = HAZARD_NAMES.get(caution.step, caution.step)
            yield Item("hazards", caution.step, PASS, f"the design says: {named}", caution=caution.text)


def _trials(facts: BoardFacts) -> Iterable[Item]:
    """Failures of the board that nothing has explained: no later pass, and the part is still there."""
    unexplained: dict[str, list[BoardTrial]] = {}
    for trial in facts.trials:
        if trial.passed and not trial.ref:
            unexplained.clear()
        elif trial.passed:
            unexplained.pop(trial.ref, None)
        elif not trial.ref or not facts.moved_since(trial.stamp, [trial.ref]):
            unexplained.setdefault(trial.ref, []).append(trial)
    for ref, failed in unexplained.items():
        reason = f"it failed a trial: {failed[-1].text}. Find why and try it again, or say below what it was"
        basis = " ".join(str(trial.id) for trial in failed)
        yield Item("trial", ref, OPEN, reason, (ref,) if ref else (), basis=basis)


_RAIL_CHECK = {rails.OHMS: "ohms", rails.CHIPS_OUT: "rail", rails.CHIPS_IN: "ohms_in", rails.AT_PINS: "pins"}


def _bench(facts: BoardFacts) -> rails.Bench:
    return rails.Bench(frozenset(facts.fitted), facts.soldered, facts.moved, runs=facts.works)


def _rails(facts: BoardFacts, drawn: Sequence[Rail], bench: rails.Bench) -> list[Item]:
    items = []
    for finding in rails.check_rails(drawn, facts.readings, bench):
        ohms = finding.stage in (rails.OHMS, rails.CHIPS_IN)
        caution = cautions.of_hazards(["stored_charge"])[0].text if ohms else cautions.FIRST_POWER.text
        high = max((abs(rail.nominal) for rail in drawn if rail.name == finding.rail), default=0)
        if finding.stage in (rails.OHMS, rails.CHIPS_OUT) and finding.refs and finding.state != PASS:
            caution = f"{caution} {cautions.PULLING.text}"
        if not ohms and high > cautions.TOUCHABLE_VOLTS:
            caution = f"{caution} {cautions.of_hazards(['high_voltage'])[0].text}"
        check = _RAIL_CHECK[finding.stage]
        items.append(Item(check, finding.rail, finding.state, finding.reason, finding.refs, caution))
    return items


def _undrawn_rails(facts: BoardFacts, design: DesignFacts) -> Iterable[Item]:
    """Chips that are in and are destroyed without a minus rail of which the design says nothing."""
    there = {
        position.ref: (position.required, position.piece.spec)
        for position in facts.positions
        if position.piece is not None
    }
    for ref, volts in rails.with_negative_first(design.rails, there)[1].items():
        lost = f"{ref} is destroyed without {volts} V, and the design names no such rail"
        if facts.works:
            yield Item("rail", ref, OPEN, f"{lost}: find where it is measured, and add it", (ref,))
        else:
            yield Item("rail", ref, STOP, f"{lost}: take it out, find the rail and add it", (ref,))
    for ref, specs in there.items():
        if rails.may_want_minus(specs):
            asked = (
                "which volts it needs is not known, and its sort is made with three rails and with one: "
                "read its number, or say its rails"
            )
            yield Item("rail", ref, OPEN, asked, (ref,), basis=specs[1].text)


def _grouped(items: Sequence[Item]) -> list[Item]:
    """Items of one check that say the same of several positions become one."""
    groups: dict[tuple[object, ...], list[Item]] = {}
    for item in items:
        whole = (item.check, item.state, item.reason, item.caution, item.evidence, item.why, item.final)
        alone = () if item.check in _BY_POSITION else (item.subject,)
        groups.setdefault((*whole, *alone), []).append(item)
    merged = [
        each[0]
        if len(each) == 1
        else replace(
            each[0],
            subject="",
            refs=tuple(sorted({ref for item in each for ref in item.refs}, key=split_ref)),
        )
        for each in groups.values()
    ]
    return sorted(merged, key=lambda item: CHECKS.index(item.check))


_AT_THE_SUPPLY = f"{cautions.of_hazards(['mains'])[0].text} {cautions.DEFER}"
_BY_POSITION = ("position", "fit", "condition", "orientation")

_UNSETTLING = ("bank", "link", "ohms", "orientation", "rail", "ohms_in", "pins")


def unsettled(facts: BoardFacts) -> tuple[Item, ...]:
    """Links, banks, rails and orientations that are open or in conflict: while there are any, a failure seen
    on the board condemns no part.

    On a board that runs, only what is known to be wrong counts, or cannot be told of what is in it now: that
    it passes its baseline is proof of the rest.
    """
    items = [item for item in findings(facts) if item.check in _UNSETTLING and item.state != PASS]
    if not facts.runs:
        return tuple(items)
    unknown = {
        ("link", each.link) for each in confirmations.link_findings(facts) if each.state == links.UNDECIDED
    }
    if facts.design is not None:
        banks = links.check_banks(facts.design, facts.fitted)
        unknown |= {("bank", each.bank) for each in banks if each.state == links.UNKNOWN_PIECES}
    return tuple(item for item in items if item.state == STOP or (item.check, item.subject) in unknown)
