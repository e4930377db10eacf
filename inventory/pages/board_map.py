"""The picture of each side of a design with its positions pinned, each in a state of a shape and a word."""

from collections import defaultdict
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from itertools import product

from inventory.models import Design, Photo, Position
from inventory.pictures import photos
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
    dx: int = 0
    dy: int = -13
    anchor: str = "middle"
    """Where its name stands beside it: moved aside where it would hide another."""


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
    def loose_by_state(self) -> list[tuple[str, list[str]]]:
        """Each state that loose positions have, said once, with those positions."""
        there = ((state, [ref for ref, its in self.loose if its == state]) for state in STATES)
        return [(state, refs) for state, refs in there if refs]

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
        at = {
            position.ref: (float(position.x or 0) * WIDE, float(position.y or 0) * height)
            for position in here
        }
        named = _names_beside(at)
        pins = tuple(
            Pinned(ref, f"{x:.1f}", f"{y:.1f}", states.get(ref, ""), *named[ref])
            for ref, (x, y) in at.items()
        )
        sides.append(Side(name, photo, height, pins))
    loose = sorted((ref for ref in states if ref and ref not in shown), key=split_ref)
    there = tuple(state for state in STATES if state in states.values())
    return BoardMap(tuple(sides), tuple((ref, states[ref]) for ref in loose), there)


# Where a name may stand: (x, y of its base line, anchor), the usual one first.
_BESIDE = ((0, -11, "middle"), (0, 22, "middle"), (11, 5, "start"), (-11, 5, "end"))
_LETTER, _TALL, _SHAPE = 8.5, 14, 7
"""A letter's width, a name's height and half a shape, in units of the drawing as a desk shows it."""
_SQUARE = 40
"""About as wide as a name."""

Box = tuple[float, float, float, float]


def _names_beside(at: Mapping[str, tuple[float, float]]) -> dict[str, tuple[int, int, str]]:
    """For each pin the place of its name that hides least of the shapes and of the names placed before."""
    drawn = _Drawn()
    for ref, (x, y) in at.items():
        drawn.add(ref, (x - _SHAPE, y - _SHAPE, x + _SHAPE, y + _SHAPE))
    chosen: dict[str, tuple[int, int, str]] = {}
    for ref in sorted(at, key=split_ref):
        boxes = [(_name_box(ref, at[ref], place), place) for place in _BESIDE]
        box, place = min(boxes, key=lambda each: drawn.hidden_by(ref, each[0]))
        drawn.add(ref, box)
        chosen[ref] = place
    return chosen


class _Drawn:
    """Shapes and names that have their place, kept by the squares they reach into: few are near a name."""

    def __init__(self) -> None:
        self._count = 0
        self._reaching_into: dict[tuple[int, int], list[tuple[int, str, Box]]] = defaultdict(list)

    def add(self, ref: str, box: Box) -> None:
        self._count += 1
        for square in _squares(box):
            self._reaching_into[square].append((self._count, ref, box))

    def hidden_by(self, ref: str, box: Box) -> float:
        """The area that a name of this position would hide of what is of others."""
        near = {each for square in _squares(box) for each in self._reaching_into.get(square, ())}
        return sum(_overlap(box, other) for _number, of, other in sorted(near) if of != ref)


def _squares(box: Box) -> Iterator[tuple[int, int]]:
    left, top, right, bottom = (int(edge // _SQUARE) for edge in box)
    return product(range(left, right + 1), range(top, bottom + 1))


def _name_box(ref: str, pin: tuple[float, float], place: tuple[int, int, str]) -> Box:
    dx, dy, anchor = place
    wide = _LETTER * len(ref)
    left = pin[0] + dx - {"start": 0.0, "middle": wide / 2, "end": wide}[anchor]
    return left, pin[1] + dy - _TALL, left + wide, pin[1] + dy


def _overlap(one: Box, other: Box) -> float:
    across = min(one[2], other[2]) - max(one[0], other[0])
    down = min(one[3], other[3]) - max(one[1], other[1])
    return across * down if across > 0 and down > 0 else 0.0


STATES = ("good", "untested", "suspect", "faulty", "lifted", "empty", "pinned")
