"""The picture of each side of a design with its positions pinned, each in a state of a shape and a word."""

from collections.abc import Mapping
from dataclasses import dataclass

from inventory import photos
from inventory.models import Design, Photo, Position
from inventory.refs import split_ref

WIDE = 1000
"""The drawing is so many units wide, whatever its picture."""


@dataclass(frozen=True)
class Pinned:
    """A position on the picture, in units of the drawing."""

    ref: str
    x: str
    y: str
    state: str


@dataclass(frozen=True)
class Side:
    name: str
    photo: Photo
    height: int
    pins: tuple[Pinned, ...]

    @property
    def wide(self) -> int:
        return WIDE


@dataclass(frozen=True)
class BoardMap:
    """`loose` are the positions that no picture shows: they stand in a plain grid, in reference order."""

    sides: tuple[Side, ...]
    loose: tuple[tuple[str, str], ...]
    states: tuple[str, ...]

    @property
    def size(self) -> str:
        """The size, of `photos.SIZES`, in which each side is shown: two share what a page may weigh."""
        return "map" if len(self.sides) < 2 else "map of two"


def board_map(design: Design | None, states: Mapping[str, str]) -> BoardMap:
    """Every position with its state (a word); a position that was never given a side is on top."""
    pictures: dict[str, Photo] = {}
    positions: list[Position] = []
    if design is not None:
        for photo in photos.of("design", design.pk).exclude(side=""):
            pictures.setdefault(photo.side, photo)
        positions = list(design.positions.exclude(x=None).exclude(y=None)) if pictures else []
    sides = []
    shown: set[str] = set()
    for name in ("top", "bottom"):
        if name not in pictures:
            continue
        photo = pictures[name]
        height = round(WIDE * photo.height / photo.width)
        here = [position for position in positions if (position.side or "top") == name]
        shown.update(position.ref for position in here)
        pins = tuple(
            Pinned(
                position.ref,
                f"{float(position.x or 0) * WIDE:.1f}",
                f"{float(position.y or 0) * height:.1f}",
                states.get(position.ref, ""),
            )
            for position in here
        )
        sides.append(Side(name, photo, height, pins))
    loose = sorted((ref for ref in states if ref and ref not in shown), key=split_ref)
    there = tuple(state for state in STATES if state in states.values())
    return BoardMap(tuple(sides), tuple((ref, states[ref]) for ref in loose), there)


STATES = ("good", "untested", "suspect", "faulty", "lifted", "empty", "pinned")
