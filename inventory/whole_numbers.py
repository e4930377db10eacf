"""Whole numbers as people and programs write them, and the most pieces that are kept together."""

from collections.abc import Iterable

MAX_PIECES = 1_000_000_000
"""Of a lot, need, order or movement: what one door lets in, others count, move and scrap."""
_MAX_FIGURES = 18  # a BigInteger holds them all


def whole_number(text: str) -> int | None:
    """The number that plain figures are, at most 18 of them; None for anything else."""
    return int(text) if text.isascii() and text.isdigit() and len(text) <= _MAX_FIGURES else None


def whole_numbers(texts: Iterable[str]) -> list[int]:
    """The numbers among the texts, in their order."""
    return [number for text in texts if (number := whole_number(text)) is not None]
