"""The workbook around the rows that are written: headings, styles, widths and drop-downs, by openpyxl."""

from collections.abc import Sequence
from io import BytesIO
from math import ceil
from typing import Any

from openpyxl import Workbook
from openpyxl.cell import WriteOnlyCell
from openpyxl.styles import Alignment, Font, PatternFill
from openpyxl.utils import get_column_letter
from openpyxl.worksheet.datavalidation import DataValidation
from openpyxl.worksheet.page import PageMargins
from openpyxl.worksheet.properties import PageSetupProperties

from inventory.sheets.grid import LAST_ROW, ColumnOut, SheetOut

_HEAD_FONT = Font(bold=True)
_HEAD_FILL = PatternFill("solid", start_color="DDE6E4")


_SIDE = {True: "left", False: "right"}
"""Where texts and figures begin, and so their headings."""


def skeleton(sheets: Sequence[SheetOut]) -> tuple[BytesIO, list[list[tuple[str, int]]]]:
    """A workbook whose sheets hold their headings; and for each sheet the letter and style of each column."""
    book = Workbook(write_only=True)
    book.properties.creator = "Rehome"
    columns = [_prepared(book.create_sheet(sheet.name), sheet) for sheet in sheets]
    file = BytesIO()
    book.save(file)
    return file, columns


def _prepared(out: Any, sheet: SheetOut) -> list[tuple[str, int]]:
    """Give the sheet its headings, widths and drop-downs; answer the letter and style of each column."""
    _set_for_paper(out, sheet)
    heads, columns = [], []
    for index, column in enumerate(sheet.columns, start=1):
        letter = get_column_letter(index)
        out.column_dimensions[letter].width = column.width
        if 0 < sheet.on_paper < index:
            out.column_dimensions[letter].outlineLevel = 1
            out.column_dimensions[letter].hidden = True
        head, cell = WriteOnlyCell(out, column.heading), WriteOnlyCell(out)
        head.font, head.fill = _HEAD_FONT, _HEAD_FILL
        head.alignment = Alignment(
            wrap_text=" " in column.heading, indent=int(column.text), horizontal=_SIDE[column.text]
        )
        cell.alignment = Alignment(
            vertical="top", wrap_text=sheet.wraps(column),
            # A figure ends where the next column begins: "155" beside "1 A fuse" would read "1551 A".
            indent=int(column.text), horizontal=_SIDE[column.text],
        )  # fmt: skip
        if column.text:
            cell.number_format = out.column_dimensions[letter].number_format = "@"
        if column.choices or column.hint:
            out.data_validations.append(_validation(column, f"{letter}2:{letter}{LAST_ROW}"))
        heads.append(head)
        columns.append((letter, cell.style_id))
    out.append(heads)
    return columns


_UPRIGHT, _ACROSS = 90, 135
"""Characters that stand side by side on a page of A4 at full size."""
_SMALLEST = 0.5
"""Print is not made smaller than that; a wider sheet takes pages beside each other."""
_A4 = 9  # ECMA-376, part 1, 18.3.1.63


def _set_for_paper(out: Any, sheet: SheetOut) -> None:
    """Columns on as few pages as can be read, headings on each page, filters on the screen."""
    printed = sheet.columns[: sheet.on_paper or len(sheet.columns)]
    width = sum(column.width for column in printed)
    upright = width <= _UPRIGHT
    out.freeze_panes = "A2"
    out.auto_filter.ref = f"A1:{get_column_letter(len(sheet.columns))}{LAST_ROW}"
    out.page_setup.orientation = "portrait" if upright else "landscape"
    out.page_setup.paperSize = _A4
    out.page_setup.fitToWidth = max(1, ceil(width * _SMALLEST / (_UPRIGHT if upright else _ACROSS)))
    out.page_setup.fitToHeight = 0
    out.sheet_properties.pageSetUpPr = PageSetupProperties(fitToPage=True)
    out.print_title_rows = "1:1"
    out.page_margins = PageMargins(left=0.4, right=0.4, top=0.5, bottom=0.6)
    out.oddFooter.center.text = "&A, page &P of &N"


def _validation(column: ColumnOut, cells: str) -> DataValidation:
    """The drop-down of a column, and what is shown when a cell is chosen."""
    rule = DataValidation(sqref=cells, allow_blank=True)
    if column.choices:
        rule.type, rule.formula1 = "list", f'"{",".join(column.choices)}"'
        rule.errorTitle, rule.error = column.heading[:32], f"Want one of: {', '.join(column.choices)}"[:255]
        rule.showErrorMessage = not column.others
    if column.hint:
        rule.promptTitle, rule.prompt, rule.showInputMessage = column.heading[:32], column.hint[:255], True
    return rule
