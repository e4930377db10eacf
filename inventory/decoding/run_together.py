"""Word by word before anything is read: what print runs together is parted, what it sets apart is joined."""

from __future__ import annotations

import re

from . import written
from .patterns import Cells, MarkingWord, gapped, with_gaps
from .ratings import EIA_VOLTS, plain_volts
from .shapes import DIGITS
from .temperature import USUAL_CODES

WATTS_FIRST = re.compile(
    r"((?:[1-9]|1[0-8]|2[05]|30|40|50|60|75)W)(?=[0-9]*[R.Ω]).+|([4-9]W|[0-9]{2}W)[0-9]{1,3}K.*"
)  # 10W0.22ΩJ, 10W1KJ; no resistor is rated 67 W: that is a series
SECTIONS = re.compile(r"([0-9.]{1,5})(?:[-+][0-9.]{1,5}){1,3}")
RUN_SECTIONS = re.compile(r"([0-9.]{1,5})((?:[-+][0-9.]{1,5}){1,3})([µu]F|MFD|mfd)")  # 50+50µF
SECTIONS_WITH_GAPS = re.compile(r"([0-9]{1,3})((?:\+[0-9]{1,3}){1,3})([µu?]F|[µu][?]|[?]{2})")  # 100+100µ?
VOLTS_BEHIND = re.compile(  # 22nK100, 0.47J63, 10n100
    r"([0-9]{0,3}[pnuµ][0-9]{0,2}[JKMZ]|[0-9]{0,2}[.,][0-9]{1,4}[JKMGF])[0-9]{2,4}"
    r"|([1-9][0-9]{0,2}[pn])(?:100|160|200|250|400|500|630|1000)|([1-9][0-9]{2}[pn])(?:50|63)"
)
VOLTS_AHEAD = re.compile(  # 16V470, 6.3V1000, 50V0.47, 50V3R3
    r"((?:6\.3|[0-9]{1,3})V)(?:[0-9]{2}[0-9]*|[0-9]{0,3}[.R][0-9]{1,2})(?:[µu]F?)?"
)
AHEAD_WITH_GAPS = re.compile(r"([1-9?][0-9?]{0,2}V)[0-9?.]{1,6}(?:[µu]F?|nF|[?]F)")  # 25V?70?F
BEHIND_WITH_GAPS = re.compile(with_gaps(VOLTS_BEHIND.pattern))
CODE_OF_MICROFARADS = re.compile(r"[1-9][0-9][4-8]")
VOLTS_AND_TOLERANCE = re.compile(r"(4|6\.3|10|16|20|25|35|50)([KM])")  # 335 16K
VOLT_ENDS = frozenset((("V",), ("v",), ("C",), ("~",), ("-",)))
VOLTS_APART = frozenset(("V", "v", "KV", "kV", "VDC", "VAC", "WV", "volts", "Volts", "VOLTS"))
VOLT_ENDINGS = ("VDC", "VAC", "V~", "V-", "WV", "V", "v")


def split(word: MarkingWord) -> list[MarkingWord]:
    """Part a word that runs value, volts or characteristic together: 104K100V, 47n250V, X7R104K."""
    whole = word.whole
    if len(word.cells) < 4:
        return [word]
    for ending in VOLT_ENDINGS if word.cells[-1] in VOLT_ENDS else ():
        if ends_with(word.cells, ending):
            start = len(word.cells) - len(ending)
            while start > 0 and is_figure(word.cells[start - 1]):
                start -= 1
            if whole[start:] in EIA_VOLTS:
                return [word]  # 104J1V: 35 V by voltage code, read with the value
            figures = whole[start : -len(ending)]
            if figures.isdigit() and plain_volts(figures) is None:
                return [word]  # ERJ-6GEYJ103V: no part is rated at 103 V
            if 0 < start < len(word.cells) - len(ending):
                return [part_of(word, 0, start), part_of(word, start, len(word.cells))]
            return [word]
    if not whole and len(word.cells) > 4:
        seen = gapped(word.cells)
        if can := SECTIONS_WITH_GAPS.fullmatch(seen):
            before, unit = part_of(word, 0, can.end(1)), part_of(word, can.end(2), len(seen))
            several = MarkingWord(before.cells + unit.cells, before.printed + unit.printed, "")
            return [several, part_of(word, can.end(1), can.end(2))]
        ahead = AHEAD_WITH_GAPS.fullmatch(seen)
        if ahead:
            return [part_of(word, 0, ahead.end(1)), part_of(word, ahead.end(1), len(seen))]
        run_on = BEHIND_WITH_GAPS.fullmatch(seen)
        value = run_on.lastindex if run_on else None
        if run_on and value and any(each.isalpha() for each in run_on[value]):
            return [part_of(word, 0, run_on.end(value)), part_of(word, run_on.end(value), len(seen))]
    if whole and len(whole) > 4:
        sections = RUN_SECTIONS.fullmatch(whole)
        if sections:  # one can, several capacitors: the unit belongs to the first as to the others
            first = sections[1] + sections[3]
            return [
                MarkingWord(tuple((each,) for each in first), first, first),
                part_of(word, sections.end(1), sections.end(2)),
            ]
        for pattern in (WATTS_FIRST, VOLTS_BEHIND, VOLTS_AHEAD):
            run_on = pattern.fullmatch(whole)
            if run_on:
                end = run_on.end(run_on.lastindex or 0)
                return [part_of(word, 0, end), part_of(word, end, len(whole))]
        plain = SECTIONS.fullmatch(whole)
        if plain and "+" in whole:  # 32+32
            return [part_of(word, 0, plain.end(1)), part_of(word, plain.end(1), len(whole))]
        if whole[:3] in USUAL_CODES and whole[3] in DIGITS:
            return [part_of(word, 0, 3), part_of(word, 3, len(whole))]
        if whole[-3:] in USUAL_CODES and whole[0] in DIGITS:
            return [part_of(word, 0, len(whole) - 3), part_of(word, len(whole) - 3, len(whole))]
        if whole[-1] == "%":
            for sign in ("±", "+/-", "+-"):
                place = whole.find(sign)
                if place > 0:
                    return [part_of(word, 0, place), part_of(word, place, len(whole))]
    return [word]


def ends_with(cells: Cells, ending: str) -> bool:
    if len(cells) <= len(ending):
        return False
    return all(
        seen is not None and seen == (c,) for seen, c in zip(cells[-len(ending) :], ending, strict=True)
    )


def is_figure(seen: tuple[str, ...] | None) -> bool:
    return seen is None or any(each in "0123456789." for each in seen)


def part_of(word: MarkingWord, start: int, end: int) -> MarkingWord:
    cells = word.cells[start:end]
    if word.whole:
        return MarkingWord(cells, word.whole[start:end], word.whole[start:end])
    certain = all(each is not None and len(each) == 1 for each in cells)
    text = "".join(
        "?" if each is None else each[0] if len(each) == 1 else f"[{''.join(each)}]" for each in cells
    )
    return MarkingWord(cells, text, text if certain else "")


def joined(words: list[MarkingWord], kind: str) -> list[MarkingWord]:
    """Put a number and the unit standing apart from it together: “220 µF”, “.003 MFD”, “6.3 V”."""
    found: list[MarkingWord] = []
    for word in words:
        last = found[-1] if found else None
        both = VOLTS_AND_TOLERANCE.fullmatch(word.whole) if last is not None and word.whole else None
        if both and last is not None and CODE_OF_MICROFARADS.fullmatch(last.whole):
            found += (part_of(word, 0, both.end(1)), part_of(word, both.end(1), len(word.whole)))
            continue
        sections = (
            SECTIONS.fullmatch(last.whole) if last is not None and word.whole in written.JOINING else None
        )
        if last is not None and sections is not None:  # 50-50 MFD: one can, several capacitors
            first = part_of(last, 0, sections.end(1))
            whole = first.whole + word.whole
            found[-1:] = [
                MarkingWord(first.cells + word.cells, whole, whole),
                part_of(last, sections.end(1), len(last.whole)),
            ]
        elif (
            last is not None
            and word.whole
            and is_number(last)
            and (
                word.whole in written.JOINING
                or word.whole in VOLTS_APART
                or (word.whole in ("K", "M") and kind == "resistor")
            )
        ):
            whole = last.whole + word.whole if last.whole else ""
            found[-1] = MarkingWord(last.cells + word.cells, f"{last.printed} {word.printed}", whole)
        elif (
            last is not None
            and word.whole in ("F", "H", "Hz")
            and last.printed[-1:] in "pnuµmk"
            and len(last.cells) > 1
        ):
            whole = last.whole + word.whole if last.whole else ""
            found[-1] = MarkingWord(last.cells + word.cells, last.printed + word.printed, whole)
        else:
            found.append(word)
    return found


def is_number(word: MarkingWord) -> bool:
    return all(seen is None or all(c in "0123456789.," for c in seen) for seen in word.cells)
