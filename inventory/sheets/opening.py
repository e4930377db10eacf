"""A spreadsheet file, told apart by its content, as sheets of rows of text.  Pure: no Django."""

from typing import BinaryIO

from inventory.sheets.grid import LIMITS, Book, Limits, UnreadableFile


def open_book(file: BinaryIO, name: str, limits: Limits = LIMITS) -> Book:
    """Read a workbook (xlsx) or a text table (csv), told apart by content.  UnreadableFile otherwise."""
    from inventory.sheets import csvtext, xlsx

    data = bytes_of(file, limits)
    if data.startswith(b"PK"):
        return xlsx.read(data, limits)
    if data.startswith(_OLD_WORKBOOK):
        what = "an old .xls workbook, or one locked with a password"
        raise UnreadableFile(415, f"this is {what}: save it as .xlsx or .csv and send that")
    refuse_others(data)
    return csvtext.read(data, name, limits)


def bytes_of(file: BinaryIO, limits: Limits) -> bytes:
    """All of the file.  UnreadableFile: larger than is taken in (413), empty (422)."""
    data = file.read(limits.bytes + 1)
    if len(data) > limits.bytes:
        raise UnreadableFile(413, f"the file is larger than {_megabytes(limits.bytes)}, the maximum")
    if not data.strip():
        raise UnreadableFile(422, "the file is empty")
    return data


def refuse_others(data: bytes) -> None:
    """UnreadableFile (415) for what is no spreadsheet, though it may look like text."""
    if kind := next((kind for start, kind in _OTHERS if data.lstrip()[:16].lower().startswith(start)), None):
        raise UnreadableFile(415, f"this is {kind}: save it as .xlsx or .csv and send that")


_OLD_WORKBOOK = b"\xd0\xcf\x11\xe0"
_OTHERS = (
    (b"<!doctype", "a web page"),
    (b"<html", "a web page"),
    (b"<?xml", "an XML file"),
    (b"%pdf", "a PDF"),
    (b"{\\rtf", "a text document"),
)


def _megabytes(count: int) -> str:
    return f"{count / 1024 / 1024:g} MB"
