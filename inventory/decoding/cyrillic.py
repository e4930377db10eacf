"""Values printed in Cyrillic letters: 15Н, М47, 1р5, 5К1, 500 мкФ, 25 В, 1 кОм.

Letters of GOST 11076, the letter at the decimal point as in IEC 60062: п, Н, М (or мк) for pico, nano, micro
on capacitors; Е (R), К, М, Г for ohms, kilo, mega, giga on resistors. From memory. Type numbers are left as
they are printed.
"""

from __future__ import annotations

import re
from itertools import pairwise

UNITS = {
    "мкф": "µF", "нф": "nF", "пф": "pF", "мф": "µF", "ф": "F", "ом": "Ω", "ком": "kΩ", "мом": "MΩ",
    "гом": "GΩ", "мкгн": "µH", "мгн": "mH", "гн": "H", "в": "V", "кв": "kV", "вт": "W", "гц": "Hz",
    "кгц": "kHz", "мгц": "MHz",
}  # fmt: skip
POINTS = {
    "п": "p", "р": "p", "н": "n", "мк": "µ", "е": "R", "к": "K", "г": "G", "м": "M",
}  # fmt: skip
TOLERANCES = {"и": "J", "с": "K", "в": "M", "л": "G", "р": "F", "ж": "F", "у": "F", "д": "D", "ф": "N"}
"""Letters of the old Soviet standard behind the value: И 5 %, С 10 %, В 20 %, Л 2 %, Р 1 % (GOST 11076)."""

_UNIT = re.compile(rf"([0-9]*[.,]?[0-9]*)({'|'.join(sorted(UNITS, key=len, reverse=True))})", re.IGNORECASE)
_SECTIONS = re.compile(r"([0-9.]{1,5}(?:[-+][0-9.]{1,5}){1,3})(мкф|мф)", re.IGNORECASE)
"""50+50мкФ: two capacitors in one can."""
_DECIMAL = re.compile(r"([0-9]+[.,][0-9]+)(мк|[прнкмг])", re.IGNORECASE)
_POINTED = re.compile(r"([0-9]{0,3})(мк|[прнекгм])([0-9]{0,3})([исвлржудф]?)", re.IGNORECASE)


_GROUP = re.compile(r"Н([1-9]0)|([МП])([1-9][0-9]{1,3})|МП0", re.IGNORECASE)
"""Temperature groups of GOST 5.621: drift in % over the range, or ppm/K down (М) and up (П); from memory."""


_OF_PICOFARADS = re.compile(
    r"К(?:10|15|21|22|26|31|70|71|72)-[0-9].*|К[МДТ]-?[0-9]?[а-я]?|КСО-?[0-9]*|КЛ[СГ].*", re.IGNORECASE
)
"""Series of ceramic, mica and polystyrene capacitors, which print whole picofarads (from memory)."""
_WHOLE_PICOFARADS = re.compile(r"[1-9][0-9]?|[1-9][0-9]{1,2}0")
_FIGURES = re.compile(r"[0-9]+(?:[.,][0-9]+)?")


RESISTIVE = "resistive"
_BODIES = tuple(
    (re.compile(form), body)
    for form, body in (
        (
            r"О?МЛТ(?:-.*)?|ВС(?:-[0-9,]+)?|С[1-6]-[0-9]{1,2}.*|УЛМ|БЛП.*|ПЭВР?(?:-.*)?|МТ-[0-9,]+",
            RESISTIVE,
        ),
        (r"СП[0-9]*-[0-9]{1,2}.*", "trimmer"),
        (r"К(?:10|15|21|22|26)[А-Я]?-[0-9].*|К[МД]-?[0-9][а-яА-Я]?|КЛ[СГ].*", "ceramic"),
        (r"К50-[0-9].*|ЭГЦ.*|КЭ-?[0-9]?", "electrolytic"),
        (r"К5[23]-[0-9].*|ЭТО-?[0-9]", "tantalum"),
        (r"К(?:72|73|76|77|78)-[0-9].*", "film"),
        (r"К7[01]-[0-9].*|ПМ-[12]", "polystyrene"),
        (r"КСО-?[0-9]*|СГМ-?[0-9]*|К31-[0-9].*", "mica"),
        (r"К(?:40|42)[А-Я]?-[0-9].*|МБ[МГ].*|БМТ?-?[0-9]?|КБГ.*", "paper"),
    )
)
"""Series of passive parts by GOST, and what they are made as: from memory of the handbooks."""


def body_of_series(word: str) -> str:
    """What a part of such a series looks like, in a word of `bodies`; "" for any other word."""
    if word.isascii():
        return ""
    return next((body for form, body in _BODIES if form.fullmatch(word)), "")


_CHOKE = re.compile(r"Д(?:П?М)?-[0-9](?:[.,][0-9]+)?", re.IGNORECASE)
"""Soviet chokes by the amps that they stand, the whole µH printed behind: ДМ-0,1 100 (from memory)."""
_BARE_OHMS = re.compile(r"[1-9][0-9]{2}")


def with_ohms(text: str) -> str:
    """МЛТ-1 220 as 220 Ω: such series were printed so before codes came (from memory); "" for any other."""
    words = text.split()
    if len(words) == 2 and _CHOKE.fullmatch(words[0]) and _FIGURES.fullmatch(words[1]):
        return f"{words[0]} {words[1]}µH"
    series = next((at for at, word in enumerate(words) if body_of_series(word) == RESISTIVE), None)
    if series is None or any(map(shows_a_value, words)):
        return ""
    for at, (word, behind) in enumerate(pairwise([*words, ""])):
        if at > series and _BARE_OHMS.fullmatch(word) and behind.lower() not in UNITS:
            return " ".join((*words[:at], f"{word}Ω", *words[at + 1 :]))
    return ""


def shows_a_value(word: str) -> bool:
    return is_value(word) and not _FIGURES.fullmatch(word)


def in_latin(text: str) -> str:
    """The text with the values among its words spelled in Latin letters.

    Beside a value what else looks like one may be a temperature group: М1500, МП0, Н90. Where no other word
    is a value, the last of them is: КМ-6 Н90 М22.
    """
    words = text.split()
    groups = [bool(_GROUP.fullmatch(word)) for word in words]
    by_drift = [group and word[0] in "Нн" for word, group in zip(words, groups, strict=True)]
    groups = by_drift if any(by_drift) else groups  # a part has one group: М22 beside Н90 is its value
    others = [word for word, group in zip(words, groups, strict=True) if not group]
    if any(groups) and not any(map(is_value, others)):
        for at in reversed(range(len(words))):
            if groups[at] and words[at][0] in "Мм":
                groups[at] = False
                break
    if (any(groups) or any(map(_OF_PICOFARADS.fullmatch, words))) and len(words) > 1:
        whole = [
            at
            for at, (word, behind) in enumerate(pairwise([*words, ""]))
            if _WHOLE_PICOFARADS.fullmatch(word) and behind not in ("В", "кВ")
        ]
        if whole and not any(is_farads(word) for word, group in zip(words, groups, strict=True) if not group):
            words[whole[0]] += "pF"  # what follows is volts or a year
    if not any(groups) or all(groups) or len(words) == 1:
        return " ".join(map(word_in_latin, words))
    return " ".join(
        group_in_latin(word) if group else word_in_latin(word)
        for word, group in zip(words, groups, strict=True)
    )


def is_farads(word: str) -> bool:
    """0,047, М22, 15н, 0,1мк: what stands beside it is volts or a year."""
    pointed = _POINTED.fullmatch(word)
    decimal = "," in word and _FIGURES.fullmatch(word)
    return bool(decimal or _DECIMAL.fullmatch(word) or (pointed and (pointed[1] or pointed[3])))


def is_value(word: str) -> bool:
    pointed = _POINTED.fullmatch(word)
    return bool(_UNIT.fullmatch(word) or _DECIMAL.fullmatch(word) or _FIGURES.fullmatch(word)) or bool(
        pointed and (pointed[1] or pointed[3])
    )


def group_in_latin(word: str) -> str:
    match = _GROUP.fullmatch(word)
    if match is None or match[1]:
        return f"({word})"  # a drift in per cent has no letter elsewhere
    return f"{'N' if match[2] in 'Мм' else 'P'}{match[3]}" if match[2] else "NP0"


def word_in_latin(word: str) -> str:
    unit = _UNIT.fullmatch(word)
    if unit:
        return unit[1] + UNITS[unit[2].lower()]
    if sections := _SECTIONS.fullmatch(word):
        return sections[1] + UNITS[sections[2].lower()]
    if decimal := _DECIMAL.fullmatch(word):
        return decimal[1] + POINTS[decimal[2].lower()]
    pointed = _POINTED.fullmatch(word)
    if pointed and (pointed[1] or pointed[3]):
        before, point, after, tolerance = pointed.groups()
        letter = POINTS[point.lower()]
        return f"{before}{letter}{after}{TOLERANCES.get(tolerance.lower(), '')}"
    return word
