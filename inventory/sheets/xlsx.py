"""Workbooks (xlsx) read as the text that a person sees.

The zip directory and the size of the parts are looked at before anything is unpacked: the library would
take a file of one megabyte that unpacks to gigabytes as it comes.
"""

import re
import struct
import warnings
import zlib
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from decimal import Decimal
from functools import lru_cache
from io import BytesIO
from typing import Any
from zipfile import BadZipFile, ZipFile, ZipInfo

from openpyxl import load_workbook
from openpyxl.cell.read_only import EMPTY_CELL
from openpyxl.utils.cell import column_index_from_string, coordinate_from_string
from openpyxl.utils.exceptions import InvalidFileException
from openpyxl.xml.functions import iterparse

from inventory.sheets.grid import Book, Limits, Odd, Sheet, UnreadableFile, too_many_columns, too_many_rows

# The library tells the log of every extension of Excel's that it leaves out; none matters here.
warnings.filterwarnings("ignore", category=UserWarning, module="openpyxl")

# What the library and the parsers under it raise on damaged files: whatever stumbles first.
_DAMAGE = (
    ArithmeticError, AssertionError, AttributeError, BadZipFile, EOFError, InvalidFileException, LookupError,
    NotImplementedError, OSError, RuntimeError, SyntaxError, TypeError, ValueError, struct.error, zlib.error,
)  # fmt: skip
LAST_ROW = 1_048_576  # of the format
_CHUNK = 1024 * 1024


def read(data: bytes, limits: Limits) -> Book:
    """The workbook's sheets, in their order.  UnreadableFile: it is none, damaged, or too large unpacked."""
    try:
        with ZipFile(BytesIO(data)) as archive:
            with_formulas = _surveyed(archive, limits)
        book = load_workbook(BytesIO(data), read_only=True, data_only=True, keep_links=False)
        sheets = [
            Sheet(
                sheet.title, _rows(sheet, data, with_formulas, limits), hidden=sheet.sheet_state != "visible"
            )
            for sheet in book.worksheets
        ]
    except _DAMAGE as error:
        raise _damaged(error) from None
    return Book(sheets)


def _damaged(error: Exception) -> UnreadableFile:
    return UnreadableFile(
        422, f"the workbook is damaged ({type(error).__name__}): open it, save it again and send that"
    )


# --- before anything is unpacked --------------------------------------------------------------------------


def _surveyed(archive: ZipFile, limits: Limits) -> frozenset[str]:
    """Refuse what is no workbook or would unpack to too much; answer the parts that hold formulas."""
    members = archive.infolist()
    names = {member.filename for member in members}
    if "[Content_Types].xml" not in names:
        what = "an OpenDocument file" if "mimetype" in names else "a zip file, but no workbook"
        raise UnreadableFile(415, f"this is {what}: save it as .xlsx or .csv and send that")
    if any(name.endswith("workbook.bin") for name in names):
        raise UnreadableFile(415, "this is an .xlsb workbook: save it as .xlsx or .csv and send that")
    if any(member.flag_bits & 1 for member in members):
        raise UnreadableFile(415, "the workbook is locked with a password: save it without one")
    if len(members) > limits.members:
        raise UnreadableFile(413, f"the workbook has more than {limits.members:,} parts")
    if sum(map(_is_sheet, members)) > limits.sheets:
        raise UnreadableFile(413, f"the workbook has more than {limits.sheets} sheets")
    for member in members:
        _refuse_bomb(member, limits)
    if sum(member.file_size for member in members) > limits.inflated:
        raise UnreadableFile(413, f"unpacked, the workbook is larger than {limits.inflated // 2**20} MB")
    return frozenset(
        member.filename for member in members if _is_sheet(member) and _has_formulas(archive, member, limits)
    )


def _is_sheet(member: ZipInfo) -> bool:
    name = member.filename.lower()
    return name.startswith("xl/worksheets/") and name.endswith(".xml")


def _refuse_bomb(member: ZipInfo, limits: Limits) -> None:
    """By the sizes that the zip directory declares; more than it declares is never unpacked."""
    if member.file_size > _CHUNK and member.file_size > limits.ratio * max(member.compress_size, 1):
        raise UnreadableFile(
            413, f"{member.filename[:60]} unpacks to far more than a sheet would: not taken in"
        )
    name = member.filename.lower()
    if not name.endswith((".xml", ".rels")) or _is_sheet(member):
        return
    if member.file_size > (limits.strings if "sharedstrings" in name else limits.other_part):
        raise UnreadableFile(413, f"{member.filename[:60]} is larger than that part of a workbook should be")


def _has_formulas(archive: ZipFile, member: ZipInfo, limits: Limits) -> bool:
    """Look through a sheet's text once: too many rows, or one endless row, would fill the memory later."""
    rows = since_row = 0
    formulas = False
    with archive.open(member) as part:
        tail = b""
        while chunk := part.read(_CHUNK):
            text = tail + chunk
            before = -since_row
            for found in _ROW_START.finditer(text):
                rows += 1
                since_row = max(since_row, found.start() - before)
                before = found.start()
            if rows > LAST_ROW or max(since_row, len(text) - before) > limits.row_text:
                raise too_many_rows(limits)
            since_row = len(text) - before
            formulas = formulas or _FORMULA_START.search(text) is not None
            tail = text[-_TAG_NAME:] if b">" not in text[-_TAG_NAME:] else b""
    return formulas


_ROW_START = re.compile(rb"<(?:[A-Za-z0-9_]+:)?row[\s/>]")
_FORMULA_START = re.compile(rb"<(?:[A-Za-z0-9_]+:)?f[\s/>]")
_TAG_NAME = 16  # as much as is kept of a chunk in which a tag's name may be cut


# --- cells as the person sees them ------------------------------------------------------------------------


def _rows(
    sheet: Any, data: bytes, with_formulas: frozenset[str], limits: Limits
) -> Iterator[tuple[int, Sequence[str]]]:
    filled, blank = 0, None
    try:
        part = sheet._worksheet_path  # the library has no public name for it
        unfinished = _without_result(data, part) if part in with_formulas else {}
        # Bounded on both sides: a sheet may claim any size, and one cell may stand at its far corner.
        cells_by_row = sheet.iter_rows(min_row=1, max_row=LAST_ROW, max_col=limits.columns + 1)
        for number, cells in enumerate(cells_by_row, start=1):
            if cells is blank and number not in unfinished:
                continue
            last = next((at for at in range(len(cells), 0, -1) if cells[at - 1] is not EMPTY_CELL), 0)
            blank = blank if last else cells  # one and the same for every row that is not in the file
            texts = ["" if cell.value is None else _seen(cell) for cell in cells[:last]]
            for column in unfinished.get(number, ()):
                if column <= last:
                    texts[column - 1] = _NO_RESULT
            while texts and not texts[-1].strip() and texts[-1] is not _NO_RESULT:
                texts.pop()
            if not texts:
                continue
            filled += 1
            if filled > limits.rows + 1:
                raise too_many_rows(limits)
            if len(texts) > limits.columns:
                raise too_many_columns(sheet.title, limits)
            yield number, texts
    except _DAMAGE as error:
        raise _damaged(error) from None


_NO_RESULT = Odd(
    "", "a formula without a stored result: open the file in a spreadsheet program, save it, send it again"
)


def _without_result(data: bytes, part: str) -> dict[int, list[int]]:
    """Row -> columns of formulas that no program has worked out; the library shows them as blank."""
    found: dict[int, list[int]] = {}
    with ZipFile(BytesIO(data)) as archive, archive.open(part) as source:
        for _event, element in iterparse(source):
            tag = element.tag.rpartition("}")[2]
            if tag == "c" and (here := element.get("r")):
                children = {child.tag.rpartition("}")[2] for child in element}
                if "f" in children and not children & {"v", "is"}:
                    letters, row = coordinate_from_string(here)
                    found.setdefault(row, []).append(column_index_from_string(letters))
            elif tag == "row":
                element.clear()
    return found


def _seen(cell: Any) -> str:
    """The text that the person sees in a cell that is not blank."""
    value = cell.value
    if isinstance(value, str):
        if cell.data_type == "e":
            return Odd(value, "an error of the spreadsheet's own: mend the formula")
        return unescaped(value) if "_x" in value else value
    if isinstance(value, bool):
        return "TRUE" if value else "FALSE"
    if isinstance(value, int | float):
        return _number_as_shown(value, cell.number_format or "General")
    return Odd(str(value), f"a date or time, {_MADE_OF_IT}")


_MADE_OF_IT = "which the spreadsheet program made of what was typed: set the column to Text and type it again"


def _number_as_shown(value: int | float, number_format: str) -> str:
    """A number by its format, never rounded: `00805`, `5%`, `4.70`; without a format `103`, not `103.0`."""
    shown = _shape_of(number_format)
    if shown.scientific:
        return Odd(_plain(value), f"a number in powers of ten, {_MADE_OF_IT}", figure=True)
    if shown.percent:
        return f"{_plain(Decimal(_plain(value)) * 100)}%"
    text = _plain(value)
    if abs(value) >= 10**15:  # the program keeps 15 figures
        return Odd(text, f"a number of more figures than are kept, {_MADE_OF_IT}", figure=True)
    whole, point, fraction = text.partition(".")
    if shown.zeros > 1 and whole.isdigit():
        whole = whole.zfill(shown.zeros)
    if shown.places > len(fraction):
        point, fraction = ".", fraction.ljust(shown.places, "0")
    return f"{whole}{point}{fraction}"


def _plain(value: int | float | Decimal) -> str:
    """Plain decimal text; a float by the 15 figures that a spreadsheet program keeps."""
    if isinstance(value, float):
        value = int(value) if value.is_integer() and abs(value) < 10**15 else Decimal(f"{value:.15g}")
    if isinstance(value, int):
        return str(value)
    return f"{value.normalize():f}" if value else "0"


@dataclass(frozen=True)
class _Shape:
    zeros: int = 0
    places: int = 0
    percent: bool = False
    scientific: bool = False


@lru_cache(maxsize=500)
def _shape_of(number_format: str) -> _Shape:
    first = _LITERAL.sub("", number_format).partition(";")[0]
    found = _PLAIN_FORMAT.fullmatch(first.strip())
    return _Shape(
        zeros=len(found[1]) if found else 0,
        places=len(found[2] or "") if found else 0,
        percent="%" in first,
        scientific="E+" in first or "E-" in first,
    )


_LITERAL = re.compile(r'"[^"]*"|\\.|\[[^\]]*\]|[_*].')
_PLAIN_FORMAT = re.compile(r"[#,]*(0+)(?:\.(0+))?")


# --- text that XML cannot hold ----------------------------------------------------------------------------
# ECMA-376 part 1, 22.9.2.19: such a character is written _xHHHH_, and so is a `_` that would start one.

_UNWRITABLE = re.compile("[\x00-\x08\x0b-\x1f\ufffe\uffff]|_(?=x[0-9A-Fa-f]{4}_)")
_ESCAPE = re.compile("_x([0-9A-Fa-f]{4})_")


def escaped(text: str) -> str:
    return _UNWRITABLE.sub(lambda found: f"_x{ord(found[0]):04X}_", text)


def unescaped(text: str) -> str:
    return _ESCAPE.sub(
        lambda found: chr(code) if not 0xD800 <= (code := int(found[1], 16)) < 0xE000 else found[0], text
    )
