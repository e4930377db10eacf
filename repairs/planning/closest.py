"""Two or three whole numbers that together come closest to a target, adding or as reciprocals."""

from bisect import bisect_right
from collections.abc import Iterator, Mapping, Sequence
from fractions import Fraction
from heapq import heappop, heappush
from math import inf
from typing import NamedTuple

Window = tuple[Fraction, Fraction, Fraction]
"""What is aimed at, the least and the most that will do."""


class Recipe(NamedTuple):
    """Numbers to join: all alike, or the first two one way and the third to them the other way."""

    adds: bool
    pair_adds: bool
    values: tuple[int, ...]

    @property
    def total(self) -> Fraction:
        one, other, *rest = self.values
        total = Fraction(one + other) if self.pair_adds else Fraction(one * other, one + other)
        for third in rest:
            total = total + third if self.adds else total * third / (total + third)
        return total


def pairs(
    values: Sequence[int], window: Window, *, adds: bool, pieces: Mapping[int, int], most: int
) -> Iterator[Recipe]:
    """Up to so many pairs inside the window, the closest of all among them.

    `values` ascend; `pieces` says how many there are of each. One walk with a finger at each end: a pair that
    comes out too small moves the lower finger up, one too large the upper finger down, so that no closer pair
    is passed over.
    """
    (goal, unit), (low_over, low_under), (high_over, high_under) = (end.as_integer_ratio() for end in window)
    best: list[tuple[int, int, int]] = []
    bound: float = inf
    i, j = 0, len(values) - 1
    while i <= j:
        one, other = values[i], values[j]
        bottom = one + other
        if adds:
            top, bottom = bottom, 1
        else:
            top = one * other
        over = top * unit - goal * bottom
        error = (over if over >= 0 else -over) // bottom
        if (
            error < bound
            and (i != j or pieces[one] > 1)
            and low_over * bottom <= top * low_under
            and top * high_under <= high_over * bottom
        ):
            heappush(best, (-error, one, other))
            if len(best) > most:
                heappop(best)
                bound = -best[0][0]
        if over < 0:
            i += 1
        else:
            j -= 1
    return (Recipe(adds, adds, (one, other)) for _, one, other in best)


def triples(
    values: Sequence[int], window: Window, *, pieces: Mapping[int, int], most: int
) -> Iterator[Recipe]:
    """Triples inside the window, the closest among them: up to so many for each third and arrangement."""
    if not values or 3 * values[-1] < window[1] or values[0] > 3 * window[2]:
        return
    left = {value: pieces[value] for value in values}
    endless = 3 * values[-1]  # more than any two of them
    for third in values:
        left[third] -= 1
        others = [value for value in values if left[value]]
        for adds in (True, False):
            aim, low, high = (_without(third, whole, adds=adds, endless=endless) for whole in window)
            for pair_adds in (True, False):
                # Three that are joined alike come once, the largest last.
                reach = others[: bisect_right(others, third)] if pair_adds == adds else others
                for pair in pairs(reach, (aim, low, high), adds=pair_adds, pieces=left, most=most):
                    yield Recipe(adds, pair_adds, (*pair.values, third))
        left[third] += 1


def _without(part: int, whole: Fraction, *, adds: bool, endless: int) -> Fraction:
    """What must be joined to the part to make the whole: nothing or no end of it where it is made already."""
    if adds:
        return max(whole - part, Fraction(0))
    return 1 / (1 / whole - Fraction(1, part)) if part > whole else Fraction(endless)
