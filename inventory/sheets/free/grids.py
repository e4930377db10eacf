"""Any spreadsheet file as grids of text: xlsx, xls, ods, csv in any encoding and with any separator.

Workbooks (xlsx) are read by our own reader, which shows cells as the person sees them; a kept library reads
the other forms, and says which cells are merged.  Pure: no Django.
"""

import csv
import io
import re
import unicodedata
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from datetime import date, datetime, time, timedelta
from decimal import Decimal
from typing import Any, BinaryIO
from xml.sax import SAXException
from xml.sax.handler import ContentHandler
from zipfile import ZipFile

from charset_normalizer import from_bytes
from defusedxml.common import DefusedXmlException  # type: ignore[import-untyped]
from defusedxml.sax import parseString  # type: ignore[import-untyped]
from python_calamine import CalamineError, CalamineSheet, CalamineWorkbook, SheetVisibleEnum

from inventory.damaged_zip import DAMAGED_ZIP
from inventory.sheets import csvtext, xlsx
from inventory.sheets.grid import LIMITS, Limits, UnreadableFile, too_many_columns, too_many_rows
from inventory.sheets.opening import bytes_of, refuse_others
from inventory.sheets.xlsx_text import date_as_shown

_OLD_WORKBOOK = b"\xd0\xcf\x11\xe0"
_OPEN_DOCUMENT = b"application/vnd.oasis.opendocument.spreadsheet"
_MAX_CELLS = 4_000_000
_SEPARATORS = ",;\t|"
_ENCODINGS = ["cp1252", "cp1250", "cp1251", "latin_1", "iso8859_2", "mac_roman", "cp850"]
"""What European programs write, the likeliest first."""


_Range = tuple[tuple[int, int], tuple[int, int]]
"""From row and column to row and column, all from 0."""
_NO_SPANS: Mapping[str, Sequence[_Range]] = {}


@dataclass(frozen=True)
class Grid:
    """A sheet: rows as (number that the spreadsheet shows, cells), blank ones left out.

    `notes` say how it was read where that had to be guessed.
    """

    name: str
    rows: Sequence[tuple[int, Sequence[str]]]
    notes: list[str] = field(default_factory=list)


def open_grids(file: BinaryIO, name: str, limits: Limits = LIMITS) -> list[Grid]:
    """The sheets that are not hidden.  UnreadableFile: too large (413), another kind of file (415), damaged
    (422)."""
    data = bytes_of(file, limits)
    if data.startswith(_OLD_WORKBOOK):
        return _by_library(data, limits)
    if data.startswith(b"PK"):
        if (spans := _spans_of(data, limits)) is not None:
            return _by_library(data, limits, spans)
        return _by_our_reader(data, limits)
    refuse_others(data)
    return [_text_table(data, name, limits)]


def _by_our_reader(data: bytes, limits: Limits) -> list[Grid]:
    book = xlsx.read(data, limits)
    merged = _merged(data)
    return [
        Grid(sheet.name, _filled(list(sheet.rows), merged.get(sheet.name, ())))
        for sheet in book.sheets
        if not sheet.hidden
    ]


# --- by the library


def _by_library(data: bytes, limits: Limits, spans: Mapping[str, Sequence[_Range]] = _NO_SPANS) -> list[Grid]:
    workbook = _opened(data)
    names = [about.name for about in workbook.sheets_metadata if about.visible == SheetVisibleEnum.Visible]
    if len(names) > limits.sheets:
        raise UnreadableFile(413, f"the workbook has more than {limits.sheets} sheets")
    return [_library_grid(workbook.get_sheet_by_name(name), limits, spans.get(name, ())) for name in names]


def _opened(data: bytes) -> CalamineWorkbook:
    damaged = "the workbook is damaged or locked: open it in a spreadsheet program, save it and send it again"
    try:
        return CalamineWorkbook.from_filelike(io.BytesIO(data))
    except (CalamineError, OSError, ValueError) as error:
        raise UnreadableFile(422, damaged) from error
    except BaseException as error:  # the library's own panic is no Exception
        if type(error).__name__ != "PanicException":
            raise
        raise UnreadableFile(422, damaged) from None


def _library_grid(sheet: CalamineSheet, limits: Limits, spans: Sequence[_Range]) -> Grid:
    if sheet.width > limits.columns:
        raise too_many_columns(sheet.name, limits)
    top, left = sheet.start or (0, 0)
    rows: list[tuple[int, list[str]]] = []
    for number, cells in enumerate(sheet.iter_rows(), start=top + 1):
        texts = [""] * left + [_as_text(cell) for cell in cells]
        if any(text.strip() for text in texts):
            rows.append((number, texts))
        if len(rows) > limits.rows + 1:
            raise too_many_rows(limits)
    return Grid(sheet.name, _filled(rows, sheet.merged_cell_ranges or spans))


def _as_text(cell: object) -> str:
    """A cell as the library gives it; a date arrives as `Odd`, since a marking may have been made one."""
    if isinstance(cell, bool):
        return "TRUE" if cell else "FALSE"
    if isinstance(cell, float):
        figure = Decimal(f"{cell:.15g}")
        return f"{figure.normalize():f}" if figure else "0"
    if isinstance(cell, date | datetime | time | timedelta):
        return date_as_shown(str(cell).removesuffix(" 00:00:00"))
    return str(cell)


def _merged(data: bytes) -> dict[str, Sequence[_Range]]:
    """Sheet -> merged cells of a workbook, from row and column to row and column, both from 0."""
    try:
        workbook = CalamineWorkbook.from_filelike(io.BytesIO(data))
        return {
            name: workbook.get_sheet_by_name(name).merged_cell_ranges or () for name in workbook.sheet_names
        }
    except (CalamineError, OSError, ValueError):
        return {}  # our reader reads what the library does not; cells stay as they are


def _filled(
    rows: Sequence[tuple[int, Sequence[str]]], merged: Sequence[_Range]
) -> Sequence[tuple[int, Sequence[str]]]:
    """The rows with what stands in a cell merged over several rows written in each of them."""
    texts = {number: list(cells) for number, cells in rows}
    for (top, left), (bottom, _right) in merged:
        first = texts.get(top + 1, ())
        if bottom == top or left >= len(first) or bottom - top > len(rows):
            continue
        for number in range(top + 2, bottom + 2):
            if number in texts:
                row = texts[number]
                row += [""] * (left + 1 - len(row))
                row[left] = row[left] or first[left]
    return sorted(texts.items())


# --- OpenDocument: bounded before anything is unpacked by the library


def _spans_of(data: bytes, limits: Limits) -> dict[str, list[_Range]] | None:
    """Sheet -> cells merged over several rows, which the library does not say of this form.

    None where the file is no OpenDocument spreadsheet.
    """
    try:
        with ZipFile(io.BytesIO(data)) as archive:
            if "mimetype" not in archive.namelist() or not archive.read("mimetype").startswith(
                _OPEN_DOCUMENT
            ):
                return None
            xlsx.refuse_large(archive, limits)
            cells = _Cells()
            parseString(archive.read("content.xml"), cells, forbid_dtd=True)
    except (*DAMAGED_ZIP, SAXException, DefusedXmlException) as error:
        raise UnreadableFile(422, f"the file is damaged ({type(error).__name__})") from None
    if cells.filled > _MAX_CELLS:
        raise UnreadableFile(413, f"the sheet has more than {_MAX_CELLS:,} cells: delete what repeats")
    return cells.spans


class _Cells(ContentHandler):
    """Counts the cells that hold anything, repeated ones too: a short file may say one a million times.

    Beside that it notes the cells that are merged over several rows.
    """

    def __init__(self) -> None:
        super().__init__()
        self.filled = 0
        self.spans: dict[str, list[_Range]] = {}
        self._sheet = ""
        self._row = self._column = self._filled_in_row = 0
        self._rows = self._columns = 1
        self._is_filled = False

    def startElement(self, name: str, attrs: Any) -> None:
        if name == "table:table":
            self._sheet, self._row = attrs.get("table:name", ""), 0
        elif name == "table:table-row":
            self._rows, self._column, self._filled_in_row = _repeated(attrs, "rows"), 0, 0
        elif name in _CELL:
            self._columns, self._is_filled = _repeated(attrs, "columns"), False
            if (down := int(attrs.get("table:number-rows-spanned", "1"))) > 1:
                span = ((self._row, self._column), (self._row + down - 1, self._column))
                self.spans.setdefault(self._sheet, []).append(span)
        elif name == "text:p":
            self._is_filled = True

    def endElement(self, name: str) -> None:
        if name in _CELL:
            self._filled_in_row += self._columns * self._is_filled
            self._column += self._columns
        elif name == "table:table-row":
            self.filled += self._rows * self._filled_in_row
            self._row += self._rows


_CELL = ("table:table-cell", "table:covered-table-cell")


def _repeated(attrs: Any, what: str) -> int:
    return int(attrs.get(f"table:number-{what}-repeated", "1"))


# --- text


def _text_table(data: bytes, name: str, limits: Limits) -> Grid:
    text, notes = _decoded(data)
    separator = _separator_of(text)
    rows: list[tuple[int, list[str]]] = []
    try:
        lines = csv.reader(io.StringIO(text, newline=""), delimiter=separator)
        for number, cells in enumerate(lines, start=1):
            if len(cells) > limits.columns and any(cell.strip() for cell in cells[limits.columns :]):
                raise too_many_columns(name, limits)
            if any(cell.strip() for cell in cells):
                rows.append((number, [csvtext.as_typed(cell) for cell in cells]))
            if len(rows) > limits.rows + 1:
                raise too_many_rows(limits)
    except csv.Error as error:
        raise UnreadableFile(422, f"the text table cannot be read: {error}") from None
    return Grid(name, rows, notes)


def _decoded(data: bytes) -> tuple[str, list[str]]:
    """UTF-8 or as its first bytes say; else the likeliest of the encodings that European programs write."""
    try:
        return csvtext.decoded(data), []
    except UnicodeDecodeError:
        guess = from_bytes(data, cp_isolation=_ENCODINGS).best()
    ways = {name: text for name in _ENCODINGS if (text := _as(data, name)) is not None}
    if not ways:
        return csvtext.western(data)[0], ["The letters are in an encoding that was guessed: look at µ and Ω."]
    odd = {name: _odd_letters(text[:200_000]) for name, text in ways.items()}
    least = [name for name in ways if odd[name] == min(odd.values())]
    # A list of parts has too few letters for the guess to weigh `10µF` against `10ÁF`.
    name = guess.encoding if guess is not None and guess.encoding in least else least[0]
    return ways[name], [f"The file was read as {name}: look at letters such as µ, ł or é."]


def _as(data: bytes, encoding: str) -> str | None:
    try:
        return data.decode(encoding)
    except UnicodeDecodeError:
        return None


def _odd_letters(text: str) -> int:
    """How many signs stand where none does in any language: `10ÁF`, `St³ck`, a Cyrillic letter amid Latin."""
    count = 0
    for found in _NOT_ASCII.finditer(text):
        sign = found[0]
        before, after = text[found.start() - 1 : found.start()], text[found.end() : found.end() + 1]
        if sign in "µμΩ":
            continue
        if not sign.isalpha():
            count += (before.isalpha() and after.isalpha()) or unicodedata.category(sign) in ("Cc", "Cn")
        elif before.isdigit() or (sign.isupper() and before.islower()):
            count += 1
        elif not unicodedata.name(sign, "").startswith("LATIN"):
            count += any(near.isascii() and near.isalpha() for near in (before, after))
    return count


_NOT_ASCII = re.compile(r"[^\x00-\x7f]")


_QUOTED = re.compile(r'"(?:[^"]|"")*"')


def _separator_of(text: str) -> str:
    """The separator that parts most lines into the same number of cells; a comma where none does."""
    lines = [_QUOTED.sub("", line) for line in text[:100_000].splitlines()[:60] if line.strip()]

    def alike(sign: str) -> tuple[int, int]:
        counts = [line.count(sign) for line in lines]
        usual = max(set(counts) - {0}, key=counts.count, default=0)
        return (counts.count(usual) if usual else 0, usual)

    best = max(_SEPARATORS, key=alike)
    many = alike(best)
    decimals = best == "," and many[1] == 1 and _are_decimals(lines)
    return "\x1f" if decimals or not many[0] else best


def _are_decimals(lines: Sequence[str]) -> bool:
    """Whether every comma stands between figures: `2,2k 1%` is one column."""
    commas: Iterator[re.Match[str]] = (found for line in lines for found in re.finditer(",", line))
    return all(
        found.string[: found.start()][-1:].isdigit() and found.string[found.end() :][:1].isdigit()
        for found in commas
    )
