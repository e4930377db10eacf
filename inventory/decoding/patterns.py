"""From typed text to words of cells: a cell is one character, several possible ones, or any (`?`)."""

from __future__ import annotations

import re
import unicodedata
from typing import NamedTuple

from .reading import MalformedMarking
from .series import series_of

LONGEST = 48
"""Cells read of one marking; what lies beyond is left out and said."""

Cells = tuple[tuple[str, ...] | None, ...]

SAME_CHARACTER = str.maketrans(
    {"μ": "µ", "Ω": "Ω", "–": "-", "−": "-", "—": "-", "‐": "-", "’": "'", "⁄": "/"}
)
BESIDE = "®™©*•·;:\"'`#<>{}!^_"
"""Marks that printers and people put beside a word and that mean nothing in any code here."""

# Upside-down reading (shared reference, body and reading rules R22): 0 1 6 8 9 and, softly, 2 and 5.
TURNED = {"0": "0", "1": "1", "6": "9", "8": "8", "9": "6", "2": "2", "5": "5"}

# Characters mistaken for each other when worn or small (common practice, no source).
CONFUSED_SETS = ("0ODQ", "1I7/", "2Z", "5S", "689BG", "38", "4A", "KX", "CG")
CONFUSED: dict[str, str] = {}
for _set in CONFUSED_SETS:
    for _character in _set:
        CONFUSED[_character] = CONFUSED.get(_character, "") + _set.replace(_character, "")


PLAIN = re.compile(r"[0-9A-Za-z .,/%+=~-]*")


UNREAD = "?"
"""Stands for an unreadable character in the forms of a system."""


_TOKEN = re.compile(r"\(\?!.*?\)|\(\?:|\[[^]]*\]|\{[^}]*\}|\\.|.")


def with_gaps(pattern: str) -> str:
    """The pattern with UNREAD allowed wherever it asks for a character; what it forbids is not asked."""
    tokens = []
    for token in _TOKEN.findall(pattern):
        if token.startswith("["):
            token = f"{token[:-1]}{UNREAD}]"
        elif token.isalnum():
            token = f"[{token}{UNREAD}]"
        tokens.append("" if token.startswith("(?!") else token)
    return "".join(tokens)


class MarkingWord(NamedTuple):
    """One run of cells between spaces. `whole` is its text when every cell is certain, else ""."""

    cells: Cells
    printed: str
    whole: str


def words_of(text: str) -> tuple[list[MarkingWord], list[str], bool]:
    """Words, the notes a person put in round brackets, and whether the text was cut. MalformedMarking names
    the place.
    """
    if len(text) <= LONGEST and PLAIN.fullmatch(text):
        return (
            [MarkingWord(tuple([(character,) for character in word]), word, word) for word in text.split()],
            [],
            False,
        )
    notes: list[str] = []
    words: list[MarkingWord] = []
    cells: list[tuple[str, ...] | None] = []
    printed: list[str] = []
    count = 0
    position = 0

    def close() -> None:
        if cells:
            whole = "".join(each[0] if each and len(each) == 1 else "\0" for each in cells)
            words.append(MarkingWord(tuple(cells), "".join(printed), "" if "\0" in whole else whole))
            cells.clear()
            printed.clear()

    while position < len(text):
        character = text[position]
        if count >= LONGEST:
            close()
            return words, notes, True
        if character == "[":
            end = text.find("]", position)
            if end < 0:
                raise MalformedMarking("This square bracket is not closed.", position)
            inside = [each for each in flat(text[position + 1 : end]) if not each.isspace() and each != "|"]
            if not inside:
                raise MalformedMarking("Nothing stands between these square brackets.", position)
            if "[" in inside:
                raise MalformedMarking("Square brackets cannot be nested.", position)
            cells.append(None if "?" in inside else tuple(dict.fromkeys(inside)))
            printed.append(text[position : end + 1])
            position = end + 1
            count += 1
            continue
        if character == "]":
            raise MalformedMarking("This square bracket was never opened.", position)
        if character == "(":
            end = text.find(")", position)
            end = len(text) if end < 0 else end
            notes.append(text[position + 1 : end].strip())
            close()
            position = end + 1
            continue
        position += 1
        for single in flat(character):
            if single == "?":
                cells.append(None)
                printed.append("?")
                count += 1
            elif single.isspace() or not single.isprintable() or single in BESIDE or single == ")":
                close()
            else:
                cells.append((single,))
                printed.append(single)
                count += 1
    close()
    return words, notes, False


def gapped(cells: Cells) -> str:
    """The word with UNREAD for every cell that is not certain."""
    return "".join(seen[0] if seen and len(seen) == 1 else UNREAD for seen in cells)


def flat(text: str) -> str:
    """One spelling for look-alikes that differ only in encoding: full-width forms, the two micro signs, the
    two ohms.
    """
    return text if text.isascii() else unicodedata.normalize("NFKC", text).translate(SAME_CHARACTER)


def turned(cells: Cells) -> Cells | None:
    """The same cells read upside down, None when a character does not survive that."""
    found: list[tuple[str, ...] | None] = []
    for seen in reversed(cells):
        if seen is None:
            found.append(None)
            continue
        options = tuple(TURNED[each] for each in seen if each in TURNED)
        if not options:
            return None
        found.append(options)
    return tuple(found)


def doubted(cells: Cells) -> Cells:
    """Each certain character widened by those it is mistaken for."""
    return tuple(
        seen
        if seen is None
        else tuple(dict.fromkeys((*seen, *(c for each in seen for c in CONFUSED.get(each, "")))))
        for seen in cells
    )


STROKE = re.compile(r"(?<=[^\d\s])/(?![+-]?\d{1,3}%)|/(?=[^\d\s+-])")
FIGURES_STROKE = re.compile(r"(?<!\d)(\d{1,5})/(\d{1,4})(?![\d\s]*[Ww%])")


KEPT = re.compile(
    r"(?<!\S)(?:[0-9]{2}/[01][0-9]{2}/[0-9]{2}|[CB]R[12]/[23][A-Z0-9]{1,2}|SZ[XY]?[0-9]{2}/[0-9.,]{1,4}"
    r"|KZ[ZS]?[0-9]{2,3}/[0-9]{1,2}V[0-9]?)(?!\S)"
)
"""Words whose strokes are their own: a climatic category, half a cell (CR1/2AA), a zener of the GDR or of
Tesla."""
VOLTS_BEHIND_DASH = re.compile(r"(?<!\S)([0-9]{1,3}(?:[.,][0-9])?)-([0-9]{1,2}V)(?!\S)")  # 15-25V
MILITARY_STROKE = re.compile(r"(?<=M38510)/(?=\d)")
PERCENT_BETWEEN = re.compile(r"(?<!\S)([0-9.,]{1,6})/([0-9.,]{1,4}%)(?:/([0-9]{2,4}))?(?!\S)")  # 1000/1%/63
SURGE = re.compile(r"(?<![\d.])(\d{1,3})/(\d{1,3})(?=\s*V)")
PLUS_BEFORE = re.compile(r"(?<!\S)\+(?=[\d.])(?!\S*[%/-]|[\d.]+\s*ppm)")
PLUS_AFTER = re.compile(r"(?<=\w)\+(?!\S)")


SEVERAL = re.compile(r"(?<!\S)([1-9][0-9]?)[xX×]([0-9]{1,3}[RkKM][0-9]{0,2}|[1-9][0-9][0-5])(?!\S)")


THOUSANDS = re.compile(
    r"(?<!\S)([1-9][0-9]{0,2})((?:[ \u00a0\u2009\u202f][0-9]{3})+)"
    r"(?=\s?(?:[µμunp]F?|MFD|[kM]?[ΩΩ]|R|ohms?)(?![A-Za-z0-9]))",
    re.IGNORECASE,
)


def in_thousands(found: re.Match[str]) -> str:
    """4 700 µF is 4700 µF; 4 100 µF are two figures, as nobody makes 4100 µF (IEC 60063: E24)."""
    figures = "".join((found[1] + found[2]).split())
    return figures if series_of(int(figures)) in ("E6", "E12", "E24") else found[0]


def tidy(text: str) -> str:
    """Separate what printers join with a stroke ("47n/250V", "470/16"), but keep "1/4W" and "+80/-20%".

    Of "450/500V", working volts and surge volts, each gets its unit. A plus that marks a leg ("+47 16") is
    set apart from the figures. 8x10k and 8x103, so many of a network, are its 10k.
    """
    text = THOUSANDS.sub(in_thousands, text)
    if SEVERAL.search(text):
        text = SEVERAL.sub(r"\1x \2", text)
    if "+" in text:
        text = PLUS_AFTER.sub(" +", PLUS_BEFORE.sub("+ ", text))
    if "-" in text:
        text = VOLTS_BEHIND_DASH.sub(r"\1 \2", text)
    if "/" not in text:
        return text
    if KEPT.search(text):
        return " ".join(part if KEPT.fullmatch(part) else tidy(part) for part in text.split())
    text = MILITARY_STROKE.sub("", PERCENT_BETWEEN.sub(r"\1 \2 \3", text))
    text = SURGE.sub(lambda pair: f"{pair[1]}V {pair[2]}" if is_surge(pair) else pair[0], text)
    return FIGURES_STROKE.sub(r"\1 \2", STROKE.sub(" ", text))


def is_surge(pair: re.Match[str]) -> bool:
    return int(pair[1]) < int(pair[2]) <= 1.4 * int(pair[1])
