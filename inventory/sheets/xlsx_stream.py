"""The two long parts of a workbook, its shared strings and its sheets, read as they are unpacked.

Nothing is kept but the row at hand, and everything is bounded (rows, cells, text, depth), since the file
comes from anybody.  openpyxl reads the same parts nearly three times as slowly, shows a formula without its
result as blank, and keeps an element for every row.
"""

from collections.abc import Iterator, Sequence
from sys import getsizeof
from typing import IO
from xml.parsers import expat

from inventory.sheets.grid import LAST_ROW, Limits, UnreadableFile, too_many_columns, too_many_rows
from inventory.sheets.xlsx_escapes import unescaped
from inventory.sheets.xlsx_text import NO_RESULT, date_as_shown, error_as_shown, number_as_shown

_CHUNK = 64 * 1024
_DEEPEST = 64
_REMEMBERED = 20_000
MAX_STRINGS_BYTES = 96 * 1024 * 1024  # of memory, for the texts that cells share


class _Part:
    """An XML part.  `opens` and `closes` are told local names; `begin_text` collects until `taken_text`."""

    def __init__(self, limits: Limits) -> None:
        self.limits = limits
        self._parser = expat.ParserCreate()
        self._parser.buffer_text = True
        self._parser.StartElementHandler = self._start
        self._parser.EndElementHandler = self._end
        self._parser.StartDoctypeDeclHandler = self._doctype
        self._local: dict[str, str] = {}
        self._depth = 0
        self._text: list[str] = []
        self._length = 0

    def fed(self, source: IO[bytes]) -> Iterator[None]:
        """Parse the source, with a pause after each stretch of it."""
        while chunk := source.read(_CHUNK):
            self._parser.Parse(chunk, False)
            yield
        self._parser.Parse(b"", True)

    def _start(self, name: str, attributes: dict[str, str]) -> None:
        self._depth += 1
        if self._depth > _DEEPEST:
            raise UnreadableFile(422, "the workbook is damaged: its XML is nested without end")
        local = self._local.get(name)
        if local is None:
            local = self._local[name] = name.rpartition(":")[2]
        self.opens(local, attributes)

    def _end(self, name: str) -> None:
        self._depth -= 1
        self.closes(self._local[name])

    def _doctype(self, *_declaration: object) -> None:
        raise UnreadableFile(422, "the workbook is damaged: its XML declares a document type, which none has")

    def begin_text(self) -> None:
        self._parser.CharacterDataHandler = self._collect

    def _collect(self, text: str) -> None:
        self._length += len(text)
        if self._length > 8 * self.limits.cell:  # escaped characters take up to seven
            raise UnreadableFile(413, f"a cell holds more than {self.limits.cell:,} characters")
        self._text.append(text)

    def end_text(self) -> None:
        self._parser.CharacterDataHandler = None

    def taken_text(self) -> str:
        text = "".join(self._text)
        self._text.clear()
        self._length = 0
        return text

    def opens(self, name: str, attributes: dict[str, str]) -> None:
        """An element starts."""

    def closes(self, name: str) -> None:
        """An element ends."""


class _Strings(_Part):
    """The table of shared strings; what is written above characters to say how they sound is left out."""

    def __init__(self, limits: Limits) -> None:
        super().__init__(limits)
        self.strings: list[str] = []
        self._bytes = 0
        self._sound = False

    def opens(self, name: str, attributes: dict[str, str]) -> None:
        if name == "t" and not self._sound:
            self.begin_text()
        elif name == "rPh":
            self._sound = True

    def closes(self, name: str) -> None:
        if name == "t":
            self.end_text()
        elif name == "rPh":
            self._sound = False
        elif name == "si":
            text = unescaped(self.taken_text())
            self.strings.append(text)
            self._bytes += getsizeof(text) + 8
            if self._bytes > MAX_STRINGS_BYTES:
                raise UnreadableFile(413, f"the workbook holds more than {len(self.strings):,} texts")


def read_strings(source: IO[bytes], limits: Limits) -> list[str]:
    part = _Strings(limits)
    for _pause in part.fed(source):
        pass
    return part.strings


class _Rows(_Part):
    """The rows of a sheet that hold anything, as they are completed."""

    def __init__(
        self, sheet: str, strings: Sequence[str], formats: Sequence[str], limits: Limits, hidden: list[int]
    ) -> None:
        super().__init__(limits)
        self.sheet, self.strings, self.formats, self.hidden = sheet, strings, formats, hidden
        self._is_hidden = False
        self.ready: list[tuple[int, Sequence[str]]] = []
        self._cells: dict[int, str] = {}
        self._row = self._column = self._kept = 0
        self._kind = self._style = ""
        self._formula = self._sound = False
        self._columns: dict[str, int] = {}
        self._numbers: dict[tuple[str, str], str] = {}

    def opens(self, name: str, attributes: dict[str, str]) -> None:
        if name == "c":
            at = attributes.get("r")
            self._column = self._column + 1 if at is None else self._column_of(at)
            self._kind, self._style = attributes.get("t", "n"), attributes.get("s", "")
            self._formula = False
        elif name == "v" or (name == "t" and not self._sound):
            self.begin_text()
        elif name == "row":
            number = attributes.get("r")
            self._row = self._row + 1 if number is None else int(float(number))
            self._column = 0
            self._is_hidden = attributes.get("hidden", "0") in ("1", "true")
            if not 0 < self._row <= LAST_ROW:
                raise ValueError("a row number out of range")
        elif name == "f":
            self._formula = True
        elif name == "rPh":
            self._sound = True

    def closes(self, name: str) -> None:
        if name in ("v", "t"):
            self.end_text()
        elif name == "c":
            self._keep(self._shown(self.taken_text()))
        elif name == "row":
            self._end_row()
        elif name == "rPh":
            self._sound = False

    def _column_of(self, at: str) -> int:
        """The column of a cell's address: 28 for AB12."""
        letters = at.rstrip("0123456789")
        column = self._columns.get(letters)
        if column is None:
            column = 0
            if not 0 < len(letters) <= 3 or not (
                letters.isascii() and letters.isupper() and letters.isalpha()
            ):
                raise ValueError("a cell without a proper address")
            for letter in letters:
                column = column * 26 + ord(letter) - 64
            self._columns[letters] = column
        return column

    def _shown(self, stored: str) -> str:
        kind = self._kind
        if kind == "s":
            return self.strings[int(stored)] if stored else ""
        if kind in ("str", "inlineStr"):
            return unescaped(stored)
        if not stored:
            return NO_RESULT if self._formula else ""
        if kind == "n":
            known = self._numbers.get((stored, self._style))
            if known is None:
                style = int(self._style or 0)
                known = number_as_shown(stored, self.formats[style] if style else "General")
                if len(self._numbers) < _REMEMBERED:
                    self._numbers[stored, self._style] = known
            return known
        if kind == "b":
            return "TRUE" if stored.strip() in ("1", "true") else "FALSE"
        return error_as_shown(stored) if kind == "e" else date_as_shown(stored)

    def _keep(self, text: str) -> None:
        if text and not text.isspace() or text is NO_RESULT:
            self._cells[self._column - 1] = text
            if self._column > self.limits.columns:
                raise too_many_columns(self.sheet, self.limits)

    def _end_row(self) -> None:
        if not self._cells:
            return
        self._kept += 1
        if self._kept > self.limits.rows + 1:
            raise too_many_rows(self.limits)
        texts = [""] * (max(self._cells) + 1)
        for at, text in self._cells.items():
            texts[at] = text
        self.ready.append((self._row, texts))
        if self._is_hidden:
            self.hidden.append(self._row)
        self._cells.clear()


def read_rows(
    source: IO[bytes],
    sheet: str,
    strings: Sequence[str],
    formats: Sequence[str],
    limits: Limits,
    hidden: list[int],
) -> Iterator[tuple[int, Sequence[str]]]:
    """The rows of a sheet that hold anything: number as the spreadsheet shows it, texts from column A on.

    The numbers of those that are not seen go into `hidden`.
    """
    part = _Rows(sheet, strings, formats, limits, hidden)
    for _pause in part.fed(source):
        yield from part.ready
        part.ready.clear()
    yield from part.ready
