"""Where did it go: a lot's life as a line of stations, and what went from or came to a board as a flow."""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from typing import Final

from inventory.labels import came_from
from inventory.models import Movement
from inventory.traces import LotTrace

WORDS: Final = {
    "receive": "came in", "lift": "lifted", "move": "moved", "fit": "fitted", "remove": "taken off",
    "lend": "lent", "return": "brought back", "scrap": "scrapped", "count": "counted", "reverse": "undone",
}  # fmt: skip
"""Each kind of movement as a person says it."""
SHOWN: Final = 8
ROW: Final = 56
"""Height of a row of the flow, in px as in the style sheet."""


@dataclass(frozen=True)
class Station:
    """One line of the ledger as a person tells it; `undone` where a later line took it back."""

    line: Movement
    what: str
    source: str
    target: str
    undone: bool


@dataclass(frozen=True)
class Life:
    """From where the pieces came, through every station, to where they are; None of them: gone."""

    origin: str
    stations: tuple[Station, ...]


def life(trace: LotTrace, where: Mapping[int, str]) -> Life:
    taken_back = {line.reverses_id for line in trace.movements if line.reverses_id}
    stations = [
        Station(
            line,
            what=_what(line),
            source=f"{where[line.from_place_id]} {line.from_ref}".rstrip(),
            target=f"{where[line.to_place_id]} {line.to_ref}".rstrip(),
            undone=line.pk in taken_back,
        )
        for line in trace.movements
    ]
    return Life(came_from(trace.lot), tuple(stations))


def _what(line: Movement) -> str:
    if line.to_lot_id and line.to_lot_id != line.lot_id:
        word = "put with others" if line.kind == Movement.Kind.MOVE else WORDS[line.kind]
    else:
        word = "borrowed" if line.borrow else WORDS[line.kind]
    return f"{line.quantity} {word}" if line.quantity != 1 else word


@dataclass(frozen=True)
class Stream:
    """So many pieces that go to one place, or come from one; `path` is its band, in the units of the flow."""

    name: str
    address: str
    pieces: int
    path: str


@dataclass(frozen=True)
class Flow:
    streams: tuple[Stream, ...]
    height: int
    pieces: int
    others: int


def flow(ends: Iterable[tuple[str, str]]) -> Flow:
    """One `(name, address)` for each piece; the largest streams first, what is left over is counted."""
    counted: dict[tuple[str, str], int] = {}
    for end in ends:
        counted[end] = counted.get(end, 0) + 1
    ranked = sorted(counted.items(), key=lambda pair: (-pair[1], pair[0]))
    shown = ranked[:SHOWN]
    total = sum(counted.values())
    height = ROW * len(shown)
    streams, above = [], 0.0
    for row, ((name, address), pieces) in enumerate(shown):
        thick = height * 0.8 * pieces / max(1, total)
        left, right = height * 0.1 + above + thick / 2, ROW * (row + 0.5)
        above += thick
        half, far = max(1.0, thick / 2), min(ROW * 0.4, max(1.0, thick / 2))
        path = (
            f"M0 {left - half:.1f}C50 {left - half:.1f} 50 {right - far:.1f} 100 {right - far:.1f}"
            f"V{right + far:.1f}C50 {right + far:.1f} 50 {left + half:.1f} 0 {left + half:.1f}z"
        )
        streams.append(Stream(name, address, pieces, path))
    return Flow(tuple(streams), height, total, total - sum(stream.pieces for stream in streams))
