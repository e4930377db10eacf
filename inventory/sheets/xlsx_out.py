"""Workbooks (xlsx) written so that text stays text, in pieces as they are asked for.

The library writes the workbook with its headings, styles and drop-downs.  The rows are put in here as the
parts go out: cell by cell through the library they take ten times as long.
"""

import re
import zipfile
from collections.abc import Iterator, Sequence
from textwrap import wrap
from typing import IO, cast
from xml.sax.saxutils import escape
from zipfile import ZipFile

from inventory.sheets.grid import LAST_ROW, CellOut, Limits, SheetOut
from inventory.sheets.xlsx_escapes import escaped


def write(sheets: Sequence[SheetOut], limits: Limits) -> Iterator[bytes]:
    """A workbook as pieces of bytes, in the memory of a few rows, however long the sheets are."""
    from inventory.sheets.xlsx_skeleton import skeleton  # openpyxl takes a quarter of a second to import

    prepared, columns = skeleton(sheets)
    sink = _Sink()
    with ZipFile(prepared) as source, ZipFile(cast(IO[bytes], sink), "w", zipfile.ZIP_DEFLATED) as archive:
        for name in source.namelist():
            found = _SHEET_PART.fullmatch(name)
            with archive.open(name, "w") as part:
                if found is None:
                    part.write(source.read(name))
                    continue
                which = int(found[1]) - 1
                before, end, after = source.read(name).partition(b"</sheetData>")
                part.write(before)
                for text in _row_texts(sheets[which], columns[which], limits):
                    part.write(text.encode())
                    yield sink.taken()
                part.write(end + after)
            yield sink.taken()
    yield sink.taken()


class _Sink:
    """Where the zip is written: it can only be added to, and what is there is taken out as it comes."""

    def __init__(self) -> None:
        self._pieces: list[bytes] = []

    def write(self, piece: bytes) -> int:
        self._pieces.append(bytes(piece))
        return len(piece)

    def flush(self) -> None:
        """The zip writer asks for it; nothing is held back here."""

    def taken(self) -> bytes:
        pieces, self._pieces = self._pieces, []
        return b"".join(pieces)


_SHEET_PART = re.compile(r"xl/worksheets/sheet([0-9]+)\.xml")


def _row_texts(sheet: SheetOut, columns: Sequence[tuple[str, int]], limits: Limits) -> Iterator[str]:
    """The rows as XML, some hundred at a time; what a sheet cannot hold is left to csv, and that is said."""
    pieces: list[str] = []
    seen = sheet.columns[: sheet.on_paper or len(sheet.columns)]
    wrapping = [(at, column.width) for at, column in enumerate(seen) if sheet.wraps(column)]
    for number, row in enumerate(sheet.rows, start=2):
        values = row if number < LAST_ROW else (_FULL,)
        lines = max((_lines(row[at], width) for at, width in wrapping), default=1) if wrapping else 1
        height = f' ht="{min(lines * _LINE, _TALLEST)}"' if lines > 1 else ""
        pieces.append(f'<row r="{number}"{height}>')
        for (letter, style), value in zip(columns, values, strict=number < LAST_ROW):
            if isinstance(value, str):
                if value:
                    text = escape(escaped(value[: limits.cell]))
                    pieces.append(
                        f'<c r="{letter}{number}" s="{style}" t="inlineStr">'
                        f'<is><t xml:space="preserve">{text}</t></is></c>'
                    )
            elif value is not None:
                pieces.append(f'<c r="{letter}{number}" s="{style}"><v>{value}</v></c>')
        pieces.append("</row>")
        if number == LAST_ROW:
            break
        if number % 500 == 0:
            yield "".join(pieces)
            pieces.clear()
    yield "".join(pieces)


_LINE, _TALLEST = 15, 405
"""Points: a line of the usual print, and as many lines as a row of a sheet can hold (409 points)."""


def _lines(value: CellOut, width: int) -> int:
    """How many lines a text takes: not every program finds that out for itself.

    A column's width is in figures; text is narrower, about by what the edges and the indent of a cell take.
    """
    if not isinstance(value, str) or (len(value) <= width and "\n" not in value):
        return 1
    return sum(len(wrap(each, width)) or 1 for each in value[:2000].splitlines())


_FULL = "A sheet holds no more rows: the rest is in the csv."
