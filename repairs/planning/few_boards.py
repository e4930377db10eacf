"""The fewest boards that together hold as much of what is wanted as all do: a set cover, and so without a
quick exact way in general; on a bench it is found exactly.

A first cover is taken greedily, the most useful board first.  Then boards are tried depth first, those that
hold the scarcest wanted thing, and a branch is left as soon as it cannot beat the best cover so far.  Work is
bounded: beyond MAX_LOOKS, which some dozens of donors do not come near, the best found by then is answered.
"""

from collections import Counter
from collections.abc import Mapping
from heapq import heapify, heappop, heappush
from typing import Any

MAX_LOOKS = 200_000
"""How often it is looked at what a board holds of one thing."""

Held = Mapping[Any, Mapping[Any, int]]
"""Board -> supply -> pieces."""


def few_boards(wanted: Mapping[Any, int], held: Held) -> list[Any]:
    """The fewest boards; of as few, those tried first.  What no board holds is left out of account."""
    there: Counter[Any] = Counter()
    for on_board in held.values():
        there.update(on_board)
    lacking = {supply: min(count, there[supply]) for supply, count in wanted.items() if there[supply]}
    boards = {
        board: {
            supply: min(count, lacking[supply]) for supply, count in on_board.items() if supply in lacking
        }
        for board, on_board in sorted(held.items())
    }
    greedy = _greedily(lacking, boards)
    if sum(map(len, boards.values())) * len(greedy) > MAX_LOOKS:  # not even one more cover is to be looked at
        return greedy
    return sorted(_Search(boards, greedy).fewest(lacking))


def _greedily(wanted: Mapping[Any, int], held: Held) -> list[Any]:
    """Boards that together hold as much of what is wanted as all do, none of them needless."""
    left = dict(wanted)

    def serves(board: Any) -> int:
        return sum(min(count, left[supply]) for supply, count in held[board].items())

    # What a board still serves only falls while others are taken, so a stale figure is an upper bound.
    line = [(-serves(board), board) for board in held]
    heapify(line)
    boards: list[Any] = []
    while line:
        _, board = heappop(line)
        served = serves(board)
        if served and (not line or (-served, board) <= line[0]):
            boards.append(board)
            for supply, count in held[board].items():
                left[supply] -= min(count, left[supply])
        elif served:
            heappush(line, (-served, board))
    there: Counter[Any] = Counter()
    for board in boards:
        there.update(held[board])
    for board in reversed(boards):
        spare = {supply: there[supply] - (wanted[supply] - left[supply]) for supply in held[board]}
        if all(count <= spare[supply] for supply, count in held[board].items()):
            boards = [other for other in boards if other != board]
            there.subtract(held[board])
    return boards


class _Search:
    """Looks for the smallest cover; `best` is the smallest so far."""

    def __init__(self, boards: Held, best: list[Any]) -> None:
        self._boards = boards
        self._best = best
        self._looks = 0

    def fewest(self, lacking: Mapping[Any, int]) -> list[Any]:
        self._try([], dict(lacking), [board for board, held in self._boards.items() if held])
        return self._best

    def _try(self, taken: list[Any], lacking: dict[Any, int], open_boards: list[Any]) -> None:
        self._looks += sum(len(self._boards[board]) for board in open_boards)
        if not lacking:
            if len(taken) < len(self._best):
                self._best = taken
            return
        useful = self._useful(lacking, open_boards)
        if self._hopeless(len(taken), lacking, useful):
            return
        supply = min(
            lacking, key=lambda each: (sum(each in held for held in useful.values()), _in_order(each))
        )
        first = sorted(
            (board for board in useful if supply in useful[board]),
            key=lambda board: (-sum(useful[board].values()), board),
        )
        left = list(useful)
        for board in first:
            if self._looks > MAX_LOOKS:
                return
            left = [other for other in left if other != board]
            short = {each: count - useful[board].get(each, 0) for each, count in lacking.items()}
            self._try([*taken, board], {each: n for each, n in short.items() if n > 0}, left)

    def _useful(self, lacking: Mapping[Any, int], open_boards: list[Any]) -> dict[Any, dict[Any, int]]:
        """What each board still serves, without those that another matches in everything."""
        useful: dict[Any, dict[Any, int]] = {}
        for board in open_boards:
            held = self._boards[board]
            serves = {each: min(held[each], n) for each, n in lacking.items() if each in held}
            if serves:
                useful[board] = serves
        kept: dict[Any, dict[Any, int]] = {}
        for board in sorted(useful, key=lambda board: (-sum(useful[board].values()), board)):
            serves = useful[board]
            # Where more than one piece is wanted, both of two like boards may be.
            single = all(lacking[each] == 1 for each in serves)
            if not single or not any(serves.keys() <= other.keys() for other in kept.values()):
                kept[board] = serves
        return kept

    def _hopeless(self, taken: int, lacking: Mapping[Any, int], useful: Held) -> bool:
        """Whether even the most useful boards, each by itself, could not beat the best cover."""
        room = len(self._best) - 1 - taken
        if room <= 0:
            return True
        most = sorted((sum(held.values()) for held in useful.values()), reverse=True)[:room]
        if sum(most) < sum(lacking.values()):
            return True
        there: Counter[Any] = Counter()
        for held in useful.values():
            there.update(held)
        if any(there[each] < count for each, count in lacking.items()):
            return True
        return any(
            sum(sorted((held.get(each, 0) for held in useful.values()), reverse=True)[:room]) < count
            for each, count in lacking.items()
        )


def _in_order(supply: Any) -> str:
    """Orders supplies of any sort, so that equal benches give equal plans."""
    return repr(supply)
