"""What is in a position of a board now, as the checks see it."""

import re
from collections.abc import Mapping
from dataclasses import dataclass
from functools import cached_property

from inventory.spec import Spec


@dataclass(frozen=True)
class FittedPiece:
    """A piece in a position: its lot, its Spec, its marking and condition."""

    ref: str
    lot: int
    spec: Spec
    marking: str = ""
    condition: str = "untested"

    @cached_property
    def properties(self) -> Mapping[str, str]:
        """What link rules and banks ask of it; "" where it is not known."""
        return {
            "number": self.spec.number,
            "make": self.spec.make,
            "suffix": str(self.spec.traits.get("suffix", "")) or suffix_in(self.marking, self.spec.number),
            "half": str(self.spec.traits.get("half", "")),
        }

    @property
    def text(self) -> str:
        named = " ".join(filter(None, (self.spec.make, self.spec.number or self.spec.text)))
        return f"{self.ref} is {named}" + (f" (marked {self.marking})" if self.marking else "")


def plainly(text: str) -> str:
    """Letters and figures only, in capitals."""
    return "".join(filter(str.isalnum, text)).upper()


def suffix_in(marking: str, number: str) -> str:
    """What follows the type number in a marking, up to the next gap.

    >>> suffix_in("CD4066BE 8120", "4066"), suffix_in("TMS2716JL-45 8033", "2716")
    ('BE', 'JL-45')
    >>> suffix_in("4066 8120", "4066")
    ''
    >>> suffix_in("MC14066BCP", "4066")  # one maker puts a 1 before the numbers of the 4000 family
    'BCP'
    """
    if not number:
        return ""
    figures = re.sub(r"^[A-Za-z]+", "", number) or number
    found = re.search(
        rf"(?:(?<![0-9])|(?<=MC1)){re.escape(figures)}([A-Za-z][A-Za-z0-9-]*)", marking, re.IGNORECASE
    )
    return found[1].upper() if found else ""


def is_number(found: str, wanted: str) -> bool:
    """Whether a type number is the wanted one, whatever maker's letters stand before and package letters
    after.

    >>> is_number("TMS2716JL", "2716"), is_number("27160", "2716"), is_number("2516", "2716")
    (True, False, False)
    """
    ours, theirs = plainly(found), plainly(wanted)
    if ours == theirs:
        return True
    if not theirs[:1].isdigit():
        return False
    return (
        re.fullmatch(
            rf"[A-Z]{{0,5}}{re.escape(theirs)}[A-Z][A-Z0-9]{{0,5}}|[A-Z]{{1,5}}{re.escape(theirs)}", ours
        )
        is not None
    )
