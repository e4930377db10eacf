"""The workbook around the rows that are written: headings, styles, widths and drop-downs, by openpyxl."""

from collections.abc import Sequence
from io import BytesIO
from typing import Any

from openpyxl import Workbook
from openpyxl.cell import WriteOnlyCell
from openpyxl.styles import Alignment, Font, PatternFill
from openpyxl.utils import get_column_letter
from openpyxl.worksheet.datavalidation import DataValidation

from inventory.sheets.grid import LAST_ROW, ColumnOut, SheetOut

_HEAD_FONT = Font(bold=True)
_HEAD_FILL = PatternFill("solid", start_color="DDE6E4")


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
    out.freeze_panes = "A2"
    heads, columns = [], []
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
        columns.append((letter, cell.style_id))
    out.append(heads)
    return columns


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
