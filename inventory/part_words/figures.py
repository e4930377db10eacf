"""Words with a figure and a unit, a package or a name before them: what each may say of a part.  Pure."""

import re
from collections.abc import Callable, Iterator
from typing import Any

from inventory.part_words.vocabulary import CHIP_SIZES
from inventory.type_numbers.fuse_marks import read_fuse

Offer = dict[str, Any]
"""Properties and traits that a word may say together; of several offers the first that the kind takes."""

_NUMBER = r"[0-9]+(?:[.,][0-9]+)?|[.,][0-9]+"
_POWER = rf"{_NUMBER}|[0-9]{{1,2}}/[0-9]{{1,3}}|[0-9]?[¼½⅛¾]"
_RATED_TEMPERATURES = frozenset(map(str, (70, 85, 100, 105, 125, 130, 135, 150, 155, 175, 200)))
_CONTACTS = r"(?:([0-9]{1,2}) ?x? ?)?(c/?o|change-?over|wechsler|n/o|n/c|form ?[abc])"
_WINDINGS = rf"([2-4]) ?[x×] ?({_NUMBER}) ?V(?:AC|~)?|({_NUMBER})-0-({_NUMBER}) ?V?(?:AC)?"
_VOLTS = rf"(?:{_NUMBER})(?: ?V)?"
_SUM = rf"({_VOLTS}(?: ?\+ ?{_VOLTS})+)"
_LEG = r"(?:E|B|C|G|D|S|K|A|IN|OUT|GND|ADJ|VIN|VOUT|COM|SUB|MT[12]|G[12])"
_MAINS = frozenset(map(str, (100, 110, 115, 117, 120, 127, 220, 230, 240, 380, 400)))
"""Volts of mains, present and past (IEC 60038 and common practice): of a transformer they are its primary."""
_PACKAGE = re.compile(
    r"(?:TO-?[0-9]{1,3}[A-Z]{0,3}(?:-[0-9]{1,2})?|SOT-?[0-9]{2,3}(?:-[0-9]+)?|SOD-?[0-9]{2,3}[A-Z]?|DO-?[0-9]{1,3}[A-Z]*"
    r"|(?:P|C|S|CER)?DI[PL]-?[0-9]{0,2}|SO(?:IC|P|J)?-?[0-9]{1,2}W?"
    r"|(?:H?TSSOP|SSOP|MSOP|VSSOP|TSOP(?:-I{1,2})?|T?QFP|LQFP|PLCC|[HTUVWX]{0,2}[DQ]FN|ZIP)-?[0-9]{0,3}|V?SON-?[0-9]{1,3}"
    r"|(?:[FPTU]?C?BGA|LGA)-?[0-9]{0,4}|TSOT-?[0-9]{2}(?:-[0-9])?|SC-?(?:59|70|74|75|82|88|89)A?(?:-[0-9])?"
    r"|SI[PL]-?[0-9]{1,2}|HC-?[0-9]{1,2}(?:/?[A-Z])?|(?:MINI)?MELF|SM[ABC]|D2?PAK)",
    re.IGNORECASE,
)


def _plain(figure: str) -> str:
    return figure.replace(",", ".").replace(" ", "")


def _tolerance(found: re.Match[str]) -> Iterator[Offer]:
    yield {"tolerance_percent": _plain(found[1])}


def _two_tolerances(found: re.Match[str]) -> Iterator[Offer]:
    by_sign = {found[1]: _plain(found[2]), found[3]: _plain(found[4])}
    if by_sign.keys() == {"+", "-"}:
        yield {"tolerance_low_percent": by_sign["-"], "tolerance_high_percent": by_sign["+"]}


def _volts(found: re.Match[str]) -> Iterator[Offer]:
    figure = f"{_plain(found[1])} {found[2] or ''}V"
    if found[3].upper() in ("AC", "~", "CA"):
        yield {"ac_volts": figure}
    plain = _plain(found[1])
    if not found[2]:
        yield {"output_volts": plain}  # of a regulator; nobody types another of its ratings without saying so
        yield {"primary_volts" if plain in _MAINS else "secondary_volts": plain}
    yield {"volts": figure}
    if not found[2]:
        yield {"zener_volts": plain}


def _output(found: re.Match[str]) -> Iterator[Offer]:
    yield {"output_volts": f"{found[1]}{_plain(found[2])}"}


def _amps(found: re.Match[str]) -> Iterator[Offer]:
    yield {"amps": f"{_plain(found[1])} {found[2] or ''}A"}


def _of_fuse(found: re.Match[str]) -> Iterator[Offer]:
    if facts := read_fuse(found[0]):
        yield {"kind": "fuse", **{name: str(fact) for name, fact in facts.items()}}


def _temperature(found: re.Match[str]) -> Iterator[Offer]:
    if found[2] or found[1] in _RATED_TEMPERATURES:
        yield {"temp_max_c": found[1]}


def _length(found: re.Match[str]) -> Iterator[Offer]:
    yield {"pitch_mm": _plain(found[1])}
    yield {"package": f"{_plain(found[1])} mm"}


def _package(found: re.Match[str]) -> Iterator[Offer]:
    name = found[0]
    dual = re.match(r"(?:[PCS]|CER)?DI[PL]", name, re.IGNORECASE)
    pins = re.search(r"[0-9]+$", name) if dual else None
    if dual:
        yield {"package": f"dip{pins[0]}" if pins else "dip", "lead_style": "dip"}
        yield {"package": f"dip{pins[0]}" if pins else "dip"}
    if row := re.fullmatch(r"SI[PL]-?([0-9]{1,2})", name, re.IGNORECASE):
        yield {"package": f"sip{row[1]}", "lead_style": "single_row"}
        yield {"package": f"sip{row[1]}"}
    yield {"package": name.upper()}


def _of_a_fuse(found: re.Match[str]) -> Iterator[Offer]:
    """5x20, 6.3x32: a fuse by its diameter and length."""
    yield {"kind": "fuse", "package": f"{_plain(found[1])}x{found[2]}"}


def _chip_size(found: re.Match[str]) -> Iterator[Offer]:
    if found[0] in CHIP_SIZES:
        yield {"package": found[0], "lead_style": "smd"}


def _same(name: str, unit: str = "") -> Callable[[re.Match[str]], Iterator[Offer]]:
    def offers(found: re.Match[str]) -> Iterator[Offer]:
        yield {name: f"{_plain(found[1])}{unit}"}

    return offers


def _ways(found: re.Match[str]) -> Iterator[Offer]:
    yield {"ways": found[1]}
    yield {"pins": found[1]}
    yield {"throws": found[1]}


def _of_d_shell(found: re.Match[str]) -> Iterator[Offer]:
    """DB25, DE-9S: a connector of a D shell (IEC 60807); P has the pins, S the sockets."""
    gender = {"P": "plug", "M": "plug", "S": "socket", "F": "socket"}.get(found[2].upper())
    yield {"kind": "connector", "ways": found[1], **({"gender": gender} if gender else {})}


def _poles_alone(found: re.Match[str]) -> Iterator[Offer]:
    """2-pole: circuits of a switch or relay, contacts of a connector."""
    yield {"poles": found[1]}
    yield from _ways(found)


def _ppm(found: re.Match[str]) -> Iterator[Offer]:
    yield {"ppm": _plain(found[1])}
    yield {"tcr_ppm": _plain(found[1])}


_THROWN = {"s": "1", "d": "2"}


def _contacts(found: re.Match[str]) -> Iterator[Offer]:
    """2 c/o, 1 n/o, 2 form C: so many contacts of that form (IEC 61810-1 forms A, B, C, from memory)."""
    form = found[2].lower().replace(" ", "").replace("/", "").removeprefix("form")
    made = {"no": "normally_open", "a": "normally_open", "nc": "normally_closed", "b": "normally_closed"}
    contacts = made.get(form, "change_over")
    yield {"poles": found[1] or "1", "contacts": contacts}
    yield {"poles": found[1] or "1", "throws": "2" if contacts == "change_over" else "1"}


def _poles(found: re.Match[str]) -> Iterator[Offer]:
    """SPDT, DPST, 4PDT: poles, and the positions of each."""
    poles = _THROWN.get(found[1].lower(), found[1])
    throws = _THROWN[found[2].lower()]
    yield {"poles": poles, "throws": throws}
    yield {"poles": poles, "contacts": "change_over"} if throws == "2" else {"poles": poles}


def _windings(found: re.Match[str]) -> Iterator[Offer]:
    """2x12V: two windings alike; 12-0-12V: one with its middle brought out."""
    if found[3]:
        yield {"secondary_volts": f"{_plain(found[3])}; {_plain(found[4])}"}
    else:
        yield {"secondary_volts": "; ".join([_plain(found[2])] * int(found[1]))}


def _summed(found: re.Match[str]) -> Iterator[Offer]:
    """15 V + 9 V: windings beside each other."""
    figures = (_plain(each.strip().removesuffix("V")) for each in found[1].split("+"))
    yield {"secondary_volts": "; ".join(figures)}


def _pins(found: re.Match[str]) -> Iterator[Offer]:
    yield {"pin_order": found[0]}


def _memory(found: re.Match[str]) -> Iterator[Offer]:
    yield {"organisation": found[0]}


def _named(found: re.Match[str]) -> Iterator[Offer]:
    yield {found[1].lower(): found[2].strip()}


_FORMS: tuple[tuple[re.Pattern[str], Callable[[re.Match[str]], Iterator[Offer]]], ...] = tuple(
    (re.compile(form, flags), offers)
    for form, offers, flags in (
        (rf"(?:±|\+/?-|-/?\+)? ?({_NUMBER}) ?(?:%|pct|prozent)", _tolerance, re.IGNORECASE),
        (rf"([+-]) ?({_NUMBER}) ?%? ?/? ?([+-]) ?({_NUMBER}) ?%", _two_tolerances, 0),
        (rf"({_NUMBER}) ?([km])?[Vv](?:olts?)? ?(DC|dc|AC|ac|CA|CC|[~=]|) ?", _volts, 0),
        (rf"([+-])({_NUMBER}) ?V", _output, re.IGNORECASE),
        (rf"({_POWER}) ?W(?:atts?)?", _same("watts", " W"), re.IGNORECASE),
        (rf"({_NUMBER}) ?mW", _same("watts", " mW"), 0),
        (rf"({_NUMBER}) ?VA", _same("va"), re.IGNORECASE),
        (rf"({_NUMBER}) ?([mµu])?A(?:mps?)?", _amps, 0),
        (rf"(?:FF|TT|F|T|M) ?(?:{_NUMBER}) ?m?A ?[LEH]?(?: ?[0-9]{{2,3}} ?V)?", _of_fuse, 0),
        (r"([0-9]{2,3}) ?(°|º|deg)? ?C", _temperature, 0),
        (rf"({_NUMBER}) ?ppm(?:/[KC°]+)?", _ppm, re.IGNORECASE),
        (rf"({_NUMBER}) ?ns", _same("speed_ns"), 0),
        (rf"(?:RM|[Pp]=?|pitch|raster) ?({_NUMBER}) ?(?:mm)?", _same("pitch_mm"), 0),
        (rf"({_NUMBER}) ?mm", _length, 0),
        (r"([0-9]{1,3}) ?-?(?:pins?|pol|polig|ways?|pos|vie)", _ways, re.IGNORECASE),
        (
            r"(?:D[A-E]|HD|D-?SUB)[- ]?(9|15|19|23|25|26|37|44|50|62|78)([PSMF]?)",
            _of_d_shell,
            re.IGNORECASE,
        ),
        (r"([0-9]{1,2}) ?-?poles?", _poles_alone, re.IGNORECASE),
        (r"[0-9]{1,6}[KMG]?[x×][0-9]{1,3}", _memory, 0),
        (r"(5|5\.2|6|6\.3) ?[x×] ?(15|20|25|30|32)(?: ?mm)?", _of_a_fuse, re.IGNORECASE),
        (rf"({_NUMBER}) ?pF", _same("load_pf"), 0),
        (rf"{_LEG}(?:-{_LEG}){{2,3}}", _pins, 0),
        (
            _CONTACTS,
            _contacts,
            re.IGNORECASE,
        ),
        (r"([sd1-9])p([sd])t", _poles, re.IGNORECASE),
        (
            _WINDINGS,
            _windings,
            re.IGNORECASE,
        ),
        (_SUM, _summed, re.IGNORECASE),
        (rf"({_NUMBER}) ?(?:R|Ω|ohms?)", _same("ohms"), re.IGNORECASE),
        (rf"ESR ?[=:<]? ?({_NUMBER}) ?(?:R|Ω|ohms?)?", _same("esr_ohm"), re.IGNORECASE),
        (r"([A-Za-z_]{2,24})=(\S+)", _named, 0),
        (_PACKAGE.pattern, _package, re.IGNORECASE),
        (r"[0-9]{4}", _chip_size, 0),
    )
)


def offers_of(words: str) -> list[Offer]:
    """What a word, or a figure and its unit with a space between, may say; nothing where it is no such word.

    >>> offers_of("275V"), offers_of("1/4 W"), offers_of("blue")
    ([{'volts': '275 V'}], [{'watts': '1/4 W'}], [])
    """
    return [
        offer
        for form, offers in _FORMS
        if (found := form.fullmatch(words)) is not None
        for offer in offers(found)
    ]
