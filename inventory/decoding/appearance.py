"""The other way round: what a wanted part looks like, so that a person can look for it in a tray.

Colours are found by turning the decoder's own tables round, codes by printing the value as each notation
does. Whatever is offered here reads back to the wanted part.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from decimal import Decimal
from typing import Any, Final

from inventory.decoding import bands
from inventory.decoding.appearance_codes import PrintedCode, codes_of
from inventory.decoding.band_reader import BAND_SCHEMES
from inventory.decoding.bands import BandRole, Entry, Scheme
from inventory.decoding.decoder import decode
from inventory.decoding.patterns import CONFUSED, turned
from inventory.decoding.reading import Question
from inventory.decoding.semiconductors import read as read_type
from inventory.decoding.series import series_of
from inventory.decoding.shapes import Budget
from inventory.spec import Spec, print_value
from inventory.type_numbers.logic_table import CMOS_4000
from inventory.type_numbers.memory_table import MEMORY_NAMES

MAX_NEIGHBOURS: Final = 12
COMMON_SERIES: Final = ("E6", "E12", "E24", "E96")
SELDOM_MADE: Final = 0.15  # a neighbour with colours rarer than this is not in anybody's tray
RARELY_MEANT: Final = 0.01  # a colour whose meaning is rarer than this is not offered for it


@dataclass(frozen=True)
class Band:
    """One band: its colour and what it says."""

    colour: str
    says: str


@dataclass(frozen=True)
class BandRow:
    """Bands in reading order.

    `scheme` is the decoder's hint ("" for plain resistor and inductor bands), `says` names the facts that the
    row states, `note` what is only usual.
    """

    bands: tuple[Band, ...]
    notation: str
    scheme: str
    says: tuple[str, ...]
    note: str = ""

    @property
    def colours(self) -> tuple[str, ...]:
        return tuple(band.colour for band in self.bands)


@dataclass(frozen=True)
class Neighbour:
    """A part easily taken for the wanted one: what is seen on it, what it is, and how that happens."""

    seen: str
    text: str
    why: str


@dataclass(frozen=True)
class Appearance:
    spec: Spec
    rows: tuple[BandRow, ...]
    codes: tuple[PrintedCode, ...]
    neighbours: tuple[Neighbour, ...]
    cautions: tuple[str, ...] = ()

    def to_dict(self) -> dict[str, Any]:
        """JSON of `GET appearance/`: `bands` by their number, `codes` as printed, the details of each."""
        plain = [row for row in self.rows if not row.scheme]
        return {
            "spec_text": self.spec.text,
            "bands": {str(len(row.bands)): list(row.colours) for row in plain},
            "codes": [code.text for code in self.codes],
            "rows": [
                {
                    "colours": list(row.colours),
                    "meanings": [band.says for band in row.bands],
                    "notation": row.notation,
                    "scheme": row.scheme,
                    "says": list(row.says),
                    "note": row.note,
                }
                for row in self.rows
            ],
            "code_details": [
                {"text": code.text, "notation": code.notation, "says": list(code.says), "note": code.note}
                for code in self.codes
            ],
            "neighbours": [
                {"seen": each.seen, "text": each.text, "why": each.why} for each in self.neighbours
            ],
            "cautions": list(self.cautions),
        }


def appearance(spec: Spec) -> Appearance:
    """What to look for. Empty lists, with a caution, where no notation here can express the part."""
    rows = tuple(_rows(spec))
    codes = tuple(codes_of(spec)) if spec.value is not None else tuple(_type_codes(spec))
    cautions = []
    if not rows and not codes:
        cautions.append("No value and no type number that a part would carry: nothing to look for.")
    if spec.value is not None and spec.value and not series_of(spec.value) and spec.kind in _BAND_KINDS:
        cautions.append("Not a preferred value: made to order, old, or a sum of parts.")
    return Appearance(spec, rows, codes, tuple(_neighbours(spec, rows, codes)), tuple(cautions))


def likeliest_colours(spec: Spec) -> tuple[str, ...]:
    """The colours of the first row of bands that the part may carry; none where it carries no bands."""
    return next((row.colours for row in _rows(spec)), ())


# ---------------------------------------------------------------- colours

_BAND_KINDS: Final = ("resistor", "capacitor", "inductor")
_ZERO_LINK, _DIODE = "single black band", "diode colour bands"
# Kind -> the notations that such parts carry by default.
_PLAIN: Final = {
    "resistor": (
        "three-band colour code",
        "four-band colour code",
        "five-band colour code",
        "six-band colour code",
    ),
    "inductor": ("inductor colour bands",),
}
# Dielectric -> the colour schemes of such capacitors, and the words that name each to the decoder.
_POLYESTER: Final = ("polyester colour bands", "polyester")
_BEAD: Final = ("tantalum bead colours", "tantalum bead")
_CAPACITOR: Final = {
    "film": (_POLYESTER,),
    "tantalum": (_BEAD, ("dipped tantalum colours", "dipped tantalum")),
    "mica": (("mica dots, RMA", "mica rma"),),
    "": (_POLYESTER, _BEAD),
}


def _schemes(*notations: str) -> list[Scheme]:
    return [scheme for name in notations for scheme in BAND_SCHEMES if scheme.notation.name == name]


def _rows(spec: Spec) -> Iterator[BandRow]:
    if spec.kind == "diode":
        yield from _diode_row(spec)
    elif spec.value == 0 and spec.kind == "resistor":
        yield BandRow((Band("black", "0 Ω"),), _ZERO_LINK, "", ("value",))
    elif spec.value:
        for scheme in _schemes(*_PLAIN.get(spec.kind, ())):
            yield from _row(spec, scheme, "")
        for notation, hint in _CAPACITOR.get(spec.dielectric, ()) if spec.kind == "capacitor" else ():
            for scheme in _schemes(notation):
                yield from _row(spec, scheme, hint)


def _row(spec: Spec, scheme: Scheme, hint: str) -> Iterator[BandRow]:
    """The row of this scheme that says what the Spec says, if there is one."""
    if spec.value is None or scheme.make is not None or not {"figure", "multiplier"} <= scheme.at.keys():
        return
    figures, multiplier = _figures(spec.value, scheme)
    if multiplier is None:
        return
    row: list[Band] = []
    stated, usual = ["value"], []
    for place in scheme.places:
        if place.role == "figure":
            row.append(Band(*_first(place, figures.pop(0))))
            continue
        if place.role == "multiplier":
            row.append(multiplier)
            continue
        wanted = _wanted(spec, place.role)
        band = _band_for(place, wanted)
        if band is None:
            return
        row.append(band)
        if wanted is None:
            usual.append(f"{band.colour} = {band.says} is the usual last band, not asked for")
        else:
            stated.append(place.role)
    missing = scheme.missing_tolerance
    if missing is not None:
        if spec.tolerance_percent is not None and spec.tolerance_percent != missing.percent:
            return
        if spec.tolerance_percent is None and spec.kind == "resistor":
            return  # three bands say 20 %, which nobody asked for
    if spec.volts is not None and spec.kind == "capacitor" and "volts" not in scheme.at:
        usual.append("the volts are not in these colours")
    yield BandRow(tuple(row), scheme.notation.name, hint, tuple(stated), "; ".join(usual))


def _figures(value: int, scheme: Scheme) -> tuple[list[int], Band | None]:
    """The figures, and the multiplier band that makes the value of them; no band where none does."""
    places = scheme.at["figure"]
    for colour, entries in scheme.places[scheme.at["multiplier"][0]].table.items():
        for entry in entries:
            scale, divisor = entry.amount
            figures, rest = divmod(value * divisor, scale)
            digits = str(figures)
            if rest or len(digits) != len(places) or entry.weight < RARELY_MEANT:
                continue
            if all(_has(scheme.places[at], int(digit)) for at, digit in zip(places, digits, strict=True)):
                return [int(digit) for digit in digits], Band(colour, entry.text)
    return [], None


def _has(place: BandRole, amount: int) -> bool:
    return any(entry.amount == amount for entries in place.table.values() for entry in entries)


def _first(place: BandRole, amount: int) -> tuple[str, str]:
    return next(
        (colour, entry.text)
        for colour, entries in place.table.items()
        for entry in entries
        if entry.amount == amount
    )


def _wanted(spec: Spec, role: str) -> Decimal | None:
    if role == "tolerance":
        return spec.tolerance_percent
    if role == "volts":
        return spec.volts
    if role == "temperature" and "tcr_ppm" in spec.traits:
        return Decimal(str(spec.traits["tcr_ppm"]))
    return None


def _band_for(place: BandRole, wanted: Decimal | None) -> Band | None:
    """The likeliest colour that says this, or the likeliest of all where nothing is asked."""
    if place.role == "volts" and wanted is None:
        return None
    choices: list[tuple[float, Band]] = []
    for colour, entries in place.table.items():
        if colour == "none":  # a band that is not there is a row with one band fewer
            continue
        for entry in entries:
            if entry.weight >= RARELY_MEANT and (wanted is None or _amount(place.role, entry) == wanted):
                choices.append((entry.weight, Band(colour, entry.text)))
    return max(choices, key=lambda choice: choice[0])[1] if choices else None


def _amount(role: str, entry: Entry) -> Decimal | None:
    if role == "tolerance":
        percent: Decimal | None = entry.amount.percent
        return percent
    if role == "volts":
        return Decimal(entry.amount)
    return Decimal(entry.text.split()[0]) if role == "temperature" else None


def _diode_row(spec: Spec) -> Iterator[BandRow]:
    number = spec.number.upper()
    digits, suffix = number[2:].rstrip("ABCDEFGHJ"), number[2:].lstrip("0123456789")
    if not (number.startswith("1N") and digits.isdigit() and 2 <= len(digits) <= 4 and len(suffix) <= 1):
        return
    if digits[0] == "0":
        return
    row = [Band(bands.DIGIT_COLOURS[int(digit)], digit) for digit in digits]
    if suffix:
        row.append(Band(bands.DIGIT_COLOURS["ABCDEFGHJ".index(suffix) + 1], f"suffix {suffix}"))
    note = "start at the wide band, which is the cathode"
    yield BandRow(tuple(row), _DIODE, "diode", ("number",), note)


# ---------------------------------------------------------------- type numbers

_LOGIC_FORMS: Final = ("SN{}N", "DM{}N", "MC{}N", "HD{}P", "M{}P", "GD{}")
_CMOS_FORMS: Final = ("CD{}BE", "MC1{}BCP", "HEF{}BP", "TC{}BP", "HCF{}BE")


def _type_codes(spec: Spec) -> Iterator[PrintedCode]:
    """The number itself and other prints of it; only those that read back to it."""
    number = spec.number
    if not number:
        return
    for text, notation, note in _type_forms(number):
        if text == number or any(
            reading.number == number and reading.kind == spec.kind for reading in read_type(text)
        ):
            yield PrintedCode(text, notation, ("number",), note)


def _type_forms(number: str) -> Iterator[tuple[str, str, str]]:
    yield number, "type number", ""
    if number[:2] == "2S" and len(number) > 4:
        yield number[2:], "type number without 2S", "the 2S is not printed on small parts"
    if number[:2] in ("74", "54"):
        yield from ((form.format(number), "maker's print", "") for form in _LOGIC_FORMS)
    if number in CMOS_4000:
        yield from ((form.format(number), "maker's print", "") for form in _CMOS_FORMS)
    yield from (
        (name, "maker's own number", "compare refresh and pins in the sheets")
        for name, industry in MEMORY_NAMES.items()
        if industry == number
    )


# ---------------------------------------------------------------- what is easily confused with it


def _neighbours(spec: Spec, rows: Iterable[BandRow], codes: Iterable[PrintedCode]) -> list[Neighbour]:
    if spec.value is None or spec.kind not in _BAND_KINDS:
        return []
    found: dict[str, Neighbour] = {}
    for neighbour in (*_row_neighbours(spec, rows), *_code_neighbours(spec, codes)):
        if neighbour.text != print_value(spec.kind, spec.value):
            found.setdefault(f"{neighbour.seen} {neighbour.text}", neighbour)
    # Preferred values first: those are the ones that really lie in the tray.
    return list(found.values())[:MAX_NEIGHBOURS]


def _row_neighbours(spec: Spec, rows: Iterable[BandRow]) -> Iterator[Neighbour]:
    for row in rows:
        schemes = [each for each in _schemes(row.notation) if len(each.places) == len(row.bands)]
        if row.scheme or not schemes or not 3 <= len(row.bands) <= 5:
            continue
        scheme = schemes[0]
        backwards = row.colours[::-1]
        for value in _values(scheme, backwards):
            yield Neighbour(_dashed(row.colours), print_value(spec.kind, value), "read from the other end")
        for at, band in enumerate(row.bands):
            if scheme.places[at].role not in ("figure", "multiplier"):
                continue
            for colour in bands.CONFUSED[band.colour]:
                other = (*row.colours[:at], colour, *row.colours[at + 1 :])
                for value in _values(scheme, other):
                    why = f"band {at + 1}: {colour} looks like {band.colour}"
                    yield Neighbour(_dashed(other), print_value(spec.kind, value), why)


def _values(scheme: Scheme, colours: tuple[str, ...]) -> Iterator[int]:
    """The preferred values that these colours give from this end."""
    cells = tuple((colour,) for colour in colours)
    seen = list(bands.read_one_way(cells, scheme, None, Budget(200), 200, 1.0))
    usual = [candidate.value for candidate in seen if candidate.weight > SELDOM_MADE]
    for value in dict.fromkeys(usual):
        if value and series_of(value) in COMMON_SERIES:
            yield value


def _dashed(colours: tuple[str, ...]) -> str:
    return "-".join(colours)


def _code_neighbours(spec: Spec, codes: Iterable[PrintedCode]) -> Iterator[Neighbour]:
    short = [code.text for code in codes if code.text.isalnum() and 2 <= len(code.text) <= 5][:3]
    for code in short:
        for reading in decode(Question(marking=code, kind=spec.kind, limit=4)).readings[:4]:
            if reading.value and reading.score >= 0.001 and series_of(reading.value) in COMMON_SERIES:
                yield Neighbour(
                    code, print_value(spec.kind, reading.value), f"{code} read as {reading.notation}"
                )
    for code in short:
        upside_down = turned(tuple((character,) for character in code))
        if upside_down:
            text = "".join(cell[0] for cell in upside_down if cell)
            yield from _read_as(spec, text, f"{text} is {code} upside down")
        for at, character in enumerate(code):
            for other in CONFUSED.get(character.upper(), ""):
                if other.isdigit() == character.isdigit():
                    text = code[:at] + other + code[at + 1 :]
                    yield from _read_as(spec, text, f"{other} looks like {character}")


def _read_as(spec: Spec, text: str, why: str) -> Iterator[Neighbour]:
    readings = decode(Question(marking=text, kind=spec.kind, limit=1)).readings
    if readings and readings[0].value and series_of(readings[0].value) in COMMON_SERIES:
        yield Neighbour(text, print_value(spec.kind, readings[0].value), why)
