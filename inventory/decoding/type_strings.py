"""What every reader of type strings gives back, and the one place where it is put together."""

from __future__ import annotations

import re
from collections.abc import Callable, Iterator
from decimal import Decimal
from functools import cached_property
from typing import Any, NamedTuple

from inventory.decoding.patterns import UNREAD as UNREAD
from inventory.decoding.patterns import with_gaps
from inventory.decoding.reading import Reading


class TypeInWord(NamedTuple):
    """A type as read from one word, before its neighbours are looked at. `bare`: printed as figures alone."""

    reading: Reading
    bare: bool = False


class System:
    """What reads the types of one system from a certain word, in capitals."""

    def __init__(self, read: Callable[[str], Iterator[TypeInWord]], forms: tuple[Form, ...]) -> None:
        self.read = read
        self._forms = forms

    @cached_property
    def form(self) -> re.Pattern[str]:
        """It takes every word that the system reads, and perhaps more; UNREAD stands for any character.

        Only a partly unreadable word asks for them, so that they are made then: long tables make long forms.
        """
        patterns = (form.pattern if isinstance(form, re.Pattern) else form() for form in self._forms)
        return re.compile("|".join(f"(?:{with_gaps(pattern)})" for pattern in patterns))


Form = re.Pattern[str] | Callable[[], str]


def system(read: Callable[[str], Iterator[TypeInWord]], *forms: Form) -> System:
    return System(read, forms)


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
    group: str = "",
) -> Reading:
    return Reading(
        kind=kind,
        number=number,
        make=make,
        package=package,
        function=function,
        group=group,
        tolerance_percent=Decimal(tolerance) if tolerance else None,
        traits={name: member for name, member in (traits or {}).items() if member not in ("", None, False)},
        notation=system[0],
        standard=system[1],
        score=score,
        reasons=reasons,
        cautions=cautions,
        used=tuple(each for each in used if each[0]),
    )
