"""What people found out: this part did, or did not, serve for that one, at a position or anywhere.

A substitution holds for what its two Specs state: one that says a kind and a type number holds of every part
and place with that number, one that says more of fewer.
"""

from collections.abc import Collection, Hashable, Iterable, Iterator, Sequence
from dataclasses import dataclass, replace
from itertools import chain
from typing import Any

from inventory.spec.judging import Reason, plainly
from inventory.spec.spec import Spec

AS_DRAWN, TURNED_ROUND, LEGS_CROSSED = "as_drawn", "turned_round", "legs_crossed"
WAYS = (AS_DRAWN, TURNED_ROUND, LEGS_CROSSED)

SOAK_TEST, SEEN_WORKING, DATA_SHEET, LISTED, REFUTED = (
    "soak_test", "seen_working", "data_sheet", "listed", "refuted",
)  # fmt: skip
EVIDENCE = (SOAK_TEST, SEEN_WORKING, DATA_SHEET, LISTED, REFUTED)
"""Best to worst: a soak test was run, seen working, read in data sheets, listed somewhere, does not serve."""
TRIED = (SOAK_TEST, SEEN_WORKING)
_SAID = {
    SOAK_TEST: "ran a soak test", SEEN_WORKING: "seen working", DATA_SHEET: "read in the data sheets",
    LISTED: "only listed somewhere: check it before you trust it",
    REFUTED: "tried, and does not serve",
}  # fmt: skip

Spot = tuple[Hashable, ...]
"""Where a part is to go: the design and the reference ("" for a loose piece); () where there is no design."""


@dataclass(frozen=True)
class Substitution:
    """`offered` for `required`, at a reference of a design, all over it ("") or anywhere (no design).

    `pin_map` says which leg of the offered part goes where: "E=C, B=B, C=E".
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

    @property
    def text(self) -> str:
        """The evidence, and what to do with the legs, as one line."""
        told = [_SAID[self.evidence] + (f" ({self.by})" if self.by else ""), self.legs, self.note]
        return "; ".join(filter(None, told))

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
    """Substitutions to look up. Of several that hold, the one of the narrowest place goes before the others;
    of those one that refutes, then the best evidence, then the latest."""

    def __init__(self, substitutions: Iterable[Substitution] = ()) -> None:
        self._by_kind: dict[str, list[Substitution]] = {}
        for said in sorted(substitutions, key=_most_telling):
            self._by_kind.setdefault(said.required.kind, []).append(said)
        self._of: dict[str, tuple[Substitution, ...]] = {}

    def __bool__(self) -> bool:
        return bool(self._by_kind)

    def __iter__(self) -> Iterator[Substitution]:
        return chain.from_iterable(self._by_kind.values())

    @property
    def kinds(self) -> frozenset[str]:
        return frozenset(self._by_kind)

    def of(self, requirement: Spec) -> tuple[Substitution, ...]:
        """All that are said of this requirement, wherever, the most telling first."""
        known = self._by_kind.get(requirement.kind)
        if known is None:
            return ()
        found = self._of.get(requirement.key)
        if found is None:
            found = tuple(said for said in known if covers(said.required, requirement))
            self._of[requirement.key] = found
        return found

    def at(self, requirement: Spec, spot: Spot = ()) -> tuple[Substitution, ...]:
        """Those that hold at a place."""
        return tuple(said for said in self.of(requirement) if said.holds_at(spot))

    def find(self, requirement: Spec, offer: Spec, spot: Spot = ()) -> Substitution | None:
        """What is said of this part at this place."""
        return first_of(self.at(requirement, spot), offer)


def first_of(substitutions: Iterable[Substitution], offer: Spec) -> Substitution | None:
    """The first that is said of this part."""
    return next((said for said in substitutions if covers(said.offered, offer)), None)


def covers(said: Spec, found: Spec) -> bool:
    """Whether everything that is said of a part is so of this one."""
    if said.kind != found.kind:
        return False
    known = found.known
    return all(_alike(name, fact, known.get(name)) for name, fact in said.facts.items())


def _alike(name: str, said: Any, found: Any) -> bool:
    if name == "number" and found is not None:
        return plainly(said) == plainly(found)
    return bool(said == found)


def _most_telling(said: Substitution) -> tuple[int, bool, int, int]:
    width = 2 if said.design is None else 1 if not said.ref else 0
    return width, said.evidence != REFUTED, EVIDENCE.index(said.evidence), -said.id


def as_recorded(
    reasons: Sequence[Reason], said: Substitution, *, safety: bool, lasting: Collection[Reason]
) -> list[Reason]:
    """The judge's reasons in the light of what was recorded; those of `lasting` stay as they are.

    A data sheet settles questions, a trial overrules refusals too, what is only listed changes nothing. No
    record makes a safety part of an ordinary one.
    """
    doubts = {reason.grade for reason in reasons} & {"ask", "no"}

    def told(grade: str, more: str = "") -> Reason:
        return Reason("substitution", said.required.text, said.offered.text, said.text + more, grade)

    if said.evidence == REFUTED:
        return [*reasons, told("no")]
    if safety:
        return [*reasons, told("ask", "; no record replaces a safety part")] if doubts else [*reasons]
    if said.evidence == LISTED:
        return [*reasons, told("ask")] if doubts else [*reasons]
    lifted = ("ask", "no") if said.evidence in TRIED else ("ask",)
    settled = [
        replace(reason, rule=f"{reason.rule}: {_SAID[said.evidence]}", grade="with_note", settled_by="")
        if reason.grade in lifted and reason not in lasting
        else reason
        for reason in reasons
    ]
    if settled != [*reasons] or said.legs or said.note:
        return [*settled, told("with_note")]
    return [*settled, told("drop_in")] if reasons else []
