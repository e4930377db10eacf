"""What to try next: suspects with what was tried on them, the one that disturbs least first.

Of those that disturb as little as each other, the order of the trade (common practice, no source): supply,
rails, clock and reset, ROM, lower memory, upper memory, the rest.
"""

import math
from collections.abc import Collection, Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from typing import Annotated

from pydantic import Field

from repairs.proving.board import BoardFacts, BoardPosition
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
_READ_OUT = "read it out and compare its checksum"
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
_SUPPLY, _RAIL, _CLOCK, _ROM, _MEMORY = range(5)
_KINDS = (
    "link, bank, orientation, ohms, rail, pins, position, part, or retest; of a board that failed as a whole "
    "also supply, clock, rom and memory"
)
_READ_ONLY = ("rom", "prom", "eprom", "eeprom")
_READ_WRITE = ("ram", "sram", "dram")


@dataclass(frozen=True)
class Attempt:
    """Something that was tried at a position: which lot, how, and what came of it."""

    ref: str
    lot: int
    method: str
    verdict: str
    credible: bool = True
    acquitted: Annotated[bool, Field(description="A known good part failed there too.")] = False
    known_good: Annotated[bool, Field(description="The part was known good when it was tried.")] = False


@dataclass(frozen=True)
class Suspect:
    """Something that may be the fault: how to try it, why, and what was tried."""

    kind: Annotated[str, Field(description=_KINDS)]
    subject: str
    effort: Annotated[int, Field(description="0: nothing is disturbed; 4: solder.")]
    doing: str
    reason: str
    disturbed: Annotated[int, Field(description="How often something was moved there.")] = 0
    tried: tuple[Attempt, ...] = ()
    rank: Annotated[int, Field(description="Its turn in the fault order, of those of the same effort.")] = 0


def list_suspects(
    facts: BoardFacts,
    unsettled: Sequence[Item],
    *,
    located: Located | None = None,
    attempts: Sequence[Attempt] = (),
    suspected_positions: Sequence[str] = (),
    failed: Collection[str] | None = None,
    retest: Collection[int] = (),
    dead: bool = False,
) -> tuple[Suspect, ...]:
    """Everything that may be at fault, least disturbed first: the effort, what the report in hand points at
    before what failed earlier, then the fault order, then how often it was touched already.

    What is unsettled comes before any part; where all bits fail, the rails come before the chips; a position
    at which a known good part failed is a suspect itself, and its part is not: that is tested again, by lot
    (`retest`).  `failed` are the positions whose failures still count: all in `attempts` unless said.  A
    `dead` board failed as a whole and nothing points anywhere: all of the fault order is listed.
    """
    found = [_of_item(item) for item in unsettled]
    named = {(suspect.kind, suspect.subject) for suspect in found}
    if located is not None and located.suspect_a_rail and facts.design is not None:
        found += [
            _rail(rail.name, "all bits fail at once: measure it at the chips")
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
    if dead:
        listed = {each.subject for each in found if each.kind in ("rail", "pins", "position", "part")}
        found += [each for each in _fault_order(facts) if each.subject not in listed]
    return tuple(
        sorted(found, key=lambda each: (each.effort, each.subject not in pointed, each.rank, each.disturbed))
    )


def _of_item(item: Item) -> Suspect:
    effort = _EFFORT_OF[item.check]
    rank = _RAIL if effort == MEASURE else 0
    return Suspect(item.check, item.subject, effort, _DOING[effort], item.reason, rank=rank)


def _rail(name: str, reason: str) -> Suspect:
    return Suspect("rail", name, MEASURE, _DOING[MEASURE], reason, rank=_RAIL)


def _fault_order(facts: BoardFacts) -> Iterator[Suspect]:
    """Supply, rails, clock and reset, read-only memory, then read-write memory from the lowest address up."""
    alone = "it failed as a whole: the supply first, alone, on a dummy load"
    yield Suspect("supply", "", MEASURE, _DOING[MEASURE], alone, rank=_SUPPLY)
    for rail in facts.design.rails if facts.design else ():
        yield _rail(rail.name, "then each rail, at the pins of the chips")
    clocks = ", ".join(each.ref for each in facts.positions if each.required.kind == "crystal")
    running = "then the clock, that it runs, and reset, that it lets go"
    yield Suspect("clock", clocks, MEASURE, _DOING[MEASURE], running, rank=_CLOCK)
    for position in _with_function(facts, _READ_ONLY):
        effort = SWAP if position.socketed else UNSOLDER
        why = "then what it runs from: read-only memory"
        yield Suspect("rom", position.ref, effort, _READ_OUT, why, position.touches, rank=_ROM)
    first: dict[str, int] = {}
    for bank in facts.design.banks if facts.design else ():
        for span in bank.map:
            for _bit, ref in span.bits:
                first[ref] = min(span.start, first.get(ref, span.start))
    memories = [*_with_function(facts, _READ_WRITE)]
    for turn, position in enumerate(sorted(memories, key=lambda each: first.get(each.ref, math.inf))):
        effort = SWAP if position.socketed else UNSOLDER
        at = f": this one from {first[position.ref]:04X}" if position.ref in first else ""
        why = f"then memory, the lowest addresses first{at}"
        yield Suspect(
            "memory", position.ref, effort, _DOING[effort], why, position.touches, rank=_MEMORY + turn
        )


def _with_function(facts: BoardFacts, functions: Collection[str]) -> Iterable[BoardPosition]:
    """Positions whose chip, as required or as fitted, does one of these things."""
    for position in facts.positions:
        specs = (position.required, *((position.piece.spec,) if position.piece else ()))
        if any(spec.kind == "ic" and spec.known.get("function") in functions for spec in specs):
            yield position


def _cleared(tried: Sequence[Attempt], lot: int) -> bool:
    """Whether the latest trial of the piece that is in the position cleared it."""
    own = [attempt for attempt in tried if attempt.lot == lot]
    return bool(own) and own[-1].verdict == "good"
