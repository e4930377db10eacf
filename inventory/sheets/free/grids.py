"""Any spreadsheet file as grids of text: xlsx, xls, ods, csv in any encoding and with any separator.

Workbooks (xlsx) are read by our own reader, which shows cells as the person sees them; a kept library reads
the other forms, and says which cells are merged.  Pure: no Django.
"""

import csv
import io
import re
import unicodedata
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field
from datetime import date, datetime, time, timedelta
from decimal import Decimal
from typing import BinaryIO

from charset_normalizer import from_bytes
from python_calamine import CalamineError, CalamineSheet, CalamineWorkbook, SheetVisibleEnum

from inventory.sheets import csvtext, xlsx
from inventory.sheets.free.opendocument import Cells, Range, cells_of
from inventory.sheets.grid import LIMITS, Limits, UnreadableFile, too_many_columns, too_many_rows
from inventory.sheets.opening import bytes_of, refuse_others
from inventory.sheets.xlsx_text import NO_RESULT, date_as_shown, powers_as_shown

_OLD_WORKBOOK = b"\xd0\xcf\x11\xe0"
_SEPARATORS = ",;\t|"
_ENCODINGS = ["cp1252", "cp1250", "cp1251", "latin_1", "iso8859_2", "mac_roman", "cp850"]
"""What European programs write, the likeliest first."""


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
        if (cells := cells_of(data, limits)) is not None:
            return _by_library(data, limits, cells)
        return _by_our_reader(data, limits)
    refuse_others(data)
    return [_text_table(data, name, limits)]


def _by_our_reader(data: bytes, limits: Limits) -> list[Grid]:
    book = xlsx.read(data, limits)
    merged = _merged(data)
    grids = []
    for sheet in book.sheets:
        if not sheet.hidden:
            rows = _filled(list(sheet.rows), merged.get(sheet.name, ()))
            grids.append(Grid(sheet.name, rows, _hidden(sheet.name, sheet.hidden_rows)))
    return grids


# --- by the library


def _by_library(data: bytes, limits: Limits, about: Cells | None = None) -> list[Grid]:
    workbook = _opened(data)
    names = [about.name for about in workbook.sheets_metadata if about.visible == SheetVisibleEnum.Visible]
    if len(names) > limits.sheets:
        raise UnreadableFile(413, f"the workbook has more than {limits.sheets} sheets")
    return [_library_grid(workbook.get_sheet_by_name(name), limits, about or Cells()) for name in names]


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


def _library_grid(sheet: CalamineSheet, limits: Limits, about: Cells) -> Grid:
    if sheet.width > limits.columns:
        raise too_many_columns(sheet.name, limits)
    top, left = sheet.start or (0, 0)
    without_result = about.without_result.get(sheet.name, {})
    rows: list[tuple[int, list[str]]] = []
    for number, cells in enumerate(sheet.iter_rows(), start=top + 1):
        texts = [""] * left + [_as_text(cell) for cell in cells]
        for column in without_result.get(number, ()):
            texts += [""] * (column + 1 - len(texts))
            texts[column] = NO_RESULT
        if any(text.strip() or text is NO_RESULT for text in texts):
            rows.append((number, texts))
        if len(rows) > limits.rows + 1:
            raise too_many_rows(limits)
    spans = sheet.merged_cell_ranges or about.spans.get(sheet.name, [])
    return Grid(sheet.name, _filled(rows, spans), _hidden(sheet.name, about.hidden.get(sheet.name, ())))


def _hidden(sheet: str, rows: Sequence[int]) -> list[str]:
    """A note of rows that the person does not see: those of a filter are in the list all the same."""
    if not rows:
        return []
    named = ", ".join(map(str, rows[:12])) + (" …" if len(rows) > 12 else "")
    are = "Row {} is" if len(rows) == 1 else "Rows {} are"
    return [f"Sheet {sheet}: {are.format(named).lower()} hidden in the spreadsheet and read all the same."]


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


def _merged(data: bytes) -> dict[str, Sequence[Range]]:
    """Sheet -> merged cells of a workbook, from row and column to row and column, both from 0."""
    try:
        workbook = CalamineWorkbook.from_filelike(io.BytesIO(data))
        return {
            name: workbook.get_sheet_by_name(name).merged_cell_ranges or () for name in workbook.sheet_names
        }
    except (CalamineError, OSError, ValueError):
        return {}  # our reader reads what the library does not; cells stay as they are


def _filled(
    rows: Sequence[tuple[int, Sequence[str]]], merged: Sequence[Range]
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


# --- text


def _text_table(data: bytes, name: str, limits: Limits) -> Grid:
    text, notes = _decoded(data)
    body, separator = csvtext.declared_separator(text)
    quote = csvtext.quote_of(body)
    rows: list[tuple[int, list[str]]] = []
    try:
        lines = csv.reader(
            io.StringIO(body, newline=""),
            delimiter=separator or _separator_of(body, quote),
            quotechar=quote,
            skipinitialspace=quote == "'",
        )
        for number, cells in enumerate(lines, start=1):
            if len(cells) > limits.columns and any(cell.strip() for cell in cells[limits.columns :]):
                raise too_many_columns(name, limits)
            if any(cell.strip() for cell in cells):
                rows.append((number, [_as_seen(csvtext.as_typed(cell)) for cell in cells]))
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
            within = before.isalpha() and (after.isalpha() or sign in "‰†‡§¶©®±")
            count += within or unicodedata.category(sign) in ("Cc", "Cn")
        elif before.isdigit() or (sign.isupper() and before.islower()):
            count += 1
        elif not unicodedata.name(sign, "").startswith("LATIN"):
            count += any(near.isascii() and near.isalpha() for near in (before, after))
    return count


_NOT_ASCII = re.compile(r"[^\x00-\x7f]")


def _as_seen(cell: str) -> str:
    """The cell; `Odd` where a spreadsheet program had made a day or powers of ten of what was typed."""
    if _DAY.fullmatch(cell.strip()):
        return date_as_shown(cell)
    return powers_as_shown(cell) if _POWERS.fullmatch(cell.strip()) else cell


_MONTH = (
    r"(?:jan|feb|mar|mär|mrz|apr|avr|abr|may|mai|maj|mag|jun|jui|giu|jul|lug|aug|ago|aoû|sep|set|oct|okt|ott|"
    r"out|nov|dec|dez|déc|dic)[a-zé]{0,2}\.?"
)
_YEAR = "(?:[0-9]{2}){1,2}"
_DAY = re.compile(
    rf"[0-9]{{1,2}}\.?[- ]{_MONTH}(?:[- ]{_YEAR})?|{_MONTH}[- ]{_YEAR}|[0-9]{{4}}-[0-9]{{2}}-[0-9]{{2}}",
    re.IGNORECASE,
)
"""A day as spreadsheet programs write it of themselves: `02. Jan`, `2-Jan`, `Jan 26`."""
_POWERS = re.compile(r"-?[0-9][.,][0-9]+E[+-][0-9]{2,3}")


def _separator_of(text: str, quote: str) -> str:
    """The separator that parts most lines into the same number of cells, and a third of them at least; a
    comma where none does."""
    lines = [csvtext.without_quoted(line, quote) for line in csvtext.first_lines(text)]

    def alike(sign: str) -> tuple[int, int]:
        counts = [line.count(sign) for line in lines]
        usual = max(set(counts) - {0}, key=counts.count, default=0)
        return (counts.count(usual) if usual else 0, usual)

    best = max(_SEPARATORS, key=alike)
    many = alike(best)
    decimals = best == "," and many[1] == 1 and _are_decimals(lines)
    return "\x1f" if decimals or 3 * many[0] < len(lines) or not many[0] else best


def _are_decimals(lines: Sequence[str]) -> bool:
    """Whether every comma stands between figures: `2,2k 1%` is one column."""
    commas: Iterator[re.Match[str]] = (found for line in lines for found in re.finditer(",", line))
    return all(
        found.string[: found.start()][-1:].isdigit() and found.string[found.end() :][:1].isdigit()
        for found in commas
    )
