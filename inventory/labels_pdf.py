"""Labels as a PDF at their true size, for sheets and for printers of rolls.

Lengths are in millimetres.  A label is laid out as on the page: the value as large as it goes in one line,
beneath it what it is and where it came from, the mark of condition and the number, and the code on the right.
"""

from collections.abc import Sequence
from functools import cache
from pathlib import Path
from typing import Any

import segno
from fpdf import FPDF

from inventory.labels import Label, LabelSheet, sheets

_FONTS = Path(__file__).parent / "fonts"
_POINT = 25.4 / 72
_LARGEST, _SMALLEST, _STEP = 40.0, 6.0, 0.5
"""Points of the value: it is whole, however long, and one line where it can be."""
_LEADING = 1.2
_CODE_SHARE = 0.36
_QUIET = 4
"""Modules left free around a code (ISO/IEC 18004)."""
_TICK = 2.0


def pdf(labels: Sequence[Label], stock: LabelSheet, *, start: int = 1, marks: bool = False) -> bytes:
    """The sheets, or one page for each label of a roll; `marks` draws a tick at each corner to cut along."""
    paper = _Paper(stock)
    for sheet in sheets(labels, stock, start):
        paper.add_page()
        for at, label in enumerate(sheet):
            down, across = divmod(at, stock.across)
            left = float(stock.left + across * (stock.width + stock.gap))
            top = float(stock.top + down * stock.height)
            if label is not None:
                paper.label(label, left, top)
            if marks:
                paper.ticks(left, top)
    return bytes(paper.output())


class _Paper(FPDF):
    """Sheets of one stock."""

    def __init__(self, stock: LabelSheet) -> None:
        self.wide, self.high = float(stock.width), float(stock.height)
        whole = {"A4": "A4", "US Letter": "Letter"}.get(stock.paper)
        turned = whole is None and self.wide > self.high  # fpdf takes the shorter length of a page first
        super().__init__(
            orientation="landscape" if turned else "portrait",
            unit="mm",
            format=whole or (min(self.wide, self.high), max(self.wide, self.high)),
        )
        self.set_margin(0)
        self.c_margin = 0  # a line that just fits is not broken
        self.set_auto_page_break(False)
        self.add_font("label", "", _FONTS / "DejaVuSansCondensed.ttf")
        self.add_font("label", "B", _FONTS / "DejaVuSansCondensed-Bold.ttf")
        self.set_title("Labels")
        self.set_creator("Rehome")
        self.pad = 2.0 if self.high > 33 else 1.5

    def label(self, label: Label, left: float, top: float) -> None:
        pad = self.pad
        side = min(self.high - 2 * pad, self.wide * _CODE_SHARE)
        inner = self.wide - 2 * pad - 0.5
        text = inner - side - 1
        x, y = left + pad + 0.5, top + pad
        code_top = top + self.high - pad - side
        points = self._fitting(label.value, inner)
        if y + points * _POINT * _LEADING > code_top:  # it would run into the code
            points = self._fitting(label.value, text)
        width = inner if y + points * _POINT * _LEADING <= code_top else text
        for line in self._wrapped(label.value, points, width, "B"):
            y += self._line(line, x, y, points, "B")
        self._code(label.address, left + self.wide - pad - side, code_top, side)
        points = min(max(self.high / _POINT * 0.072, 6.5), 11.0)
        foot = top + self.high - pad - points * _POINT * _LEADING
        room = max(0, int((foot - y) / (points * _POINT * _LEADING)))
        what = self._wrapped(label.what, points, text)
        where = self._wrapped(label.where, points, text)
        shown = what[: max(1, room - min(len(where), 1))]
        shown += where[: max(0, room - len(shown))]
        for line in shown[:room]:
            y += self._line(line, x, y, points)
        self._mark(label, x, foot, points)

    def ticks(self, left: float, top: float) -> None:
        self.set_line_width(0.1)
        for x, inwards in ((left, 1), (left + self.wide, -1)):
            for y, downwards in ((top, 1), (top + self.high, -1)):
                self.line(x, y, x + inwards * _TICK, y)
                self.line(x, y, x, y + downwards * _TICK)

    def _fitting(self, text: str, width: float) -> float:
        """Points in which the value is one line of this width, and a third of the label high at most."""
        points = min(_LARGEST, self.high * 0.34 / _POINT / _LEADING)
        self.set_font("label", "B", points)
        while points > _SMALLEST and self.get_string_width(text) > width:
            points -= _STEP
            self.set_font("label", "B", points)
        return points

    def _line(self, text: str, x: float, y: float, points: float, style: str = "") -> float:
        """Write a line; how far down the next one stands."""
        self.set_font("label", style, points)
        self.text(x, y + points * _POINT, text)
        return points * _POINT * _LEADING

    def _wrapped(self, text: str, points: float, width: float, style: str = "") -> list[str]:
        if not text:
            return []
        self.set_font("label", style, points)
        lines: Any = self.multi_cell(width, text=text, dry_run=True, output="LINES", align="L")
        return list(lines)

    def _code(self, address: str, x: float, y: float, side: float) -> None:
        rows = _modules(address)
        module = side / (len(rows) + 2 * _QUIET)
        self.set_fill_color(0)
        for down, row in enumerate(rows, _QUIET):
            start = None
            for across, dark in enumerate((*row, 0), _QUIET):
                if dark and start is None:
                    start = across
                elif not dark and start is not None:
                    self.rect(x + start * module, y + down * module, (across - start) * module, module, "F")
                    start = None

    def _mark(self, label: Label, x: float, y: float, points: float) -> None:
        """The shape and word of the condition, and the number."""
        if label.condition:
            size = points * _POINT * 0.85
            self._shape(label.condition, x, y + points * _POINT * 0.2, size)
            x += size + 1
        text = "  ".join(each for each in (label.condition, label.number) if each)
        self._line(text, x, y, points, "B")

    def _shape(self, condition: str, x: float, y: float, size: float) -> None:
        """Full disc good, empty disc untested, half disc suspect, cross faulty: as on the pages."""
        self.set_line_width(size * 0.14)
        self.set_fill_color(0)
        radius = size / 2
        if condition == "faulty":
            self.line(x, y, x + size, y + size)
            self.line(x, y + size, x + size, y)
            return
        self.circle(x + radius, y + radius, radius, style="DF" if condition == "good" else "D")
        if condition == "suspect":
            self.solid_arc(x, y, size, 90, 270, b=size, style="F")


@cache
def _modules(address: str) -> list[list[int]]:
    return [list(row) for row in segno.make(address, error="m", micro=False).matrix]
