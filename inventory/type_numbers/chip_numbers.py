"""Numbers of chips and regulators taken apart: maker's letters, the type itself, what stands behind it.

Each `split_…` takes one word in capitals, without blanks, and answers None (or nothing) for what is no such
number. Decoding puts the pieces into words; `normaliser` makes one type number of them.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator
from typing import NamedTuple

from inventory.type_numbers import linear_table as linears
from inventory.type_numbers import logic_table as logic
from inventory.type_numbers import memory_table as memories


def any_of(names: Iterable[str]) -> str:
    """A pattern of any of these names, the longest first."""
    return f"(?:{'|'.join(re.escape(name) for name in sorted(names, key=len, reverse=True))})"


_TTL = re.compile(
    r"([A-Z]{0,4}?)([57]4)([A-Z]{0,4}?)([123]G[0-9]{2,3}|[0-9]{2,5})([A-Z][A-Z0-9]{0,5})?(?:-[A-Z0-9]{1,4})?"
)


class Logic(NamedTuple):
    prefix: str
    series: str  # 54 or 74
    family: str  # LS; "" for standard TTL
    digits: str  # the function
    suffix: str


def split_logic(word: str) -> Logic | None:
    match = _TTL.fullmatch(word) if "4" in word else None
    if match is None:
        return None
    parts = Logic(*(group or "" for group in match.groups()))
    if parts.family not in logic.FAMILIES or (parts.prefix and parts.prefix not in logic.LOGIC_MAKERS):
        return None
    bare = not (parts.prefix or parts.family or parts.suffix)
    known = parts.digits in logic.LOGIC or parts.digits in logic.CMOS_4000
    return parts if known or not (bare or len(parts.digits) < 3) else None


MITSUBISHI = re.compile(r"M53([23])([0-9]{2})([A-Z]?)")


def split_mitsubishi(word: str) -> Logic | None:
    """M53204P is Mitsubishi's 7404, M53393P its 74193."""
    match = MITSUBISHI.fullmatch(word)
    if match is None:
        return None
    digits = match[2] if match[1] == "2" else f"1{match[2]}"
    return Logic(f"M53{match[1]}", "74", "", digits, match[3]) if digits in logic.LOGIC else None


CMOS_4000 = re.compile(r"([A-Z]{0,4}?)([18]?)(4[0-9]{3,4})([A-Z][A-Z0-9]{0,4})?")


class Cmos(NamedTuple):
    prefix: str
    maker_digit: str  # Motorola and Hitachi put a 1 before the number, Fujitsu an 8
    number: str
    suffix: str


def cmos_family(suffix: str) -> str:
    """The family of a 4000 type by what stands behind its number: UB is unbuffered."""
    return "cmos_4000_ub" if suffix.startswith("UB") else "cmos_4000"


def split_cmos(word: str) -> Cmos | None:
    match = CMOS_4000.fullmatch(word) if "4" in word else None
    if match is None:
        return None
    parts = Cmos(*(group or "" for group in match.groups()))
    if parts.number not in logic.CMOS_4000 or (parts.prefix and parts.prefix not in logic.LOGIC_MAKERS):
        return None
    if (parts.maker_digit == "1" and parts.prefix not in ("MC", "HD")) or (
        parts.maker_digit == "8" and parts.prefix != "MB"
    ):
        return None
    return parts


def package_of(suffix: str, maker: str) -> tuple[str, str]:
    """(package, version): by the maker's own list first, then by what most mean; both "" where none does."""
    for tail, version in ((suffix, ""), (suffix[1:], suffix[:1])):
        for owner in (maker, ""):
            if package := logic.PACKAGES.get(owner, {}).get(tail, ""):
                return package, version
    return "", ""


# ── Memories ─────────────────────────────────────────────────────────────────────────────────────

_MEMORY_TAIL = re.compile(
    r"([A-Z]{0,5})(?:-?([0-9]{1,3}))?((?:-?[A-Z]{1,5}|-(?:[A-Z0-9]{1,4})){0,3})([0-9]{0,2}[A-Z]?)"
)
_LEADING = re.compile(r"(M5[KLM]|[A-Z]{0,4})")
C_SAYS_CMOS = ("dram", "sram", "eeprom")
"""Of these a C inside the number says only that it is CMOS."""


class MemoryNumber(NamedTuple):
    """A memory's number; what is not printed is ""."""

    prefix: str
    printed: str  # the number as this maker prints it
    number: str  # the industry's
    letters: str  # behind the number, before the speed
    speed: str  # as printed
    package: str  # the maker's letters for it
    half: str  # behind them: which half of a half-good memory works, on some makers' parts


def split_memory(word: str) -> Iterator[MemoryNumber]:
    for prefix, printed, number in _memory_numbers(word):
        if tail := _MEMORY_TAIL.fullmatch(word[len(prefix) + len(printed) :]):
            letters, speed, package, half = (group or "" for group in tail.groups())
            yield MemoryNumber(prefix, printed, number, letters, speed, package, half)


def maker_of_memory(prefix: str, printed: str, letters: str) -> str:
    """Whose letters these are; NEC prints D for µPD and a C or D behind the number, Intel D for ceramic."""
    if prefix == "D" and (f"UPD{printed}" in memories.MEMORY_NAMES or printed[:1] == "4"):
        return "NEC"
    if prefix == "D" and letters[-1:] in ("C", "D"):
        return "NEC"
    return memories.MEMORY_MAKERS.get(prefix, "")


def _memory_numbers(word: str) -> Iterator[tuple[str, str, str]]:
    """(prefix, number as printed, industry number): a maker's own name first, then a known number."""
    match = _LEADING.match(word)
    prefix = match[1] if match else ""
    rest = word[len(prefix) :]
    for length in range(min(10, len(word)), 3, -1):
        name = word[:length]
        goes_on = name[-1:].isdigit() and word[length : length + 1].isdigit()
        if name in memories.MEMORY_NAMES and not goes_on:
            yield prefix, name[len(prefix) :], memories.MEMORY_NAMES[name]
            return
    if prefix not in memories.MEMORY_MAKERS:
        return
    for length in range(7, 3, -1):
        printed = rest[:length]
        if rest[length : length + 1].isdigit():
            continue
        if printed in memories.MEMORY_NAMES:
            yield prefix, printed, memories.MEMORY_NAMES[printed]
            return
        # 41C256 is the CMOS 41256; a C in an EPROM's number is part of its name. 24LC16 is a 24C16.
        number = printed if printed in memories.MEMORIES else printed.replace("C", "", 1)
        if printed[:4] in ("24LC", "24AA", "24FC", "93LC"):
            number = printed[:2] + "C" + printed[4:]
        if number in memories.MEMORIES and (
            number == printed or memories.MEMORIES[number].function in C_SAYS_CMOS
        ):
            yield prefix, printed, number
            return


# ── Linear parts, processors and what stands round them ──────────────────────────────────────────

_LINEAR = re.compile(r"(M5[LW]|[A-Z]{0,4}?)([0-9]{3,5})([A-Z][A-Z0-9]{0,5})?(?:-[A-Z0-9]{1,4})?")


class LinearNumber(NamedTuple):
    name: str  # in the list
    prefix: str
    printed: str  # the name as it stands in the word: 68B50 of the 6850
    suffix: str


_PART_OF_Z80 = re.compile(r"(?<=^Z80)([ABEH]?)-(?=CPU|PIO|CTC|SIO|DMA|DART)")
_OF_RANGE = (
    (re.compile(r"(?<=^LM|^LF|^CA|^SG|^PM)([12])(?=[0-9]{2}(?![0-9]))"), "3"),
    (re.compile(r"(?<=^UC|^SG|^LM|^XR)([12])(?=5[0-9]{2}|[68][0-9]{2})"), "3"),
    (re.compile(r"(?<=^MC)(3[35])(?=[0-9]{3}(?![0-9]))"), "34"),
    (re.compile(r"(?<=^MC|^LM)(15)(?=[0-9]{2}(?![0-9]))"), "14"),
    (re.compile(r"(?<=^SN)(55)(?=[0-9]{2})"), "75"),
)
"""First figures that say the range of temperature, with those of the commercial one: LM158 and LM258 are the
LM358, UC2842 the UC3842, MC33063 the MC34063, MC1558 the MC1458, SN55107 the SN75107 (from memory of
National's, Unitrode's, Motorola's and Texas' data books).
"""


_OWN_THREE_FIGURES = frozenset(("AN", "BA", "HA", "LA", "TA"))
"""BA318 is no LM318: these makers set figures before the industry's, BA10358, HA17358 (from memory)."""


def split_linear(word: str) -> LinearNumber | None:
    """The whole name with its letters is sought first, then its figures alone."""
    word = _PART_OF_Z80.sub(r"\1", word)
    for start in range(4):
        prefix = word[:start]
        if prefix and prefix not in linears.LINEAR_MAKERS:
            continue
        for length in range(len(word), start + 2, -1):
            name, rest = word[start:length], word[length:]
            # Figures behind a Z80, a Z84C00 or a Z08400 are its clock.
            if rest[:1].isdigit() and name not in ("Z84C00", "Z80") and name[:4] != "Z084":
                continue
            if rest and name[-1].isalpha() and rest[0].isalpha() and name[:3] != "Z80" and name != "D780C":
                continue
            if name in linears.LINEAR_NAMES:
                return LinearNumber(linears.LINEAR_NAMES[name], prefix, name, rest)
            if name in linears.LINEARS and not name.isdigit() and (not prefix or name[0].isdigit()):
                return LinearNumber(name, prefix, name, rest)
    match = _LINEAR.fullmatch(word)
    if match and match[2] in linears.BY_DIGITS and (not match[1] or match[1] in linears.LINEAR_MAKERS):
        name = linears.BY_DIGITS[match[2]]
        if len(match[1]) == 1 and len(match[2]) < 4 and name in linears.SELDOM:
            return None  # R201 is a resistor, D313 a transistor
        if match[1] in _OWN_THREE_FIGURES and len(match[2]) < 4:
            return None
        return LinearNumber(name, match[1], match[2], word[match.end(2) :])
    return None


def split_graded(word: str) -> tuple[LinearNumber | None, str]:
    """The number, and the figures that say a wider range of temperature than the type's name in the list."""
    if parts := split_linear(word):
        return parts, ""
    for form, plain in _OF_RANGE:
        match = form.search(word)
        parts = split_linear(f"{word[: match.start()]}{plain}{word[match.end() :]}") if match else None
        if match and parts:
            printed = word[len(parts.prefix) : len(word) - len(parts.suffix)]
            return parts._replace(printed=printed), match[1]
    return None, ""


def maker_of_linear(word: str, parts: LinearNumber) -> str:
    """Whose letters these are; "" where others print them too."""
    prefix, suffix = parts.prefix, parts.suffix
    maker = linears.OWN_LETTERS.get(prefix, "") or _maker_within(word)
    digital = linears.LINEARS[parts.name].function in ("cpu", "interface")
    if prefix in ("MC", "R") and digital:
        return "Motorola" if prefix == "MC" else "Rockwell"
    if prefix == "D" and suffix.split("-")[0].endswith("C"):
        return "NEC"
    if prefix in ("P", "C", "I") and digital:
        return "Intel"
    if prefix == "D":
        return "" if digital or not suffix else "NEC"
    return maker


def _maker_within(word: str) -> str:
    """Whose letters head a name that is this maker's own: HA17741, UPC1555, TD62003."""
    for length in (4, 3, 2):
        head = word[:length]
        if length == 3 and head in linears.CHIP_SERIES and head not in linears.OWN_LETTERS:
            return ""  # TDA2030 is Pro Electron's, and no TD of Toshiba
        if head in linears.OWN_LETTERS and word not in linears.LINEARS and not head.isdigit():
            return "" if head in linears.SECOND_SOURCED else linears.OWN_LETTERS[head]
    return ""


_COUPLER_TAIL = re.compile(r"(?:(-?[1-4])(?![0-9]))?([A-Z]{0,3})")


class Coupler(NamedTuple):
    name: str  # as printed
    grade: str
    tail: str

    @property
    def number(self) -> str:
        own = linears.OPTOCOUPLER_NAMES.get(self.name, self.name)
        return own + (self.grade if self.name == "CNY17" else "")


def split_coupler(word: str) -> Coupler | None:
    for length in range(len(word), 2, -1):
        if word[:length] in linears.OPTOCOUPLERS and (tail := _COUPLER_TAIL.fullmatch(word, length)):
            return Coupler(word[:length], tail[1] or "", tail[2] or "")
    return None


# ── Regulators ───────────────────────────────────────────────────────────────────────────────────

FIXED = re.compile(r"([A-Z]{0,4}?|HA1)(7[89])([LMNSTH]?)0?([0-9]{2})([A-Z][A-Z0-9]{0,5})?")
NAMED = re.compile(r"(?:LM|MC|UA|SG)?(340|320|309|323)([A-Z]{0,3})-?([0-9]{1,2})?(?:\.[0-9])?")
ONE_OUTPUT = frozenset(("309", "323"))
"""LM309 and LM323 are made for 5 V only (from memory: National's data book)."""
ADJUSTABLE = re.compile(
    r"(MC1(?=723)|LM(?=[12])|[A-Z]{1,4}(?![12]))([123](?:17|37|38|50)|723|431)([LM]?)([A-Z][A-Z0-9]{0,4})?"
)
_BY_DASH = re.compile(
    r"([A-Z]{1,4}[0-9]{4})([A-Z]{0,4}?)(?:-?(ADJ)|V([0-9]{2})|[-V]([0-9]{1,2}(?:\.[0-9])?))?([A-Z]{0,3})"
)
ALONE = re.compile(r"((?:LM|BA)[0-9]{2,3})([A-Z]{0,4})")


class Fixed(NamedTuple):
    prefix: str
    sign: str  # 78 or 79
    current: str  # L, M, …
    figures: str
    suffix: str

    @property
    def volts(self) -> str:
        return linears.REGULATOR_VOLTS[self.figures]

    @property
    def maker(self) -> str:
        return "Hitachi" if self.prefix == "HA1" else linears.OWN_LETTERS.get(self.prefix, "")


def split_fixed(word: str) -> Fixed | None:
    match = FIXED.fullmatch(word) if "7" in word else None
    if match is None or match[4] not in linears.REGULATOR_VOLTS:
        return None
    return Fixed(*(group or "" for group in match.groups()))


class Named(NamedTuple):
    digits: str  # 340, 320, 309 or 323
    package: str
    volts: str  # with its sign; "" where it is not printed


def split_named(word: str) -> Named | None:
    match = NAMED.fullmatch(word)
    if match is None:
        return None
    digits, package, volts = (group or "" for group in match.groups())
    made = ("05",) if digits in ONE_OUTPUT else linears.REGULATOR_VOLTS
    if volts and volts.zfill(2) not in made:
        return None
    volts = "5" if digits in ONE_OUTPUT else str(int(volts)) if volts else ""
    return Named(digits, package, f"-{volts}" if volts and digits == "320" else volts)


class Adjustable(NamedTuple):
    prefix: str
    digits: str  # 317, whatever the temperature grade: of a 117 and a 217 too
    current: str
    suffix: str
    printed: str

    @property
    def number(self) -> str:
        return ("TL" if self.digits == "431" else "LM") + self.digits + self.current


def split_adjustable(word: str) -> Adjustable | None:
    match = ADJUSTABLE.fullmatch(word)
    if match is None or match[1] not in linears.LINEAR_MAKERS | {"TL", "MC1"}:
        return None
    prefix, printed, current, suffix = (group or "" for group in match.groups())
    digits = printed if printed in linears.ADJUSTABLE else "3" + printed[1:]
    return Adjustable(prefix, digits, current, suffix, printed)


class ByDash(NamedTuple):
    name: str  # as printed
    number: str  # the industry's
    package: str
    volts: str  # "" where it is not printed
    adjustable: bool
    tail: str


def split_by_dash(word: str) -> ByDash | None:
    """LM2940CT-5.0, LD1117V33, L4940V5: the output stands behind a dash or a V."""
    match = _BY_DASH.fullmatch(word)
    if match is None:
        return None
    name, package, adjustable, two, plain, tail = (group or "" for group in match.groups())
    number = linears.SAME_AS.get(name, name)
    if number not in linears.FIXED_BY_DASH:
        return None
    volts = f"{two[0]}.{two[1]}" if two and two != "12" else two or plain
    return ByDash(name, number, package, volts.removesuffix(".0"), bool(adjustable), tail)
