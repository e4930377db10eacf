"""Text tables (csv): read in whatever way they were saved, written so that no cell is taken for a formula.

A spreadsheet program runs a text cell that starts with `=`, `+`, `-`, `@`, tab or a line break as a
formula, and csv has no way to say "this is text".  Such a cell is written with `'` before it, and reading
takes exactly that away again.
"""

import csv
import io
import re
from collections.abc import Iterable, Iterator, Sequence
from itertools import islice

from inventory.sheets.grid import Book, Limits, Sheet, UnreadableFile, too_many_columns, too_many_rows

SEPARATORS = (",", ";", "\t")
_LINE_BREAK = re.compile(r"\r\n?|\n")
"""What ends a row; a cell may hold the other signs that end a line of text elsewhere."""
_HARMFUL = re.compile(r"'*[=+\-@\t\r\n]")
_DECLARED_SEPARATOR = re.compile(r"sep=([,;|\t])\r?\n?", re.IGNORECASE)
_QUOTED = {sign: re.compile(f"{sign}(?:[^{sign}]|{sign}{sign})*{sign}") for sign in "\"'"}
_SINGLY_QUOTED = re.compile(r"(?:^|[,;\t|]) ?'(?:[^']|'')*'(?=[,;\t|]|$)")


def harmless(text: str) -> str:
    """The text with `'` before it where a spreadsheet program would run it.

    >>> harmless("=1+1"), harmless("'=1+1"), harmless("4k7"), harmless("'twas")
    ("'=1+1", "''=1+1", '4k7', "'twas")
    """
    return f"'{text}" if _HARMFUL.match(text) else text


def as_typed(text: str) -> str:
    """What `harmless` was given."""
    return text[1:] if text.startswith("'") and _HARMFUL.match(text) else text


def read(data: bytes, name: str, limits: Limits) -> Book:
    """The table as a book of one sheet, named as the file is."""
    text, notes = _decoded(data)
    body, separator = declared_separator(text)
    quote = quote_of(body)
    rows = _rows(body, separator or _separator_of(body, quote), quote, name, limits)
    return Book([Sheet(name, rows)], notes)


def declared_separator(text: str) -> tuple[str, str]:
    """The text without a first line `sep=;`, and the separator that it declares; blank where none does."""
    declared = _DECLARED_SEPARATOR.match(text)
    return (text[declared.end() :], declared[1]) if declared else (text, "")


def quote_of(text: str) -> str:
    """What cells are quoted with: `'` where most lines have a whole cell between two of it, else `"`.

    >>> quote_of("'Qty';'Part'\\n'3';'4k7; 5%'"), quote_of("Qty;Part\\n3;'=4k7")
    ("'", '"')
    """
    lines = first_lines(text)
    quoted = sum(_SINGLY_QUOTED.search(line) is not None for line in lines)
    return "'" if lines and quoted * 10 >= len(lines) * 8 else '"'


def first_lines(text: str) -> list[str]:
    """The lines by which a table is told, blank ones left out; cells with line breaks are cut at them."""
    return [line for line in _LINE_BREAK.split(text[:100_000])[:60] if line.strip()]


def without_quoted(text: str, quote: str) -> str:
    return _QUOTED[quote].sub("", text)


_MARKS = (
    (b"\xef\xbb\xbf", "utf-8-sig"),
    (b"\xff\xfe\x00\x00", "utf-32"),
    (b"\x00\x00\xfe\xff", "utf-32"),
    (b"\xff\xfe", "utf-16"),
    (b"\xfe\xff", "utf-16"),
)
"""Byte order marks; the longer one first where one starts as another does."""


def _decoded(data: bytes) -> tuple[str, list[str]]:
    """The text, and a note where the encoding had to be guessed."""
    try:
        return decoded(data), []
    except UnicodeDecodeError:
        text, encoding = western(data)
    _refuse_binary(text)
    note = f"The file is not in UTF-8 and was read as {encoding}: look at letters such as µ, and save it as "
    return text, [f"{note}UTF-8 or xlsx if they are wrong."]


def decoded(data: bytes) -> str:
    """The text by its byte order mark, or as UTF-8 or UTF-16.

    UnicodeDecodeError where it is none of them; UnreadableFile where it is damaged (422) or no text (415).
    """
    marked = next((encoding for mark, encoding in _MARKS if data.startswith(mark)), None)
    encoding = marked or _guessed(data)
    try:
        text = data.decode(encoding)
    except UnicodeDecodeError as error:
        if encoding == "utf-8":
            raise
        raise UnreadableFile(
            422, f"the text is damaged at byte {error.start:,}: it is no {encoding}"
        ) from None
    if not marked:
        _refuse_binary(text)
    return text


def _refuse_binary(text: str) -> None:
    start = text[:4000]
    if sum(sign < " " and sign not in "\t\r\n\f\v" for sign in start) > len(start) // 50:
        raise _no_table()


def _no_table() -> UnreadableFile:
    return UnreadableFile(415, "this is neither a workbook (.xlsx) nor a text table (.csv)")


def _guessed(data: bytes) -> str:
    """UTF-8, or UTF-16 where every second byte is nought, as in text of a Western alphabet."""
    start = data[:1000]
    if b"\0" not in start:
        return "utf-8"
    first, second = start[0::2].count(0), start[1::2].count(0)
    if max(first, second) < len(start) // 4:
        raise _no_table()
    return "utf-16-be" if first > second else "utf-16-le"


def western(data: bytes) -> tuple[str, str]:
    try:
        return data.decode("cp1252"), "Windows-1252 (Latin-1)"
    except UnicodeDecodeError:  # five bytes that Windows leaves undefined
        return data.decode("latin-1"), "Latin-1"


def _separator_of(text: str, quote: str) -> str:
    """The separator that stands outside quotes in most of the first lines; a comma where there is none."""
    first = "".join(islice(io.StringIO(text[:200_000], newline=""), 20))
    lines = _LINE_BREAK.split(without_quoted(first, quote))

    def likely(sign: str) -> tuple[int, int, bool]:
        return sum(sign in line for line in lines), sum(line.count(sign) for line in lines), sign == ","

    return max(SEPARATORS, key=likely)


def _rows(
    text: str, separator: str, quote: str, name: str, limits: Limits
) -> Iterator[tuple[int, Sequence[str]]]:
    number = filled = 0
    lines = csv.reader(io.StringIO(text, newline=""), delimiter=separator, quotechar=quote, strict=True)
    try:
        # A line break inside a cell makes no new row, and a blank line is one: as spreadsheets count.
        for number, written in enumerate(lines, start=1):
            cells = [as_typed(cell) for cell in written]
            if not any(map(str.strip, cells)):
                continue
            filled += 1
            if filled > limits.rows + 1:
                raise too_many_rows(limits)
            if len(cells) > limits.columns and any(map(str.strip, cells[limits.columns :])):
                raise too_many_columns(name, limits)
            yield number, cells
    except csv.Error as error:
        what = {
            "unexpected end of data": 'a quote (") is opened and never closed',
            "field larger than field limit (131072)": 'a cell is far too long; is a quote (") never closed?',
        }.get(str(error), f"{error}; a quote inside a quoted cell is written twice")
        raise UnreadableFile(422, f"row {number + 1} cannot be read: {what}") from None


def write(rows: Iterable[Sequence[str]]) -> Iterator[str]:
    """The table as pieces of text, ready to send; each starts and ends with whole rows."""
    out = io.StringIO()
    lines = csv.writer(out)
    out.write("\ufeff")  # without it some programs read UTF-8 as Latin-1
    for number, row in enumerate(rows, start=1):
        lines.writerow([harmless(cell) for cell in row])
        if number % 500 == 0:
            yield out.getvalue()
            out.seek(0)
            out.truncate()
    yield out.getvalue()
