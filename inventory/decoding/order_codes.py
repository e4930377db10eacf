"""Makers' order codes that carry value, tolerance and volts inside a longer string, read by form and not by
maker.

Forms: exponent code in pF + tolerance letter or suffix + three volt digits (chip tantalum makers' ordering
information: 293D107X9010, TAJC106M035, TP3D226K035); EIA volt code, perhaps a tolerance letter, exponent code
in µF (electrolytic makers' part numbers: EEUFK1V182L); military style resistors and capacitors,
characteristic + code + tolerance (from memory). Where no form fits: any code with its tolerance letter inside
a long string, and the code behind the last dash (networks, trimmers, chokes; common practice, no source). One
file, since which form a string has is decided between them, and all share what three figures mean.
"""

from __future__ import annotations

import re
from collections.abc import Iterator
from decimal import Decimal
from itertools import islice, product
from math import prod

from .candidates import Candidate, Notation, percent
from .capacitor_codes import MICRO_CODE, code_candidate, femtofarads, film_order, micro_code_value
from .ceramic_orders import ceramic
from .letter_codes import MICRO, OHM, PICO, meanings_of, pointed, with_tolerance
from .patterns import UNREAD, MarkingWord, gapped, with_gaps
from .ratings import EIA_VOLTS, ORDER_VOLTS, RESISTOR_TOLERANCE, capacitor_tolerances, plain_volts
from .shapes import Budget

TANTALUM_ORDER = Notation(
    "order code, pF", "tantalum makers' ordering", "capacitor", 1.0, {"tantalum": 3, "chip": 2}, 1970
)
CAPACITOR_TYPE = Notation("military style capacitor", "MIL style", "capacitor", 1.0)
STYLE = Notation("military style resistor", "MIL style", "resistor", 1.0)
NETWORK = Notation("resistor network code", "makers' practice", "resistor", 0.5, {"network": 20})
ORDERED = {
    "capacitor": Notation("code inside an order code, pF", "makers' ordering", "capacitor", 0.5),
    "resistor": Notation(
        "code inside an order code, ohms", "makers' ordering", "resistor", 0.3, {"network": 3}
    ),
    "inductor": Notation("code inside an order code, µH", "makers' ordering", "inductor", 0.3),
}

TANTALUM = re.compile(r"([A-Z0-9]{2,6}?)([1-9][0-9]{2})(X[059]|[KMJ])[-_]?(0[0-9]{2}|6R3|2R5)[A-Z0-9]{0,8}")
ELECTROLYTIC = re.compile(
    r"([A-Z]{2,6})([0-3][A-Z])([A-Z]{0,2})([1-9][0-9]{2}|[0-9]R[0-9]|R[0-9]{2})((?:[A-Z][A-Z0-9]{0,5})?)"
)
VOLT_FIGURES = re.compile(
    r"(E[A-Z]{3})([1-9][0-9][01]|[0-9]R[0-9])(E[A-Z]{2})([1-9][0-9]{2}|[0-9]R[0-9])(M)[A-Z0-9]{0,6}"
)
VOLTS_IN_FRONT = re.compile(
    r"([1-9][0-9]{0,2}|6\.3)([A-Z]{2,3})([0-9]{1,4}|[0-9]?R[0-9]{1,2})(M)[A-Z0-9]{0,8}"
)
CAPACITOR_STYLE = re.compile(
    r"(C[A-Z]{1,3}[0-9]{2}[A-Z]{1,2})([1-9][0-9]{2})[A-E]?([BCDFGJKMZ])(?:[A-Z][0-9]?|[0-9]{2}|[A-Z]{1,3})?"
)
INSIDE = re.compile(r"([0-9][A-Z])?(?<![0-9])([1-9][0-9]{2}|[0-9]R[0-9])([BCDFGJKMZ])(?=[A-Z0-9-]|$)")
"""Value and tolerance inside any long order code, a volt code perhaps before them."""
INSIDE_AFTER_FIGURE = re.compile(r"(?<=[A-Z][0-9])()([1-9][0-9]{2})([BCDFGJKMZ])(?=[A-Z]|$)")
WITHIN = re.compile(r"[A-Z]{3}[A-Z0-9]{1,9}[1-9][0-9]{2}[JKM][A-Z0-9]{0,5}")
"""INSIDE as a form of the whole word: what is looked for where one character cannot be read."""
BEHIND_DASHES = re.compile(
    r"((?:[A-Z0-9]{1,8}-){1,3})[A-Z]?([1-9][0-9]{2}|[0-9]{1,3}[RK][0-9]{0,2})([BCDFGJKM]?)([A-Z]{0,3})"
)
PINS_AND_CIRCUIT = re.compile(r"([4-9]|1[0-9])([A-E])([1-9][0-9]{2})([FGJKM])")
SIZE = "(?:0201|0402|0603|0805|1206|1210|2010|2512)"
POINTED = "(?:[0-9]{1,3}[RKM][0-9]{0,3}|R[0-9]{2,4})"
# Chip resistors: size, value, tolerance (CRCW08054K70F…); size, tolerance, dash, value (RC0805JR-0710KL);
# tolerance, code and one letter (ERJ-6GEYJ103V).
SIZED = re.compile(rf"([A-Z]{{2,4}}{SIZE})()({POINTED})([BCDFGJK])[A-Z]{{0,5}}")
SIZED_DASH = re.compile(rf"([A-Z]{{2}}{SIZE})([BCDFGJK])[A-Z]-(?:07|10|13)({POINTED})()L?")
LETTER_FIRST = re.compile(r"([A-Z]{2,4}-?[0-9][A-Z0-9]{1,4})([DFGJ])([1-9][0-9]{2,3}|[0-9]?R[0-9]{2})()[A-Z]")
STANDS_LAST = re.compile(
    r"([A-Z0-9-]{1,10}?)[-R]?([1-9][0-9]{2}|[0-9]{1,3}[RK][0-9]{0,2}|[0-9]{1,2}\.[0-9]K)([FGJKM]?)(?:LF)?"
)
"""On networks and trimmers whatever the maker puts before it, the value stands last (common practice)."""
LAST_ON = (
    Notation(
        "code at the end of a type",
        "makers' ordering",
        "resistor",
        0.002,
        {"network": 150, "trimmer": 150},
        most_unseen=0.75,
    ),
    Notation(
        "code at the end of a type", "makers' ordering", "capacitor", 0.1, {"film": 3}, most_unseen=0.75
    ),
)
TWICE_THE_SAME = 0.01
"""100-100 is hardly a series and its value (common practice, no source)."""
NETWORK_SERIES = re.compile(r"(4[1368](?:0[4-9]|1[0-9]|20)[A-Z]-(?:[0-9]|10[1-4])-)([1-9][0-9]{2})(?:LF)?")
"""4116R-1-102: 16 pins, isolated or bussed; not the memory 4116 (a maker's ordering, from memory)."""
TRIMMER_SERIES = re.compile(
    r"(3(?:0(?:0[569]|5[29]|59)|2(?:14|24|5[02]|6[269]|8[0-9]|9[0269])|3(?:0[0-9]|1[34]|2[149]|39|45|5[0-9]|6[24]|8[69]))"
    r"[A-Z]-(?:[0-9]-)?)([1-9][0-9]{2})([A-Z]{0,2})"
)
"""3296W-1-103LF: model, pins, style, code (a maker's selection guide of trimmers; older ones from memory)."""
TRIMMER_STYLE = re.compile(r"(RJR?[0-9]{2}[A-Z]{1,2})([1-9][0-9]{2})([A-Z]?)")
POWER_STYLE = re.compile(r"(R(?:E[RH]?|H|W)[0-9]{2}[A-Z])([1-9][0-9]{2}|[0-9]{1,2}R[0-9]{0,2})[A-Z]?")
RESISTOR_STYLE = re.compile(
    r"(R[A-Z]{1,2}[0-9]{2,4}[A-Z]{1,2}?)([1-9][0-9]{2,3}|[0-9]{1,3}R[0-9]{0,2})([BCDFGJKM])[A-Z]?"
)
SUFFIX_TOLERANCE = {"X0": percent("20"), "X9": percent("10"), "X5": percent("5")}


def readings(text: str, kind: str) -> Iterator[Candidate]:
    """Readings of one whole word of 7 to 24 characters; every pattern is anchored and bounded."""
    of_maker = next((each for head, each in MAKERS_HEADS.items() if text.startswith(head)), "")
    for candidate in by_form(text, kind or of_maker):
        if of_maker and not kind:
            if candidate.kind == of_maker:
                yield candidate.less(BY_ITS_HEAD)
        else:
            yield candidate


def by_form(text: str, kind: str) -> Iterator[Candidate]:
    if not 5 <= len(text) <= 24:
        return
    if kind in ("", "resistor"):
        yield from network(text)
    yield from standing_last(text, kind)
    if len(text) < 7:
        return
    found = len(text)
    if kind in ("", "capacitor"):
        for read in (ceramic, tantalum, electrolytic, can, capacitor_style, film_order):
            for candidate in read(text):
                found = 0
                yield candidate
            if not found:
                break
    if kind in ("", "resistor"):
        for read in (resistor, chip):
            for candidate in read(text):
                found = 0
                yield candidate
            if not found:
                break
    if found >= LEAST_WITHIN:
        yield from inside(text, kind)
    if "-" in text and found:
        yield from behind_dashes(text, kind)


FORMS = (
    TANTALUM, ELECTROLYTIC, VOLT_FIGURES, VOLTS_IN_FRONT, CAPACITOR_STYLE, PINS_AND_CIRCUIT, SIZED,
    SIZED_DASH, LETTER_FIRST, POWER_STYLE, RESISTOR_STYLE, TRIMMER_STYLE, BEHIND_DASHES,
)  # fmt: skip
WITH_GAPS = tuple(re.compile(with_gaps(form.pattern)) for form in FORMS)
WITHIN_WITH_GAPS = re.compile(with_gaps(WITHIN.pattern))
MAX_SPELLINGS, FILLED_WITH = 220, "0123456789JKMFGRBCDX"
LEAST_WITHIN = 9
MIN_SEEN = 0.6
"""Of an order code so much must be read, or anything is one."""


def partial(word: MarkingWord, kind: str, budget: Budget) -> Iterator[Candidate]:
    """Readings of a partly unreadable order code: of each place only what a form allows there."""
    seen = gapped(word.cells)
    gaps = [at for at, each in enumerate(seen) if each == UNREAD]
    if (
        not 6 <= len(seen) <= 24
        or not gaps
        or len(gaps) > (1 - MIN_SEEN) * len(seen)
        or not budget.order_codes
    ):
        return
    forms = [form for form in WITH_GAPS if form.fullmatch(seen)]
    if not forms and len(gaps) == 1 and len(seen) >= LEAST_WITHIN and WITHIN_WITH_GAPS.fullmatch(seen):
        forms = [WITHIN_WITH_GAPS]
    if not forms:
        return
    choices = []
    for at in gaps:
        cell = word.cells[at]
        fill = FILLED_WITH if cell is None else "".join(cell)
        choices.append(
            [c for c in fill if any(form.fullmatch(seen[:at] + c + seen[at + 1 :]) for form in forms)]
        )
    for spelt in islice(product(*choices), min(MAX_SPELLINGS, budget.left, budget.order_codes)):
        budget.left -= 1
        budget.order_codes -= 1
        letters = list(seen)
        for at, letter in zip(gaps, spelt, strict=True):
            letters[at] = letter
        yield from readings("".join(letters), kind)
    budget.spent_out = budget.spent_out or prod(map(len, choices)) > MAX_SPELLINGS


def tantalum(text: str) -> Iterator[Candidate]:
    match = TANTALUM.fullmatch(text)
    if match is None:
        return
    series, code, suffix, volt_code = match.groups()
    candidate = code_candidate(code)
    volts = ORDER_VOLTS.get(volt_code)
    if candidate is None or candidate.value is None or volts is None:
        return
    tolerances = (
        [SUFFIX_TOLERANCE[suffix]]
        if suffix in SUFFIX_TOLERANCE
        else [each.tolerance for each in capacitor_tolerances(suffix, candidate.value)]
    )
    for tolerance in tolerances:
        used = ((series, ""), *candidate.used, (suffix, tolerance.text), (volt_code, f"{volts:f} V"))
        caution = "a tantalum's stripe is its plus end"
        yield Candidate(TANTALUM_ORDER, candidate.value, used, 1.0, tolerance, volts, (caution,))


def electrolytic(text: str) -> Iterator[Candidate]:
    match = ELECTROLYTIC.fullmatch(text.replace("-", "", 1))
    if match is None:
        return
    series, volt_code, letter, code, rest = match.groups()
    volts = EIA_VOLTS.get(volt_code)
    value = micro_code_value(code)
    if volts is None or not value:
        return
    used = (
        (series, ""),
        (volt_code, f"{volts:f} V"),
        (letter, ""),
        (code, "exponent code in µF"),
        (rest, ""),
    )
    explained = tuple(each for each in used if each[0])
    # 1V182 standing alone is weighed the same way in capacitor_codes; here the series letters speak for an
    # electrolytic.
    yield Candidate(MICRO_CODE, value, explained, 60.0, None, volts)
    candidate = code_candidate(code) if code.isdigit() else None
    if candidate is not None:
        explained = ((series, ""), (volt_code, f"{volts:f} V"), *candidate.used)
        film = rest[:1] in ("J", "K", "G", "F") and not letter  # a tolerance no electrolytic has
        whole = Candidate(
            candidate.notation, candidate.value, explained, 300.0 if film else 0.005, None, volts
        )
        if film:
            yield from with_tolerance(whole, rest[0], capacitor_tolerances(rest[0], whole.value or 0))
        else:
            yield whole


def capacitor_style(text: str) -> Iterator[Candidate]:
    match = CAPACITOR_STYLE.fullmatch(text)
    candidate = code_candidate(match[2]) if match else None
    if match is None or candidate is None:
        return
    style = Candidate(
        CAPACITOR_TYPE, candidate.value, ((match[1], "style and characteristic"), *candidate.used), 1.0
    )
    yield from with_tolerance(style, match[3], capacitor_tolerances(match[3], candidate.value or 0))


def resistor(text: str) -> Iterator[Candidate]:
    match = RESISTOR_STYLE.fullmatch(text)
    if match is None:
        return
    style, code, letter = match.groups()
    if "R" in code:
        whole, _, fraction = code.partition("R")
        value = int(whole + fraction) * OHM // 10 ** len(fraction)
    else:
        value = int(code[:-1]) * 10 ** int(code[-1]) * OHM
    candidate = Candidate(STYLE, value, ((style, "style, rating and characteristic"), (code, "value")), 1.0)
    yield from with_tolerance(candidate, letter, RESISTOR_TOLERANCE[letter])


def can(text: str) -> Iterator[Candidate]:
    """ESMG250ELL101M: volts as figures and zeros, then the exponent code in µF; 35YXF220M: both plainly."""
    match = VOLT_FIGURES.fullmatch(text)
    if match:
        series, volt_code, form, code, letter = match.groups()
        volts = Decimal(volt_code.replace("R", ".")) if "R" in volt_code else Decimal(volt_code[:2])
        volts *= 10 ** int(volt_code[2]) if "R" not in volt_code else 1
        value = micro_code_value(code)
        used: tuple[tuple[str, str], ...] = ((series, ""), (volt_code, f"{volts:f} V"), (form, ""))
        explained = (*used, (code, "exponent code in µF"))
    else:
        match = VOLTS_IN_FRONT.fullmatch(text)
        if match is None:
            return
        volt_code, series, code, letter = match.groups()
        rated = plain_volts(volt_code)
        if rated is None:
            return
        volts, value = rated, int(Decimal(code.replace("R", ".")) * MICRO)
        explained = ((volt_code, f"{volts:f} V"), (series, ""), (code, "µF"))
    if value:
        whole = Candidate(MICRO_CODE, value, explained, 30.0, None, volts)
        yield from with_tolerance(whole, letter, capacitor_tolerances(letter, value))


def network(text: str) -> Iterator[Candidate]:
    """10A103J: pins, circuit, code, tolerance; RW67V101: a power style without a tolerance."""
    match = PINS_AND_CIRCUIT.fullmatch(text)
    if match:
        used = ((match[1], "pins"), (match[2], "circuit"), (match[3], "value"))
        candidate = Candidate(NETWORK, three_figures(match[3]), used, 1.0)
        yield from with_tolerance(candidate, match[4], RESISTOR_TOLERANCE[match[4]])
    match = NETWORK_SERIES.fullmatch(text)
    if match:
        explained = ((match[1], "series, pins and circuit"), (match[2], "value"))
        yield Candidate(NETWORK, three_figures(match[2]), explained, 200.0)
    match = TRIMMER_SERIES.fullmatch(text)
    if match:
        used_up = ((match[1], "model and pins of a trimmer"), (match[2], "value"), (match[3], "version"))
        yield Candidate(NETWORK, three_figures(match[2]), used_up, 200.0, traits={"variable": True})
    match = TRIMMER_STYLE.fullmatch(text)
    if match:
        explained = ((match[1], "style and termination"), (match[2], "value"))
        yield Candidate(STYLE, three_figures(match[2]), explained, 2.0)
    match = POWER_STYLE.fullmatch(text)
    if match:
        explained = ((match[1], "style and rating"), (match[2], "value"))
        yield Candidate(STYLE, three_figures(match[2]), explained, 1.0)


def standing_last(text: str, kind: str) -> Iterator[Candidate]:
    """L81S473, 898-3-R10K, B32529C1104J: whatever the maker puts before it, the value stands last."""
    match = STANDS_LAST.fullmatch(text)
    if match is None or OF_CHIPS.match(text):
        return
    head, code, letter = match.groups()
    likely = TWICE_THE_SAME if head.rstrip("-") == code else 1.0
    for notation in LAST_ON:
        if kind not in ("", notation.kind) or (
            notation.kind == "capacitor" and not (letter and code.isdigit())
        ):
            continue
        if "." in code:
            value = round(Decimal(code.rstrip("K")) * 1000) * OHM
        else:
            value = code_value(code, notation.kind)
            if code.isdigit() and text[len(head)] == "R" and notation.kind == "resistor":
                value = int(code) * OHM  # 899-3-R220: plain ohms behind an R
        if value:
            last = Candidate(notation, value, ((head, ""), (code, "value")), likely)
            meanings = meanings_of(letter, notation.kind, value)
            yield from with_tolerance(last, letter, meanings) if letter else (last,)


def chip(text: str) -> Iterator[Candidate]:
    """Chip resistor order codes by their three forms."""
    for form in (SIZED, SIZED_DASH, LETTER_FIRST):
        match = form.fullmatch(text)
        if match is None:
            continue
        head, before, code, behind = match.groups()
        letter = before or behind
        letters = ((before, RESISTOR_TOLERANCE[before][0].tolerance.text),) if before else ()
        used = ((head, "series and size"), *letters, (code, "value"))
        value = 0
        if code.isdigit():
            value = zeros_behind(code) * OHM
        else:
            for point, units in (("R", OHM), ("K", 10**3 * OHM), ("M", 10**6 * OHM)):
                if point in code:
                    value = pointed(code, code.index(point), units) or 0
        if not value:
            return
        if before:
            tolerance = RESISTOR_TOLERANCE[letter][0].tolerance
            yield Candidate(ORDERED["resistor"], value, used, 3.0, tolerance)
        else:
            whole = Candidate(ORDERED["resistor"], value, used, 3.0)
            yield from with_tolerance(whole, letter, RESISTOR_TOLERANCE[letter])
        return


def three_figures(code: str) -> int:
    """µΩ of 103, 4R7 or 10K."""
    for letter, units in (("R", OHM), ("K", 1000 * OHM)):
        if letter in code:
            return pointed(code, code.index(letter), units) or 0
    return zeros_behind(code) * OHM


MAKERS_HEADS = {
    **dict.fromkeys(("ECQ", "ECW", "ECH", "ECK", "ECC", "ECU", "ECE", "EEU"), "capacitor"),
    **dict.fromkeys(("ERD", "ERG", "ERO", "ERX", "ERJ", "EXB"), "resistor"),
    **dict.fromkeys(("ELC", "ELL", "ELE"), "inductor"),
    **dict.fromkeys(("LQH", "LQG", "LQW", "LQM", "LAL", "LHL", "SLF", "VLF", "NLV", "CDRH"), "inductor"),
}
"""Letters that large makers begin their order codes with, by kind (their catalogues, from memory)."""
OF_CHIPS = re.compile("STR|STK")
"""Hybrid circuits in a row of legs as networks have it: what stands last is their number."""
BY_ITS_HEAD = 5.0
"""Such letters speak for an order code (common practice, no source)."""


def inside(text: str, kind: str) -> Iterator[Candidate]:
    """GRM188R71H104KA93D, C320C105K5R: the one place where a code and a tolerance letter stand together."""
    if sum(map(str.isalpha, text)) < 4 or not text[0].isalpha():
        return
    found = list(INSIDE.finditer(text)) or list(INSIDE_AFTER_FIGURE.finditer(text))
    for match in found[:3]:
        if match.start(2) < 2:
            continue
        volts = EIA_VOLTS.get(match[1] or "")
        around = (text[: match.start(1) if volts else match.start(2)], text[match.end(3) :])
        rated = ((match[1], f"{volts:f} V"),) if volts else ()
        for each in ("capacitor", "resistor", "inductor"):
            if kind not in ("", each):
                continue
            value = code_value(match[2], each)
            notation = ORDERED[each]
            if not value or (each != "capacitor" and volts and not kind):
                continue
            used = ((around[0], ""), *rated, (match[2], "value"))
            whole = Candidate(
                notation, value, used, 1.0 / len(found), None, volts if each == "capacitor" else None
            )
            meant = meanings_of(match[3], each, value)
            if not meant and text.startswith(tuple(MAKERS_HEADS)):
                yield whole.after((match[3], ""), (around[1], ""))
            for candidate in with_tolerance(whole, match[3], meant):
                yield candidate.after((around[1], ""))


def behind_dashes(text: str, kind: str) -> Iterator[Candidate]:
    """4608X-101-472, 3386P-1-104, EL0606RA-101K: the value is what stands behind the last dash."""
    match = BEHIND_DASHES.fullmatch(text)
    if match is None or not any(each.isalpha() for each in match[1]) and match[2].isdigit() and not kind:
        return
    head, code, letter, tail = match.groups()
    for each in ("resistor", "capacitor", "inductor"):
        if kind not in ("", each) or ("K" in code and each != "resistor"):
            continue
        value = code_value(code, each)
        if not value:
            continue
        start = text.index(code, len(head))
        used = ((text[:start], ""), (code, "value"))
        whole = Candidate(ORDERED[each], value, used, 1.0)
        meant = with_tolerance(whole, letter, meanings_of(letter, each, value)) if letter else iter((whole,))
        for candidate in meant:
            yield candidate.after((tail, ""))


def code_value(code: str, kind: str) -> int:
    """Smallest units of 104, 4R7 or 10K as that kind counts it; 0 where it does not."""
    if kind == "resistor":
        return three_figures(code)
    unit = PICO if kind == "capacitor" else 10**6
    if "R" in code:
        return pointed(code, code.index("R"), unit) or 0
    if kind == "capacitor":
        return femtofarads(int(code[:2]), code[2])
    return zeros_behind(code) * unit


def zeros_behind(code: str) -> int:
    return int(code[:-1] + "0" * int(code[-1]))
