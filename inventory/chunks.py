"""Long lists a piece at a time: databases take only so many values in a query."""

from collections.abc import Iterable, Iterator
from itertools import islice
from typing import TypeVar

Each = TypeVar("Each")


def chunks(rows: Iterable[Each], size: int = 500) -> Iterator[list[Each]]:
    """Lists of `size` rows in their order, the last as many as are left; none of no rows.

    >>> list(chunks("abcde", 2))
    [['a', 'b'], ['c', 'd'], ['e']]
    """
    left = iter(rows)
    while chunk := list(islice(left, size)):
        yield chunk
