"""Spreadsheets made for the tests: by openpyxl, or as plain text."""

import re
import zipfile
from collections.abc import Iterable, Sequence
from io import BytesIO
from typing import Any

from openpyxl import Workbook

from inventory.sheets.grid import LIMITS, Limits
from inventory.sheets.opening import open_book

Cells = Iterable[Sequence[Any]]


def workbook(rows: Cells = (), *, sheet: str = "Sheet", **more: Cells) -> BytesIO:
    """A workbook as other programs write it: `workbook(rows, Second=rows)`."""
    book = Workbook()
    book.remove(book.active)
    for name, lines in {sheet: rows, **more}.items():
        out = book.create_sheet(name)
        for line in lines:
            out.append(list(line))
    return saved(book)


def saved(book: Workbook) -> BytesIO:
    file = BytesIO()
    book.save(file)
    file.seek(0)
    return file


def with_shared_strings(file: BytesIO) -> BytesIO:
    """The same workbook as most programs save it: each text once, in a table of its own (openpyxl writes it
    in the cell)."""
    numbers: dict[bytes, int] = {}

    def shared(found: re.Match[bytes]) -> bytes:
        number = numbers.setdefault(found[2], len(numbers))
        return found[1].replace(b'"inlineStr"', b'"s"') + b"<v>%d</v></c>" % number

    parts = {}
    with zipfile.ZipFile(file) as archive:
        for name in archive.namelist():
            parts[name] = archive.read(name)
    for name, data in parts.items():
        if name.startswith("xl/worksheets/"):
            parts[name] = re.sub(
                rb'(<c [^>]*t="inlineStr"[^>]*>)<is>(.*?)</is></c>', shared, data, flags=re.DOTALL
            )
    main = b"http://schemas.openxmlformats.org/spreadsheetml/2006/main"
    items = b"".join(b"<si>%b</si>" % text for text in numbers)
    parts["xl/sharedStrings.xml"] = b'<sst xmlns="%b">%b</sst>' % (main, items)
    kind = b"application/vnd.openxmlformats-officedocument.spreadsheetml.sharedStrings+xml"
    link = b"http://schemas.openxmlformats.org/officeDocument/2006/relationships/sharedStrings"
    types, links = "[Content_Types].xml", "xl/_rels/workbook.xml.rels"
    if kind not in parts[types]:
        override = b'<Override PartName="/xl/sharedStrings.xml" ContentType="%b"/></Types>' % kind
        parts[types] = parts[types].replace(b"</Types>", override)
    if link not in parts[links]:
        relation = b'<Relationship Id="strings" Type="%b" Target="sharedStrings.xml"/></Relationships>' % link
        parts[links] = parts[links].replace(b"</Relationships>", relation)
    out = BytesIO()
    with zipfile.ZipFile(out, "w", zipfile.ZIP_DEFLATED) as archive:
        for name, data in parts.items():
            archive.writestr(name, data)
    out.seek(0)
    return out


def text_table(text: str, encoding: str = "utf-8") -> BytesIO:
    return BytesIO(text.encode(encoding))


def rows_of(file: BytesIO, limits: Limits = LIMITS, sheet: int = 0) -> list[tuple[int, list[str]]]:
    """The rows that we read of a file, of its first sheet."""
    book = open_book(file, "test", limits)
    return [(number, list(cells)) for number, cells in book.sheets[sheet].rows]
