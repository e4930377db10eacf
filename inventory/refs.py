"""Reference designators as people write them: `R1-R4, R7`.  Pure: no Django."""

import re
from collections.abc import Iterable
from itertools import groupby

MAX_REFS = 2000
LONGEST_REF = 32
_WRITTEN = r"(?<!\w)([A-Za-z]{1,4}[0-9]+)"
_TO = re.compile(
    rf"{_WRITTEN}(?:\s*\.{{2,}}\s*|\s+(?:to|bis|à|al|do|til|till|tot|až)\s+)(?=[A-Za-z]{{0,4}}[0-9])",
    re.IGNORECASE,
)
_AND = re.compile(
    rf"{_WRITTEN}(?:\s*[/+&]\s*|\s+(?:and|und|et|y|e|i|og|och|en)\s+)(?=[A-Za-z]{{1,4}}[0-9])",
    re.IGNORECASE,
)
"""What people write for a dash and for a comma between two references, in twelve languages.

`a` is left out: it is `to` in Spanish and `and` in Czech.
"""
DASHES = str.maketrans({"–": "-", "—": "-", "−": "-", "…": "-"})


_NUMBERS = re.compile(r"[0-9]+(?: ?- ?[0-9]+)?")
"""Numbers alone: their letters are those of the reference before."""


class UnreadableRefs(ValueError):
    """The text is no list of references; the message says where."""


def split_ref(ref: str) -> tuple[str, int, str]:
    """A reference as (letters, number, rest) for sorting: `R10A` -> ("R", 10, "A"); no number sorts first.

    >>> sorted(["R10", "R2", "C1"], key=split_ref)
    ['C1', 'R2', 'R10']
    """
    head = next((index for index, sign in enumerate(ref) if sign.isascii() and sign.isdigit()), len(ref))
    tail = head
    while tail < len(ref) and ref[tail].isascii() and ref[tail].isdigit():
        tail += 1
    number = int(ref[head:tail]) if head < tail else -1
    return ref[:head], number, ref[tail:]


def parse_refs(text: str) -> list[str]:
    """The references in a written list, ranges spelled out, in the order given.

    >>> parse_refs("R1-R4, R7; c2–3"), parse_refs("R1,2,5-6")
    (['R1', 'R2', 'R3', 'R4', 'R7', 'c2', 'c3'], ['R1', 'R2', 'R5', 'R6'])
    >>> parse_refs("C1 to C3, D4..D5; R1/R2"), parse_refs("R8 bis R9 und R11")
    (['C1', 'C2', 'C3', 'D4', 'D5', 'R1', 'R2'], ['R8', 'R9', 'R11'])

    UnreadableRefs: an empty list, a range that mixes letters or runs backwards, a reference given twice,
    a word among references, more than 2,000 references.
    """
    found: list[str] = []
    for piece in (
        _AND.sub(r"\1,", _TO.sub(r"\1-", text.translate(DASHES)))
        .replace(";", ",")
        .replace("\n", ",")
        .split(",")
    ):
        piece = " ".join(piece.split())
        letters = split_ref(found[-1])[0] if found and _NUMBERS.fullmatch(piece) else ""
        found.extend(_spell_out(letters + piece))
        if len(found) > MAX_REFS:
            raise UnreadableRefs(f"more than {MAX_REFS} references")
    if not found:
        raise UnreadableRefs("no reference given: expected something like R1-R4, R7")
    if len(set(found)) < len(found):
        twice = next(ref for ref in found if found.count(ref) > 1)
        raise UnreadableRefs(f"{twice} is given twice")
    return found


def _spell_out(piece: str) -> Iterable[str]:
    if not piece:
        return []
    first, dash, last = (side.strip() for side in piece.partition("-"))
    if not dash:
        if " " in piece:
            words = piece.split(" ")
            if any(split_ref(word)[1] >= 0 for word in words) and (
                word := next((each for each in words if each.isalpha()), "")
            ):
                raise UnreadableRefs(f"{piece!r}: {word} is no reference; write R1-R4 or R1, R4")
            return [ref for word in words for ref in _spell_out(word)]
        return [_checked(piece)]
    letters, low, rest = split_ref(first)
    end_letters, high, end_rest = split_ref(last)
    if low < 0 and letters.isalpha():  # a dash inside a reference that has no number before it: X-1
        return [_checked(piece)]
    if low < 0 or high < 0 or rest or end_rest or end_letters not in ("", letters):
        raise UnreadableRefs(f"{piece!r}: expected a reference like R7 or a range like R1-R4")
    if high < low:
        raise UnreadableRefs(f"{piece!r}: the range runs backwards")
    if high - low >= MAX_REFS:
        raise UnreadableRefs(f"{piece!r}: more than {MAX_REFS} references")
    return [_checked(f"{letters}{number}") for number in range(low, high + 1)]


def _checked(ref: str) -> str:
    if len(ref) > LONGEST_REF or not ref.isprintable() or not ref[0].isalnum():
        raise UnreadableRefs(f"{ref[:40]!r}: expected a reference like R7, at most {LONGEST_REF} characters")
    return ref


def write_refs(refs: Iterable[str]) -> str:
    """The shortest usual way to write references, in their natural order.

    >>> write_refs(["R7", "R3", "R1", "R2", "C1"])
    'C1, R1-R3, R7'
    """
    ordered = sorted(set(refs), key=split_ref)
    pieces = []
    for _run, members in groupby(
        enumerate(ordered),
        lambda pair: (split_ref(pair[1])[0], split_ref(pair[1])[1] - pair[0], split_ref(pair[1])[2]),
    ):
        run = [ref for _index, ref in members]
        plain = split_ref(run[0])[1] >= 0 and not split_ref(run[0])[2]
        if (
            plain
            and len(run) > 2
            and all(str(split_ref(ref)[1]) == ref[len(split_ref(ref)[0]) :] for ref in run)
        ):
            pieces.append(f"{run[0]}-{run[-1]}")
        else:
            pieces.extend(run)
    return ", ".join(pieces)
