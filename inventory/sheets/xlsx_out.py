"""Workbooks (xlsx) written so that text stays text, in pieces as they are asked for.

The library writes the workbook with its headings, styles and drop-downs.  The rows are put in here as the
parts go out: cell by cell through the library they take ten times as long.
"""

import re
import zipfile
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from decimal import Decimal
from io import BytesIO
from typing import IO, Any, cast
from xml.sax.saxutils import escape
from zipfile import ZipFile

from openpyxl import Workbook
from openpyxl.cell import WriteOnlyCell
from openpyxl.styles import Alignment, Font, PatternFill
from openpyxl.utils import get_column_letter
from openpyxl.worksheet.datavalidation import DataValidation

from inventory.sheets.grid import Limits
from inventory.sheets.xlsx_stream import LAST_ROW
from inventory.sheets.xlsx_text import escaped

CellOut = str | int | Decimal | None


@dataclass(frozen=True)
class ColumnOut:
    """A column of a written sheet: a drop-down where there are choices, text format where it holds text."""

    heading: str
    width: int = 12
    text: bool = True
    choices: tuple[str, ...] = ()
    others: bool = False
    hint: str = ""


@dataclass(frozen=True)
class SheetOut:
    """A sheet to write: text is written as text, whatever it starts with; numbers as numbers."""

    name: str
    columns: Sequence[ColumnOut]
    rows: Iterable[Sequence[CellOut]]
    wrapped: bool = False


def write(sheets: Sequence[SheetOut], limits: Limits) -> Iterator[bytes]:
    """A workbook as pieces of bytes, in the memory of a few rows, however long the sheets are."""
    skeleton = Workbook(write_only=True)
    styles = [_prepared(skeleton.create_sheet(sheet.name), sheet) for sheet in sheets]
    prepared = BytesIO()
    skeleton.save(prepared)
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
                for text in _row_texts(sheets[which], styles[which], limits):
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
_HEAD_FONT = Font(bold=True)
_HEAD_FILL = PatternFill("solid", start_color="DDE6E4")


def _prepared(out: Any, sheet: SheetOut) -> list[int]:
    """Give the sheet its headings, widths and drop-downs; answer the style number of each column's cells."""
    out.freeze_panes = "A2"
    heads, styles = [], []
    for index, column in enumerate(sheet.columns, start=1):
        letter = get_column_letter(index)
        out.column_dimensions[letter].width = column.width
        head, cell = WriteOnlyCell(out, column.heading), WriteOnlyCell(out)
        head.font, head.fill = _HEAD_FONT, _HEAD_FILL
        cell.alignment = Alignment(vertical="top", wrap_text=sheet.wrapped)
        if column.text:
            cell.number_format = out.column_dimensions[letter].number_format = "@"
        if column.choices or column.hint:
            out.data_validations.append(_said(column, f"{letter}2:{letter}{LAST_ROW}"))
        heads.append(head)
        styles.append(cell.style_id)
    out.append(heads)
    return styles


def _said(column: ColumnOut, cells: str) -> DataValidation:
    """The drop-down of a column, and what is shown when a cell is chosen."""
    rule = DataValidation(sqref=cells, allow_blank=True)
    if column.choices:
        rule.type, rule.formula1 = "list", f'"{",".join(column.choices)}"'
        rule.errorTitle, rule.error = column.heading[:32], f"Want one of: {', '.join(column.choices)}"[:255]
        rule.showErrorMessage = not column.others
    if column.hint:
        rule.promptTitle, rule.prompt, rule.showInputMessage = column.heading[:32], column.hint[:255], True
    return rule


def _row_texts(sheet: SheetOut, styles: Sequence[int], limits: Limits) -> Iterator[str]:
    """The rows as XML, some hundred at a time."""
    letters = [get_column_letter(index) for index in range(1, len(styles) + 1)]
    pieces: list[str] = []
    for number, row in enumerate(sheet.rows, start=2):
        pieces.append(f'<row r="{number}">')
        for letter, style, value in zip(letters, styles, row, strict=True):
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
        if number % 500 == 0:
            yield "".join(pieces)
            pieces.clear()
    yield "".join(pieces)
