"""What to try next: suspects with what was tried on them, the one that disturbs least first."""

from collections.abc import Collection, Mapping, Sequence
from dataclasses import dataclass

from repairs.proving.board import BoardFacts
from repairs.proving.items import Item
from repairs.proving.memory import Located

LOOK, MEASURE, SWAP, SOCKET, UNSOLDER = range(5)
"""How much must be disturbed: nothing, a meter lead, a socketed chip, the socket and its tracks, solder."""
_DOING = (
    "look",
    "measure",
    "swap it for a known good one",
    "check socket, tracks and neighbours",
    "unsolder, or lift legs",
)
_AGAIN = "test it again once that position is mended, or in a good board"
_EFFORT_OF = {
    "link": LOOK,
    "bank": LOOK,
    "orientation": LOOK,
    "ohms": MEASURE,
    "rail": MEASURE,
    "ohms_in": MEASURE,
    "pins": MEASURE,
}


@dataclass(frozen=True)
class Attempt:
    """Something that was tried at a position: which lot, how, and what came of it."""

    ref: str
    lot: int
    method: str
    verdict: str
    credible: bool = True
    acquitted: bool = False
    known_good: bool = False
    """The part was known good when it was tried."""


@dataclass(frozen=True)
class Suspect:
    """Something that may be the fault: how to try it, why, and what was tried."""

    kind: str
    subject: str
    effort: int
    doing: str
    reason: str
    disturbed: int = 0
    tried: tuple[Attempt, ...] = ()


def list_suspects(
    facts: BoardFacts,
    unsettled: Sequence[Item],
    *,
    located: Located | None = None,
    attempts: Sequence[Attempt] = (),
    suspected_positions: Sequence[str] = (),
    failed: Collection[str] | None = None,
    retest: Collection[int] = (),
) -> tuple[Suspect, ...]:
    """Everything that may be at fault, least disturbed first: the effort, what the report in hand points at
    before what failed earlier, then how often it was touched already.

    What is unsettled comes before any part; where all bits fail, the rails come before the chips; a position
    at which a known good part failed is a suspect itself, and its part is not: that is tested again, by lot
    (`retest`).  `failed` are the positions whose failures still count: all in `attempts` unless said.
    """
    found = [
        Suspect(item.check, item.subject, _EFFORT_OF[item.check], _DOING[_EFFORT_OF[item.check]], item.reason)
        for item in unsettled
    ]
    named = {(suspect.kind, suspect.subject) for suspect in found}
    if located is not None and located.suspect_a_rail and facts.design is not None:
        found += [
            Suspect(
                "rail", rail.name, MEASURE, _DOING[MEASURE], "all bits fail at once: measure it at the chips"
            )
            for rail in facts.design.rails
            if ("rail", rail.name) not in named
        ]
    pointed = {each.ref: each.text for each in located.pointed} if located else {}
    if failed is None:
        failed = {attempt.ref for attempt in attempts if attempt.verdict == "faulty"}
    by_ref: Mapping[str, list[Attempt]] = {}
    for attempt in attempts:
        by_ref = {**by_ref, attempt.ref: [*by_ref.get(attempt.ref, []), attempt]}
    for position in facts.positions:
        tried = tuple(by_ref.get(position.ref, ()))
        if position.ref in suspected_positions:
            detail = "a known good part failed here: links, socket, tracks, neighbours"
            found.append(
                Suspect("position", position.ref, SOCKET, _DOING[SOCKET], detail, position.touches, tried)
            )
            again = dict.fromkeys(each.lot for each in tried if each.known_good and each.acquitted)
            why = f"it was good, and failed in {position.ref}"
            found += [
                Suspect("retest", f"lot {lot}", SOCKET, _AGAIN, why, tried=tried)
                for lot in again
                if lot in retest
            ]
        elif position.ref in pointed or position.ref in failed:
            if position.piece is not None and _cleared(tried, position.piece.lot):
                continue
            effort = SWAP if position.socketed else UNSOLDER
            detail = pointed.get(position.ref) or "it failed a trial here"
            found.append(
                Suspect("part", position.ref, effort, _DOING[effort], detail, position.touches, tried)
            )
    return tuple(sorted(found, key=lambda each: (each.effort, each.subject not in pointed, each.disturbed)))


def _cleared(tried: Sequence[Attempt], lot: int) -> bool:
    """Whether the latest trial of the piece that is in the position cleared it."""
    own = [attempt for attempt in tried if attempt.lot == lot]
    return bool(own) and own[-1].verdict == "good"
