"""What every reader of type strings gives back, and the one place where it is put together."""

from __future__ import annotations

import re
from collections.abc import Callable, Iterable, Iterator
from decimal import Decimal
from typing import Any, NamedTuple

from inventory.decoding.reading import Reading


class Found(NamedTuple):
    """A type as read from one word, before its neighbours are looked at. `bare`: printed as figures alone."""

    reading: Reading
    bare: bool = False


UNREAD = "?"
"""Stands for an unreadable character in the forms of a system."""


class System(NamedTuple):
    """What reads the types of one system from a certain word, in capitals.

    `forms` take every word that it reads, and perhaps more; UNREAD stands there for any character.
    """

    read: Callable[[str], Iterator[Found]]
    forms: tuple[re.Pattern[str], ...]


def system(read: Callable[[str], Iterator[Found]], *forms: re.Pattern[str]) -> System:
    return System(read, tuple(re.compile(_with_gaps(form.pattern)) for form in forms))


_TOKEN = re.compile(r"\(\?!.*?\)|\(\?:|\[[^]]*\]|\{[^}]*\}|\\.|.")


def _with_gaps(pattern: str) -> str:
    """The pattern with UNREAD allowed wherever it asks for a character; what it forbids is not asked."""
    tokens = []
    for token in _TOKEN.findall(pattern):
        if token.startswith("["):
            token = f"{token[:-1]}{UNREAD}]"
        elif token.isalnum():
            token = f"[{token}{UNREAD}]"
        tokens.append("" if token.startswith("(?!") else token)
    return "".join(tokens)


def any_of(names: Iterable[str]) -> str:
    """A pattern of any of these names, the longest first."""
    return f"(?:{'|'.join(re.escape(name) for name in sorted(names, key=len, reverse=True))})"


def type_reading(
    system: tuple[str, str],
    kind: str,
    number: str,
    used: list[tuple[str, str]],
    *reasons: str,
    score: float = 1.0,
    traits: dict[str, Any] | None = None,
    cautions: tuple[str, ...] = (),
    tolerance: str = "",
    make: str = "",
    package: str = "",
    function: str = "",
) -> Reading:
    return Reading(
        kind=kind,
        number=number,
        make=make,
        package=package,
        function=function,
        tolerance_percent=Decimal(tolerance) if tolerance else None,
        traits={name: member for name, member in (traits or {}).items() if member not in ("", None, False)},
        notation=system[0],
        standard=system[1],
        score=score,
        reasons=reasons,
        cautions=cautions,
        used=tuple(each for each in used if each[0]),
    )
