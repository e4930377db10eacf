"""What people found out: this part did, or did not, serve for that one, at a position or anywhere.

A substitution holds for what its two Specs state: one that says a kind and a type number holds of every part
and place with that number, one that says more of fewer.
"""

from collections.abc import Collection, Hashable, Iterable, Iterator, Sequence
from dataclasses import dataclass, replace
from itertools import chain
from typing import Any

from inventory.spec.judging import TEST, Reason, plainly
from inventory.spec.spec import Spec

AS_DRAWN, TURNED_ROUND, LEGS_CROSSED = "as_drawn", "turned_round", "legs_crossed"
WAYS = (AS_DRAWN, TURNED_ROUND, LEGS_CROSSED)

SOAK_TEST, SEEN_WORKING, DATA_SHEET, LISTED, REFUTED = (
    "soak_test", "seen_working", "data_sheet", "listed", "refuted",
)  # fmt: skip
EVIDENCE = (SOAK_TEST, SEEN_WORKING, DATA_SHEET, LISTED, REFUTED)
"""Best to worst: a soak test was run, seen working, read in data sheets, listed somewhere, does not serve."""
TRIED = (SOAK_TEST, SEEN_WORKING)
_EVIDENCE = {
    SOAK_TEST: "ran a soak test", SEEN_WORKING: "seen working", DATA_SHEET: "read in the data sheets",
    LISTED: "only listed somewhere: check it before you trust it",
    REFUTED: "tried, and does not serve",
}  # fmt: skip

Spot = tuple[Hashable, ...]
"""Where a part is to go: the design and the reference ("" for a loose piece); () where there is no design."""


@dataclass(frozen=True)
class SubstitutionRecord:
    """`offered` for `required`, at a reference of a design, all over it ("") or anywhere (no design).

    `pin_map` says which leg of the offered part goes where: "E=C, B=B, C=E".  `source` is whose word it is
    where another workshop found it out; blank: one's own.
    """

    id: int
    required: Spec
    offered: Spec
    design: Hashable = None
    ref: str = ""
    evidence: str = DATA_SHEET
    way: str = AS_DRAWN
    pin_map: str = ""
    note: str = ""
    by: str = ""
    source: str = ""

    @property
    def text(self) -> str:
        """The evidence, and what to do with the legs, as one line."""
        who = f"by {self.source}, not here" if self.source else self.by
        pieces = [_EVIDENCE[self.evidence] + (f" ({who})" if who else ""), self.legs, self.note]
        return "; ".join(filter(None, pieces))

    @property
    def legs(self) -> str:
        """How it goes in, where that is not as drawn."""
        way = "" if self.way == AS_DRAWN else self.way.replace("_", " ")
        return f"{way} {self.pin_map}".strip()

    def holds_at(self, spot: Spot) -> bool:
        """Whether it is said of this place."""
        if self.design is None:
            return True
        return bool(spot) and spot[0] == self.design and self.ref in ("", spot[1])


class Recorded:
    """Substitutions to look up. Of several that hold, one's own go before those of others; of those the one
    of the narrowest place goes first, then one that refutes, then the best evidence, then the latest."""

    def __init__(self, substitutions: Iterable[SubstitutionRecord] = ()) -> None:
        self._by_kind: dict[str, list[SubstitutionRecord]] = {}
        for record in sorted(substitutions, key=_most_specific):
            self._by_kind.setdefault(record.required.kind, []).append(record)
        self._of: dict[str, tuple[SubstitutionRecord, ...]] = {}

    def __bool__(self) -> bool:
        return bool(self._by_kind)

    def __iter__(self) -> Iterator[SubstitutionRecord]:
        return chain.from_iterable(self._by_kind.values())

    @property
    def kinds(self) -> frozenset[str]:
        return frozenset(self._by_kind)

    def of(self, requirement: Spec) -> tuple[SubstitutionRecord, ...]:
        """All that are said of this requirement, wherever, the most telling first."""
        known = self._by_kind.get(requirement.kind)
        if known is None:
            return ()
        found = self._of.get(requirement.key)
        if found is None:
            found = tuple(record for record in known if covers(record.required, requirement))
            self._of[requirement.key] = found
        return found

    def at(self, requirement: Spec, spot: Spot = ()) -> tuple[SubstitutionRecord, ...]:
        """Those that hold at a place."""
        return tuple(record for record in self.of(requirement) if record.holds_at(spot))

    def find(self, requirement: Spec, offer: Spec, spot: Spot = ()) -> SubstitutionRecord | None:
        """What is said of this part at this place."""
        return first_of(self.at(requirement, spot), offer)


def first_of(substitutions: Iterable[SubstitutionRecord], offer: Spec) -> SubstitutionRecord | None:
    """The first that is said of this part."""
    return next((record for record in substitutions if covers(record.offered, offer)), None)


def covers(stated: Spec, found: Spec) -> bool:
    """Whether everything that is said of a part is so of this one."""
    if stated.kind != found.kind:
        return False
    known = found.known
    return all(_alike(name, fact, known.get(name)) for name, fact in stated.facts.items())


def _alike(name: str, stated: Any, found: Any) -> bool:
    if name == "number" and found is not None:
        return plainly(stated) == plainly(found)
    return bool(stated == found)


def _most_specific(record: SubstitutionRecord) -> tuple[bool, int, bool, int, int]:
    width = 2 if record.design is None else 1 if not record.ref else 0
    return (
        record.source != "", width, record.evidence != REFUTED, EVIDENCE.index(record.evidence), -record.id,
    )  # fmt: skip


def as_recorded(
    reasons: Sequence[Reason], record: SubstitutionRecord, *, safety: bool, lasting: Collection[Reason]
) -> list[Reason]:
    """The judge's reasons in the light of what was recorded; those of `lasting` stay as they are.

    A data sheet settles questions, a trial overrules refusals too, what is only listed changes nothing. No
    record makes a safety part of an ordinary one, and what others found settles nothing here.
    """
    if record.source:
        return _as_others_found(reasons, record, safety=safety, lasting=lasting)
    doubts = {reason.grade for reason in reasons} & {"ask", "no"}

    def reason_of(grade: str, more: str = "") -> Reason:
        return Reason("substitution", record.required.text, record.offered.text, record.text + more, grade)

    if record.evidence == REFUTED:
        return [*reasons, reason_of("no")]
    if safety:
        return [*reasons, reason_of("ask", "; no record replaces a safety part")] if doubts else [*reasons]
    if record.evidence == LISTED:
        return [*reasons, reason_of("ask")] if doubts else [*reasons]
    lifted = ("ask", "no") if record.evidence in TRIED else ("ask",)
    settled = [
        replace(reason, rule=f"{reason.rule}: {_EVIDENCE[record.evidence]}", grade="with_note", settled_by="")
        if reason.grade in lifted and reason not in lasting
        else reason
        for reason in reasons
    ]
    if settled != [*reasons] or record.legs or record.note:
        return [*settled, reason_of("with_note")]
    return [*settled, reason_of("drop_in")] if reasons else []


def _as_others_found(
    reasons: Sequence[Reason], record: SubstitutionRecord, *, safety: bool, lasting: Collection[Reason]
) -> list[Reason]:
    """The same with the word of another workshop: it raises questions, which a test here settles.

    What they tried makes a question of a refusal, what they refuted one of a yes; their word is said beside
    the other questions. A refusal for a safety part stays one.
    """
    found = Reason("substitution", record.required.text, record.offered.text, record.text, "ask", TEST)
    if record.evidence == REFUTED:
        return [*reasons, found]
    refusals = [reason for reason in reasons if reason.grade == "no"]
    if safety or (refusals and (record.evidence not in TRIED or any(each in lasting for each in refusals))):
        return [*reasons]
    asked = [
        replace(reason, rule=f"{reason.rule}: {record.source} found otherwise", grade="ask", settled_by=TEST)
        if reason.grade == "no"
        else reason
        for reason in reasons
    ]
    return [*asked, found] if any(reason.grade == "ask" for reason in asked) else asked
