"""Word forms of the notations: found at once for a whole word, and by length for a partly unreadable one.

What cannot be read is looked for in the order of likelihood: figures as parts have them (the E series), near
what the meter read where there was one; all figures only where none of these fits.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from functools import lru_cache
from itertools import chain, islice, product
from math import log10, prod
from typing import NamedTuple

from .candidates import Candidate
from .patterns import Cells
from .reading import NOTHING
from .series import usual_figures

DIGITS = "0123456789"


class Cell(NamedTuple):
    """What may stand at one place of a word: `legal` when printed, `usual` when it cannot be read, `few` when
    others beside it cannot either.
    """

    legal: str
    usual: str
    few: str


def cell(legal: str, usual: str = "", few: str = "") -> Cell:
    return Cell(legal, usual or legal, few or usual or legal)


DIGIT = cell(DIGITS)

Read = Callable[[str], Iterable[Candidate]]


class Shape(NamedTuple):
    """One word form of a notation: the cells, the kind it speaks of, and what reads a word of that form.

    `figures`: the places of those digits that are the value's own, the point and the noughts left aside; ()
    where letters stand for them.
    """

    cells: tuple[Cell, ...]
    kind: str
    read: Read
    figures: tuple[int, ...] = ()


class Shapes:
    """Every word form known, found at once for a whole word and by length for a partial one."""

    def __init__(self, shapes: Iterable[Shape]) -> None:
        self.by_length: dict[int, list[Shape]] = {}
        self.by_signature: dict[str, list[Shape]] = {}
        for shape in shapes:
            self.by_length.setdefault(len(shape.cells), []).append(shape)
            choices = [("0",) if each.legal[0] in DIGITS else tuple(each.legal) for each in shape.cells]
            for signature in product(*choices):
                self.by_signature.setdefault("".join(signature), []).append(shape)

    def of_word(self, word: str) -> list[Shape]:
        return self.by_signature.get(word.translate(DIGITS_ALIKE), [])


DIGITS_ALIKE = str.maketrans("123456789", "000000000")


MAX_ORDER_CODES = 240


class Budget:
    """How many expansions may still be tried; `spent_out` says that some were not. `near`: by kind, what the
    meter read, in smallest units; `unlikely`: kinds that such a body hardly ever is.

    `read`: the values of each word that was read, as the same word stands in many lines in doubt.
    Type strings with unreadable characters are dear to expand: they are read once per question. So are order
    codes: `order_codes` is how many spellings of them may still be tried.
    """

    def __init__(
        self, expansions: int, near: Mapping[str, float] = NOTHING, unlikely: frozenset[str] = frozenset()
    ) -> None:
        self.left = expansions
        self.near = near
        self.unlikely = unlikely
        self.spent_out = False
        self.partial_types = 1
        self.order_codes = MAX_ORDER_CODES
        self.read: dict[object, list[Candidate]] = {}

    def without_meter(self) -> None:
        """What was read with a meter in mind is read anew without it."""
        self.near = NOTHING
        self.read.clear()

    def is_near(self, kind: str, value: int | None) -> bool:
        """Whether a part of this value may read so, by any tolerance that parts are sold with."""
        near = self.near.get(kind, 0)
        return bool(value) and near > 0 and 1 / MIN_SHARE_OF_READ <= (value or 0) / near <= MAX_SHARE_OF_READ


MANY, FEW_WORDS = 2, 120
"""With more hidden and nothing measured the likeliest words are as good a guess as all."""
MIN_SHARE_OF_READ, MAX_SHARE_OF_READ = 2.0, 1.35
"""A part of -20/+80 % reads up to 1.8 of its value; those that read a quarter less are seldom met."""


def expand(cells: Cells, shape: Shape, budget: Budget, most: int = 1200) -> Iterator[str]:
    """The words of this shape that the cells allow, likeliest figures first, at most `most`, paid from the
    budget. Of a kind that the meter did not read, none.
    """
    if budget.near and shape.kind and shape.kind not in budget.near:
        return
    choices: list[Sequence[str]] = []
    unread = cells.count(None)
    several = unread > 1
    if several and shape.kind in budget.unlikely:
        budget.spent_out = True
        return
    for seen, allowed in zip(cells, shape.cells, strict=True):
        if seen is None:
            options: Sequence[str] = allowed.few if several else allowed.usual
        else:
            options = [each for each in seen if each in allowed.legal]
            if not options:
                return
        choices.append(options)
    places = [place for place in shape.figures if choices[place][0] in DIGITS]
    hidden = sum(len(choices[place]) > 1 for place in places)
    near = budget.near.get(shape.kind, 0.0)
    if unread > MANY and not near:
        most = min(most, FEW_WORDS)
    if hidden and (several or near > 0):
        figures = likely_figures([choices[place] for place in places], near, shape.kind in CLOSE_KINDS)
        budget.spent_out = budget.spent_out or several
        if figures or near > 0:
            others = prod(len(each) for place, each in enumerate(choices) if place not in places)
            rows = (with_figures(choices, places, row) for row in figures)
            yield from paid(rows, len(figures) * others, budget, most)
            return
    yield from paid([choices], prod(map(len, choices)), budget, most)


def with_figures(choices: list[Sequence[str]], places: list[int], figures: str) -> list[Sequence[str]]:
    """The choices with these figures at their places."""
    row = choices.copy()
    for place, figure in zip(places, figures, strict=True):
        row[place] = figure
    return row


def paid(rows: Iterable[list[Sequence[str]]], size: int, budget: Budget, most: int) -> Iterator[str]:
    """The words of all rows, `size` in number, as many as may be tried."""
    room = min(size, most, budget.left)
    budget.spent_out = budget.spent_out or room < size
    budget.left -= room
    for letters in islice(chain.from_iterable(product(*row) for row in rows), room):
        yield "".join(letters)


CLOSE_KINDS = frozenset(("resistor", ""))
"""Of other kinds parts of E48 and closer are rare."""


def likely_figures(choices: Sequence[Sequence[str]], near: float, close: bool) -> Sequence[str]:
    """The figures as parts have them that fit these choices, the usual ones first; near the meter's, if any.

    Where no usual ones fit and one alone is hidden, it may be any.
    """
    fitting = fitting_figures(tuple(map("".join, choices)), close)
    if near <= 0:
        return fitting
    aim = log10(near)
    least, most = log10(MIN_SHARE_OF_READ), log10(MAX_SHARE_OF_READ)
    return [
        each for each in fitting if each.strip("0") and (log10(int(each)) - aim + least) % 1 <= least + most
    ]


@lru_cache(maxsize=4096)
def fitting_figures(choices: tuple[str, ...], close: bool) -> tuple[str, ...]:
    """Many shapes ask the same of the same cells."""
    fitting = [
        each
        for each in usual_figures(len(choices), close)
        if all(figure in allowed for figure, allowed in zip(each, choices, strict=True))
    ]
    if not fitting and sum(len(each) > 1 for each in choices) == 1:
        fitting = ["".join(each) for each in product(*choices)]
    return tuple(fitting)
