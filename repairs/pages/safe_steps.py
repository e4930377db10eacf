"""The checks of a board as its page tells them: what each is called, what to do, and which comes now."""

from collections.abc import Sequence
from dataclasses import dataclass, replace
from itertools import groupby

from inventory.design_facts import Rail
from repairs.proving.board import BoardFacts
from repairs.proving.items import PERSONAL, Item, may_be_accepted
from repairs.proving.rails import AT_PINS, CHIPS_OUT, MIN_OHMS, OHMS, PASS, STOP

TITLES = {
    "design": "The design", "hazards": "What can hurt", "position": "Positions filled",
    "fit": "The right parts", "condition": "Tested parts", "bank": "Chips alike", "inspection": "Looked over",
    "supply": "The supply alone", "ohms": "Ohms to ground", "orientation": "Which way round",
    "link": "Wire links", "heatsink": "Heatsinks", "first_power": "First power",
    "trial": "Trials of the board", "ohms_in": "Ohms, chips in", "rail": "Volts, chips out",
    "pins": "Volts at the pins",
}  # fmt: skip
TO_DO = {
    "design": "The design names every position, link and rail: write down what it still lacks.",
    "hazards": "This stays off. Nothing on this page can change that.",
    "position": "Fit a part at each, or say below why it stays empty.",
    "fit": "Fit what the design asks, or say below why this one may stay.",
    "condition": "Try each part: its page says what to connect and what to expect.",
    "bank": "Fit chips of one kind and make, or say below why these may stand side by side.",
    "inspection": "Take a lens and look at both sides.",
    "supply": "Measure the supply with nothing but a dummy load on it.",
    "ohms": "Board off and unplugged. Meter from the rail to ground, both ways round; write down the lower.",
    "orientation": "Look at each mark, then tick the places that you looked at.",
    "link": "Look at the link itself, not at the design, and press how it is set.",
    "heatsink": "Feel that each is tight, and measure that the tab is not shorted to it.",
    "rail": "Chips out of their sockets. Power on, one hand; meter from the rail to ground.",
    "first_power": "A bulb in series or a bench supply with its limit set; note the amps.",
    "trial": "Find why it failed. A later pass, or the reason, settles it.",
    "ohms_in": "Unplugged again, chips in. Meter from the rail to ground once more.",
    "pins": "Power on. Meter on the supply pin of each chip; power off before the next goes in.",
}  # fmt: skip
BEFORE_CHIPS = ("design", "hazards", "position", "fit", "condition", "bank", "trial")
"""Checks that come before chips are lifted for the measurements."""
STAGE_OF = {"ohms": OHMS, "rail": CHIPS_OUT, "ohms_in": OHMS, "pins": AT_PINS}


@dataclass(frozen=True)
class Check:
    """One item as the page tells it, with what its form needs."""

    item: Item
    settings: tuple[str, ...] = ()
    expected: str = ""
    """What the meter should show, in the rail's own figures."""
    to_try: Sequence[tuple[str, int]] = ()
    """Positions with the lots in them, where the answer is a trial."""

    @property
    def title(self) -> str:
        return TITLES[self.item.check]

    @property
    def to_do(self) -> str:
        return TO_DO[self.item.check]

    @property
    def key(self) -> str:
        """What the form of this check says of itself, so that what is refused comes back to it."""
        return f"{self.item.check} {self.item.subject or ' '.join(self.item.refs[:3])}".strip()

    @property
    def stage(self) -> str:
        return STAGE_OF.get(self.item.check, "")

    @property
    def personal(self) -> bool:
        return self.item.check in PERSONAL

    @property
    def answered(self) -> bool:
        """Whether what a person says on this page is what decides it; at the pins of no chip nobody can."""
        measured = bool(self.stage) and (self.stage != AT_PINS or bool(self.item.refs))
        return self.personal or measured or self.item.check in ("link", "orientation")

    @property
    def acceptable(self) -> bool:
        return self.item.state != PASS and may_be_accepted(self.item)

    @property
    def mark(self) -> str:
        return {STOP: "✕ stop", PASS: "● passes"}.get(self.item.state, "○ open")

    @property
    def subjects(self) -> tuple[str, ...]:
        """What an exception would name: each position of a grouped item, or the link, rail or bank itself."""
        return (self.item.subject,) if self.item.subject or not self.item.refs else self.item.refs


@dataclass(frozen=True)
class Step:
    """The checks of one sort that stand in the way."""

    checks: Sequence[Check]
    now: bool = False
    """Whether it is the one to do now."""
    chips: bool = False
    """Whether it is about the sockets of chips that are out while the rails are measured."""

    @property
    def title(self) -> str:
        return "Chips back in" if self.chips else self.checks[0].title

    @property
    def to_do(self) -> str:
        if self.chips:
            return "Once the rails are right, power off and put them back: the button is above."
        return self.checks[0].to_do

    @property
    def caution(self) -> str:
        return next((check.item.caution for check in self.checks if check.item.caution), "")

    @property
    def stops(self) -> int:
        return sum(check.item.state == STOP for check in self.checks)

    @property
    def subjects(self) -> str:
        named = [each for check in self.checks for each in check.subjects if each]
        return ", ".join(named[:6]) + (f" and {len(named) - 6} more" if len(named) > 6 else "")


def _is_of(check: Check, out: set[str]) -> bool:
    """Whether it is about empty sockets of these chips alone."""
    return check.item.check == "position" and bool(check.item.refs) and out.issuperset(check.item.refs)


def _apart(check: Check, out: set[str]) -> list[Check]:
    """Empty places alike are one check: those of chips that are out are another."""
    refs = check.item.refs
    if check.item.check != "position" or not out.intersection(refs) or out.issuperset(refs):
        return [check]
    sides = ([ref for ref in refs if ref not in out], [ref for ref in refs if ref in out])
    return [replace(check, item=replace(check.item, refs=tuple(side))) for side in sides]


def steps_of(unsettled: Sequence[Check], out: Sequence[str], wrong_at: str, *, lift: bool) -> list[Step]:
    """In the order of bringing up; the empty sockets of chips that are out for the measurements come last.

    None is the one to do now where chips are to be lifted first.
    """
    empty = [part for check in unsettled for part in _apart(check, set(out))]
    waiting = [check for check in empty if _is_of(check, set(out))]
    ordered = [check for check in empty if check not in waiting]
    groups = [list(each) for _name, each in groupby(ordered, key=lambda check: check.item.check)]
    groups += [waiting] if waiting else []
    first = -1 if lift and groups[0][0].item.check not in BEFORE_CHIPS else 0
    at = next((i for i, group in enumerate(groups) if any(check.key == wrong_at for check in group)), first)
    return [
        Step(tuple(group), now=index == at, chips=bool(waiting) and group is waiting)
        for index, group in enumerate(groups)
    ]


def check_of(item: Item, facts: BoardFacts) -> Check:
    if item.check == "link" and facts.design is not None:
        links = {link.name: link.settings for link in facts.design.links}
        return Check(item, settings=links.get(item.subject, ()))
    if item.check == "condition":
        pieces = {each.ref: each.piece.lot for each in (*facts.positions, *facts.undrawn) if each.piece}
        return Check(item, to_try=[(ref, pieces[ref]) for ref in item.refs])
    if item.check in STAGE_OF and facts.design is not None:
        rail = next((rail for rail in facts.design.rails if rail.name == item.subject), None)
        return Check(item, expected=_expected(rail, STAGE_OF[item.check]) if rail is not None else "")
    return Check(item)


def _expected(rail: Rail, stage: str) -> str:
    where = f", at {rail.at}" if rail.at and stage != AT_PINS else ""
    if stage != OHMS:
        return f"{rail.low} to {rail.high} V{where}"
    least = rail.ohms_low if rail.ohms_low is not None else MIN_OHMS
    most = f"to {rail.ohms_high} Ω" if rail.ohms_high is not None else "Ω or more, or OL"
    return f"{least} {most}{where}"
