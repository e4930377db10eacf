"""The sorts of fact that a kind's `traits` may hold, and how each is read.

A trait is kept in a form that JSON holds exactly: figures as plain decimal text, flags, words, lists of them.
To teach the bench a new trait, add one line to the file of its kind, where the rules that judge by it are.
"""

import re
from dataclasses import dataclass
from decimal import Decimal

from inventory.spec.figures import plain, read_figure, short
from inventory.spec.notation import SAME_CHARACTER

TOKEN = re.compile(r"[a-z0-9][a-z0-9_]{0,31}")
_ORGANISATION = re.compile(r"([0-9]{1,6})([KMG]?)x([0-9]{1,3})")


def token(given: object) -> str:
    """Lower-case word with underscores ("TO can" -> "to_can"), or ValueError."""
    word = (
        "_".join(given.lower().replace("-", " ").replace("/", " ").split()) if isinstance(given, str) else ""
    )
    if not TOKEN.fullmatch(word):
        raise ValueError(
            f"expected a word of at most 32 letters, figures and underscores, found {short(given)}"
        )
    return word


def line(given: object, longest: int) -> str:
    """One line of printable text with single spaces, or ValueError."""
    if not isinstance(given, str):
        raise ValueError(f"expected text, found {short(given)}")
    text = " ".join(given.translate(SAME_CHARACTER).split()) if len(given) <= 10 * longest else given
    if len(text) > longest:
        raise ValueError(f"at most {longest} characters, found {len(text)}")
    if not text.isprintable():
        raise ValueError("control characters are not kept")
    return text


@dataclass(frozen=True)
class Flag:
    """Yes or no."""

    about: str

    def read(self, given: object) -> bool:
        if isinstance(given, bool):
            return given
        answer = given.strip().lower() if isinstance(given, str) else ""
        if answer in ("yes", "true", "y"):
            return True
        if answer in ("no", "false", "n"):
            return False
        raise ValueError(f"expected yes or no, found {short(given)}")


@dataclass(frozen=True)
class Word:
    """One word of a list; any word where the list is empty."""

    about: str
    listed: str = ""

    def read(self, given: object) -> str:
        word = token(given)
        if self.listed and word not in self.listed.split():
            raise ValueError(f"expected one of {self.listed}, found {short(given)}")
        return word


@dataclass(frozen=True)
class Words:
    """Some words of a list, in the list's order."""

    about: str
    listed: str

    def read(self, given: object) -> tuple[str, ...]:
        words = self.listed.split()
        items = re.split(r"[,;\s]+", given.strip()) if isinstance(given, str) else given
        if not isinstance(items, list | tuple) or not 1 <= len(items) <= len(words):
            raise ValueError(f"expected some of {self.listed}, found {short(given)}")
        chosen = {token(item) for item in items}
        if not chosen <= set(words):
            raise ValueError(f"expected some of {self.listed}, found {short(given)}")
        return tuple(word for word in words if word in chosen)


@dataclass(frozen=True)
class Number:
    """An exact figure, kept as plain decimal text."""

    about: str
    unit: str = ""
    least: Decimal = Decimal(0)
    most: Decimal = Decimal(10) ** 9
    places: int = 9

    def read(self, given: object) -> str:
        return plain(read_figure(given, self.unit, least=self.least, most=self.most, places=self.places))

    def typed(self, kept: str) -> Decimal:
        return Decimal(kept)


@dataclass(frozen=True)
class Numbers:
    """A few exact figures, largest first."""

    about: str
    unit: str = ""

    def read(self, given: object) -> tuple[str, ...]:
        items = re.split(r"[;\s]+|,\s+", given.strip()) if isinstance(given, str) else given
        if not isinstance(items, list | tuple) or not 1 <= len(items) <= 16:
            raise ValueError(f"expected 1 to 16 numbers, found {short(given)}")
        bound = Decimal(10) ** 6
        figures = [read_figure(item, self.unit, least=-bound, most=bound, places=6) for item in items]
        return tuple(plain(figure) for figure in sorted(figures, reverse=True))

    def typed(self, kept: tuple[str, ...]) -> tuple[Decimal, ...]:
        return tuple(map(Decimal, kept))


@dataclass(frozen=True)
class Text:
    """Free text on one line."""

    about: str
    longest: int = 64
    capitals: bool = False

    def read(self, given: object) -> str:
        text = line(given, self.longest)
        if not text:
            raise ValueError("empty")
        return line(text.upper(), self.longest) if self.capitals else text


@dataclass(frozen=True)
class Pins:
    """What the legs carry, in order: `E-B-C`, `in-gnd-out`. Single letters may be run together."""

    about: str

    def read(self, given: object) -> str:
        text = line(given, 64).upper() if isinstance(given, str) else ""
        names = re.split(r"[\s,/-]+", text)
        if len(names) == 1 and names[0].isalpha() and len(names[0]) <= 4:
            names = list(names[0])
        if not 2 <= len(names) <= 16 or not all(re.fullmatch(r"[A-Z0-9]{1,8}", name) for name in names):
            raise ValueError(f"expected what the legs carry in order, such as E-B-C, found {short(given)}")
        return "-".join(names)


@dataclass(frozen=True)
class Organisation:
    """Words by bits of a memory: `64Kx1`, `8Kx8`."""

    about: str

    def read(self, given: object) -> str:
        text = (
            "".join(given.split()).upper().replace("X", "x").replace("×", "x")
            if isinstance(given, str)
            else ""
        )
        if not _ORGANISATION.fullmatch(text):
            raise ValueError(f"expected words by bits such as 64Kx1, found {short(given)}")
        return text

    def typed(self, kept: str) -> tuple[int, int]:
        found = _ORGANISATION.fullmatch(kept)
        assert found is not None  # only what `read` let through is kept
        return int(found[1]) * 1024 ** " KMG".index(found[2] or " "), int(found[3])


Trait = Flag | Word | Words | Number | Numbers | Text | Pins | Organisation


def place_use(further: str = "") -> Word:
    """What a place asks of the part, by the same words for every kind, and some of the kind's own."""
    return Word(
        "what the place asks", f"general timing oscillator tuned rf pulse surge sense {further}".strip()
    )


KEEPS_TIME = frozenset(("timing", "oscillator", "tuned"))
TEMPERATURE = Number("highest rated temperature", "°C", least=Decimal(-100), most=Decimal(1000))
