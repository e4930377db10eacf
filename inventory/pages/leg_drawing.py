"""The legs of a part drawn as one holds it, each with its name; the words beside say how it is held."""

from dataclasses import dataclass
from functools import lru_cache
from math import cos, radians, sin

from django.utils.html import format_html, format_html_join
from django.utils.safestring import SafeString

from inventory.spec import Spec
from inventory.type_numbers import Legs, held_of, legs_of
from inventory.type_numbers.legs import CAN, CHIP, POWER_CAN, SURFACE, TAB_ABOVE

ROW = 24


@dataclass(frozen=True)
class LegDrawing:
    """The drawing, the body it is of, how it is held, and each leg's number and name."""

    svg: SafeString
    package: str
    held: str
    names: tuple[str, ...]


@lru_cache(maxsize=1024)
def legs_drawn(spec: Spec) -> LegDrawing | None:
    """The legs of this part; None where their order, or the body it holds for, is not known."""
    legs = legs_of(spec.kind, spec.number, spec.package) if spec.number else None
    order = str(spec.traits.get("pin_order", "")).upper()
    if order:  # what was found on the very part goes before what its type says
        package = spec.package or (legs.package if legs else "")
        legs = (
            Legs(package, tuple(order.split("-") if "-" in order else order), held)
            if (held := held_of(package))
            else None
        )
    if legs is None:
        return None
    draw = {CHIP: _chip, CAN: _can, POWER_CAN: _power_can, SURFACE: _surface}.get(legs.held, _flat)
    return LegDrawing(draw(legs), legs.package, legs.held, legs.names)


def _svg(wide: int, high: int, legs: Legs, body: SafeString) -> SafeString:
    title = ", ".join(f"{number} {name}" for number, name in enumerate(legs.names, 1))
    return format_html(
        '<svg class="legs" width="{0}" height="{1}" viewBox="0 0 {0} {1}" role="img" aria-label="{2}: {3}">'
        "{4}</svg>",
        wide, high, legs.package, title, body,
    )  # fmt: skip


def _text(x: float, y: float, word: str, anchor: str = "middle") -> SafeString:
    return format_html(
        '<text x="{}" y="{}" text-anchor="{}">{}</text>', round(x, 1), round(y, 1), anchor, word
    )


def _joined(parts: list[SafeString]) -> SafeString:
    return format_html_join("", "{}", ((part,) for part in parts))


def _chip(legs: Legs) -> SafeString:
    """Down the left side, up the right, the notch at the top."""
    half, count = (len(legs.names) + 1) // 2, len(legs.names)
    bottom = 14 + half * ROW
    parts = [format_html('<path d="M100 8h34a16 12 0 0 0 32 0h34v{}H100z"/>', bottom - 8)]
    for number, name in enumerate(legs.names, 1):
        left = number <= half
        y = 8 + ROW * ((number if left else count + 1 - number) - 0.5) + 6
        parts.append(format_html('<path d="M{} {}h14"/>', 86 if left else 200, y - 5))
        parts.append(_text(80 if left else 220, y, name, "end" if left else "start"))
        parts.append(_text(106 if left else 194, y, str(number), "start" if left else "end"))
    return _svg(300, bottom + 8, legs, _joined(parts))


def _flat(legs: Legs) -> SafeString:
    """The print, or the flat side, towards one: legs downwards; a tab stands at the top."""
    count = len(legs.names)
    wide = max(180, 64 * count)
    left, step = wide / 2 - 50, 100 / count
    parts = []
    if legs.package.upper().startswith("TO-2") or legs.held == TAB_ABOVE:
        parts.append(
            format_html('<path d="M{} 8h84v20h-84z"/><circle cx="{}" cy="18" r="5"/>', left + 8, wide / 2)
        )
    parts.append(format_html('<path d="M{} 28h100v44h-100z"/>', left))
    for number, name in enumerate(legs.names, 1):
        x = left + step * (number - 0.5)
        foot = wide * (number - 0.5) / count
        parts.append(format_html('<path d="M{} 72v10L{} 104"/>', x, foot))
        parts.append(_text(x, 66, str(number)))
        parts.append(_text(foot, 122, name))
    return _svg(wide, 130, legs, _joined(parts))


def _can(legs: Legs) -> SafeString:
    """From below: clockwise from the tab, which stands at the upper left."""
    count = len(legs.names)
    step = 90 if count <= 4 else 360 / count
    parts = [SafeString('<circle cx="110" cy="80" r="46"/><path d="M70 52L58 40l8-8 12 12"/>')]
    for number, name in enumerate(legs.names, 1):
        angle = radians(225 + 45 + step * (number - 1))
        x, y = 110 + 26 * cos(angle), 80 + 26 * sin(angle)
        parts.append(format_html('<circle cx="{}" cy="{}" r="5" class="ink"/>', round(x, 1), round(y, 1)))
        parts.append(_text(110 + 66 * cos(angle), 86 + 62 * sin(angle), f"{number} {name}"))
    return _svg(220, 160, legs, _joined(parts))


def _power_can(legs: Legs) -> SafeString:
    """From below: two pins, and the case for the last."""
    *pins, case = legs.names
    parts = [SafeString('<path d="M10 70L80 20h80l70 50-70 50H80z"/><circle cx="120" cy="70" r="44"/>')]
    for number, name in enumerate(pins, 1):
        x = 120 + 22 * (2 * number - len(pins) - 1)
        parts.append(format_html('<circle cx="{}" cy="62" r="5" class="ink"/>', x))
        parts.append(_text(x, 88, f"{number} {name}"))
    parts.append(_text(120, 138, f"case {case}"))
    return _svg(240, 146, legs, _joined(parts))


def _surface(legs: Legs) -> SafeString:
    """From above: two legs below and one above."""
    parts = [SafeString('<path d="M60 44h100v44H60zM84 88v16M136 88v16M110 44V28"/>')]
    for x, y, number, name in zip((84, 136, 110), (122, 122, 22), (1, 2, 3), legs.names, strict=False):
        parts.append(_text(x, y, f"{number} {name}"))
    return _svg(220, 130, legs, _joined(parts))
