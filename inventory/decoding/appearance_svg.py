"""A drawing of what to look for: a body with its bands, or a label with its codes, for any eye and any theme.

Each band carries its colour's two letters, its name and its meaning, so nothing is said by colour alone; gold
and silver are hatched. No script, no outside address, no style sheet.
"""

from __future__ import annotations

from collections.abc import Sequence
from html import escape
from typing import Final

from inventory.decoding.appearance import Appearance, Band, BandRow

# Letters of IEC 60757. Fill and ink: contrast of the letters on the band is at least 4.5 to 1 (WCAG 2).
LETTERS: Final = {
    "black": "BK", "brown": "BN", "red": "RD", "orange": "OG", "yellow": "YE", "green": "GN", "blue": "BU",
    "violet": "VT", "grey": "GY", "white": "WH", "gold": "GD", "silver": "SR", "pink": "PK",
}  # fmt: skip
FILLS: Final = {
    "black": ("#1c1a1b", "#ffffff"), "brown": ("#6b3a1e", "#ffffff"), "red": ("#b3201f", "#ffffff"),
    "orange": ("#f07a1c", "#000000"), "yellow": ("#f2d21f", "#000000"), "green": ("#2b7a3f", "#ffffff"),
    "blue": ("#1f4fa3", "#ffffff"), "violet": ("#6f3f94", "#ffffff"), "grey": ("#9a9a9a", "#000000"),
    "white": ("#ffffff", "#000000"), "gold": ("#c9a24a", "#000000"), "silver": ("#cfd0d2", "#000000"),
    "pink": ("#ee9db0", "#000000"),
}  # fmt: skip
_METAL: Final = ("gold", "silver")
_INK, _PAPER, _BODY, _WIRE = "#1d1a16", "#fbf7ee", "#e4cfa6", "#8b8b8b"
_PITCH, _BAND, _MARGIN, _HEIGHT = 82, 62, 50, 380
_TITLE: Final = 46
"""So much of the top is the part in words."""
_FONT: Final = "font-family=\"system-ui, 'DejaVu Sans', sans-serif\""
MAX_CODES: Final = 4


def appearance_svg(appearance: Appearance, *, bands: int | None = None, titled: bool = True) -> str:
    """The row with this many bands (by default the first there is), otherwise the codes on a label. SVG 1.1.

    Without a title it is for a page that says what the part is: the part in words would make a label as wide
    as the words, and its codes small.
    """
    rows = [row for row in appearance.rows if bands is None or len(row.bands) == bands]
    if rows:
        return _row_svg(appearance, rows[0], titled)
    return _label_svg(appearance, titled)


def _row_svg(appearance: Appearance, row: BandRow, titled: bool) -> str:
    width = 2 * _MARGIN + _PITCH * len(row.bands)
    title = f"{appearance.spec.text}: {', '.join(row.colours)}"
    shapes = [
        f'<line x1="0" y1="132" x2="{width}" y2="132" stroke="{_WIRE}" stroke-width="12"/>',
        f'<rect x="22" y="52" width="{width - 44}" height="160" rx="40" fill="{_BODY}" {_line(4)}/>',
    ]
    for number, band in enumerate(row.bands):
        last = number == len(row.bands) - 1 and len(row.bands) > 3
        # The last band stands a little apart, as it does on parts: it shows which end to begin at.
        middle = _MARGIN + _PITCH * number + _PITCH / 2 + (8 if last else -4)
        shapes += _band_shapes(band, middle, lower=number % 2 == 1)
    return _document(width, _HEIGHT, title, shapes, appearance.spec.text if titled else "")


def _band_shapes(band: Band, middle: float, *, lower: bool) -> list[str]:
    """One band with its words below; every second one lower, so that six fit the width of a phone."""
    fill, ink = FILLS[band.colour]
    left = middle - _BAND / 2
    shapes = [f'<rect x="{left:g}" y="54" width="{_BAND}" height="156" fill="{fill}" {_line(3)}/>']
    if band.colour in _METAL:
        # Hatched above and below the letters only, so that they stay clear.
        shapes += [
            f'<line x1="{left:g}" y1="{y + 16}" x2="{left + _BAND:g}" y2="{y}" {_line(3)}/>'
            for y in (64, 82, 166, 184)
        ]
    shapes.append(_text(middle, 145, LETTERS[band.colour], 34, "bold", ink))
    top = 332 if lower else 250
    if lower:
        shapes.append(f'<line x1="{middle:g}" y1="212" x2="{middle:g}" y2="304" {_line(2)}/>')
    shapes.append(_text(middle, top, band.colour, 30, "bold"))
    shapes.append(_text(middle, top + 34, _short(band.says), 30))
    return shapes


def _line(width: int) -> str:
    return f'stroke="{_INK}" stroke-width="{width}"'


def _short(text: str) -> str:
    """What fits below a band: x10^2 Ω becomes ×100 Ω or ×10⁶ Ω, "suffix A" and volts stay."""
    head, _, unit = text.partition(" ")
    if head.startswith("x10^"):
        power = int(head.removeprefix("x10^"))
        times = f"×{10**power}" if 0 <= power <= 3 else "×10" + "".join(_RAISED[c] for c in str(power))
        return f"{times} {unit}".strip()
    return text.replace("x0", "×0", 1)[:12]


_RAISED: Final = dict(zip("-0123456789", "⁻⁰¹²³⁴⁵⁶⁷⁸⁹", strict=True))


def _label_svg(appearance: Appearance, titled: bool) -> str:
    codes = [code.text for code in appearance.codes[:MAX_CODES]]
    words = appearance.spec.text if titled else ""
    longest = max([len(words), *(len(code) * 2 for code in codes), 14])
    width = 80 + 17 * longest
    height = 96 + 66 * max(1, len(codes))
    shapes = [
        f'<rect x="24" y="60" width="{width - 48}" height="{height - 84}" rx="18" fill="#2e2d2a" {_line(4)}/>'
    ]
    for number, code in enumerate(codes or ["no code"]):
        shapes.append(_text(width / 2, 118 + 66 * number, code, 48, "bold", "#fdfbf3"))
    title = f"{appearance.spec.text}: marked {', '.join(codes) or 'nothing'}"
    return _document(width, height, title, shapes, words)


def _text(x: float, y: float, words: str, size: int, weight: str = "normal", ink: str = _INK) -> str:
    return (
        f'<text x="{x:g}" y="{y:g}" text-anchor="middle" {_FONT} font-size="{size}" font-weight="{weight}" '
        f'fill="{ink}">{escape(_printable(words))}</text>'
    )


def _printable(words: str) -> str:
    """XML 1.0 allows no control characters, escaped or not."""
    return "".join(character if character.isprintable() else " " for character in words)


def _document(width: float, height: float, title: str, shapes: Sequence[str], words: str) -> str:
    """The shapes with the part in words above them; without words the picture begins below that line."""
    name = escape(_printable(title))
    top = 0 if words else _TITLE
    above = _text(width / 2, 36, words, 28, "bold") if words else ""
    size = f'width="{width:g}" height="{height - top:g}"'
    return (
        f'<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 {top} {width:g} {height - top:g}" {size} '
        f'role="img" aria-label="{name}"><title>{name}</title>'
        f'<rect y="{top}" {size} rx="14" fill="{_PAPER}"/>'
        f"{above}{''.join(shapes)}</svg>\n"
    )
