"""A spreadsheet file, told apart by its content, as sheets of rows of text.  Pure: no Django."""

from typing import BinaryIO

from inventory.sheets.grid import LIMITS, Book, Limits, UnreadableFile


def open_book(file: BinaryIO, name: str, limits: Limits = LIMITS) -> Book:
    """Read a workbook (xlsx) or a text table (csv), told apart by content.  UnreadableFile otherwise."""
    from inventory.sheets import csvtext, xlsx

    data = file.read(limits.bytes + 1)
    if len(data) > limits.bytes:
        raise UnreadableFile(
            413, f"the file is larger than {_megabytes(limits.bytes)}, the most that is taken in"
        )
    if not data.strip():
        raise UnreadableFile(422, "the file is empty")
    if data.startswith(b"PK"):
        return xlsx.read(data, limits)
    if kind := next((kind for start, kind in _OTHERS if data.lstrip()[:16].lower().startswith(start)), None):
        raise UnreadableFile(415, f"this is {kind}: save it as .xlsx or .csv and send that")
    return csvtext.read(data, name, limits)


_OTHERS = (
    (b"\xd0\xcf\x11\xe0", "an old .xls workbook, or one locked with a password"),
    (b"<!doctype", "a web page"),
    (b"<html", "a web page"),
    (b"<?xml", "an XML file"),
    (b"%pdf", "a PDF"),
    (b"{\\rtf", "a text document"),
)


def _megabytes(count: int) -> str:
    return f"{count / 1024 / 1024:g} MB"
