"""What the library that reads OpenDocument sheets does not say of them: merged cells, formulas without their
results, hidden rows.  The file is bounded before anything is unpacked.  Pure: no Django.
"""

import io
from typing import Any
from xml.sax import SAXException
from xml.sax.handler import ContentHandler
from zipfile import ZipFile

from defusedxml.common import DefusedXmlException  # type: ignore[import-untyped]
from defusedxml.sax import parseString  # type: ignore[import-untyped]

from inventory.damaged_zip import DAMAGED_ZIP
from inventory.sheets import xlsx
from inventory.sheets.grid import LAST_ROW, Limits, UnreadableFile

_OPEN_DOCUMENT = b"application/vnd.oasis.opendocument.spreadsheet"
_MAX_CELLS = 4_000_000
_CELL = ("table:table-cell", "table:covered-table-cell")

Range = tuple[tuple[int, int], tuple[int, int]]
"""From row and column to row and column, all from 0."""


def cells_of(data: bytes, limits: Limits) -> "Cells | None":
    """None where the file is no OpenDocument spreadsheet."""
    try:
        with ZipFile(io.BytesIO(data)) as archive:
            if "mimetype" not in archive.namelist() or not archive.read("mimetype").startswith(
                _OPEN_DOCUMENT
            ):
                return None
            xlsx.refuse_large(archive, limits)
            cells = Cells()
            parseString(archive.read("content.xml"), cells, forbid_dtd=True)
    except (*DAMAGED_ZIP, SAXException, DefusedXmlException) as error:
        raise UnreadableFile(422, f"the file is damaged ({type(error).__name__})") from None
    if cells.filled > _MAX_CELLS:
        raise UnreadableFile(413, f"the sheet has more than {_MAX_CELLS:,} cells: delete what repeats")
    return cells


class Cells(ContentHandler):
    """Of each sheet: `spans`, cells merged over several rows; `without_result`, the columns, from 0, of the
    formulas in a row; `hidden`, its rows that hold anything and are not seen.

    It counts the cells that hold anything, repeated ones too: a short file may say one a million times.
    """

    def __init__(self) -> None:
        super().__init__()
        self.filled = 0
        self.spans: dict[str, list[Range]] = {}
        self.without_result: dict[str, dict[int, list[int]]] = {}
        self.hidden: dict[str, list[int]] = {}
        self._sheet = ""
        self._row = self._column = self._filled_in_row = 0
        self._rows = self._columns = 1
        self._is_filled = self._lacks_result = self._is_hidden = False
        self._lacking: list[int] = []

    def startElement(self, name: str, attrs: Any) -> None:
        if name == "table:table":
            self._sheet, self._row = attrs.get("table:name", ""), 0
        elif name == "table:table-row":
            self._rows, self._column, self._filled_in_row = _repeated(attrs, "rows"), 0, 0
            self._is_hidden = attrs.get("table:visibility", "visible") != "visible"
            self._lacking = []
        elif name in _CELL:
            self._columns, self._is_filled = _repeated(attrs, "columns"), False
            self._lacks_result = "table:formula" in attrs and "office:value-type" not in attrs
            if (down := int(attrs.get("table:number-rows-spanned", "1"))) > 1:
                span = ((self._row, self._column), (self._row + down - 1, self._column))
                self.spans.setdefault(self._sheet, []).append(span)
        elif name == "text:p":
            self._is_filled = True

    def endElement(self, name: str) -> None:
        if name in _CELL:
            if self._lacks_result and not self._is_filled:
                self._lacking.append(self._column)
            self._filled_in_row += self._columns * self._is_filled
            self._column += self._columns
        elif name == "table:table-row":
            if self._lacking and self._row < LAST_ROW:
                self.without_result.setdefault(self._sheet, {})[self._row + 1] = self._lacking
            if self._is_hidden and self._filled_in_row:
                rows = range(self._row + 1, min(self._row + self._rows, LAST_ROW) + 1)
                self.hidden.setdefault(self._sheet, []).extend(rows)
            self.filled += self._rows * self._filled_in_row
            self._row += self._rows


def _repeated(attrs: Any, what: str) -> int:
    return int(attrs.get(f"table:number-{what}-repeated", "1"))
