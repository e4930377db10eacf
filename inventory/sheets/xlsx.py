"""Workbooks (xlsx) read as the text that a person sees.

The zip directory is looked at before anything is unpacked: a file of one megabyte may unpack to gigabytes.
"""

import posixpath
import struct
from collections.abc import Iterator, Sequence
from io import BytesIO
from typing import Any
from xml.parsers.expat import ExpatError
from zipfile import ZipFile

from defusedxml.ElementTree import fromstring  # type: ignore[import-untyped]
from openpyxl.styles.numbers import BUILTIN_FORMATS

from inventory.damaged_zip import DAMAGED_ZIP
from inventory.sheets.grid import Book, Limits, Sheet, UnreadableFile
from inventory.sheets.xlsx_stream import read_rows, read_strings

# What the zip and XML parsers raise on damaged files: whatever stumbles first.
_DAMAGE = (
    *DAMAGED_ZIP, ArithmeticError, AttributeError, ExpatError, LookupError, SyntaxError, TypeError,
    struct.error,
)  # fmt: skip


def read(data: bytes, limits: Limits) -> Book:
    """The workbook's sheets, in their order.  UnreadableFile: it is none, damaged, or too large unpacked."""
    try:
        with ZipFile(BytesIO(data)) as archive:
            _refuse_others(archive)
            refuse_large(archive, limits)
            book = _Workbook(archive, limits)
    except _DAMAGE as error:
        raise _damaged(error) from None
    if len(book.sheets) > limits.sheets:
        raise UnreadableFile(413, f"the workbook has more than {limits.sheets} sheets")
    sheets = []
    for name, part, hidden in book.sheets:
        not_seen: list[int] = []
        sheets.append(Sheet(name, _rows(data, part, name, book, limits, not_seen), hidden, not_seen))
    return Book(sheets)


def _damaged(error: Exception) -> UnreadableFile:
    what = f"the workbook is damaged ({type(error).__name__})"
    return UnreadableFile(422, f"{what}: open it in a spreadsheet program, save it and send it again")


def _refuse_others(archive: ZipFile) -> None:
    names = set(archive.namelist())
    if "[Content_Types].xml" not in names:
        what = "an OpenDocument file" if "mimetype" in names else "a zip file, but no workbook"
        raise UnreadableFile(415, f"this is {what}: save it as .xlsx or .csv and send that")
    if any(name.endswith("workbook.bin") for name in names):
        raise UnreadableFile(415, "this is an .xlsb workbook: save it as .xlsx or .csv and send that")
    if any(member.flag_bits & 1 for member in archive.infolist()):
        raise UnreadableFile(415, "the workbook is locked with a password: save it without one")


def refuse_large(archive: ZipFile, limits: Limits) -> None:
    """By what the zip directory declares; more than it declares is never unpacked."""
    members = archive.infolist()
    if len(members) > limits.members:
        raise UnreadableFile(413, f"the workbook has more than {limits.members:,} parts")
    for member in members:
        if member.file_size > max(limits.bomb, limits.ratio * member.compress_size):
            name = member.filename[:60]
            raise UnreadableFile(413, f"{name} unpacks to far more than a sheet would: refused")
    if sum(member.file_size for member in members) > limits.inflated:
        raise UnreadableFile(413, f"unpacked, the workbook is larger than {limits.inflated // 2**20} MB")


class _Workbook:
    """What the short parts say: sheets (name, part, hidden), shared strings, the format of each style."""

    def __init__(self, archive: ZipFile, limits: Limits) -> None:
        self.archive, self.limits = archive, limits
        main = dict(self._relations("").values())["officeDocument"]
        related = self._relations(main)
        by_kind = dict(related.values())
        self.sheets = [
            (sheet.get("name", ""), target, sheet.get("state", "visible") != "visible")
            for sheet in _children(self._tree(main), "sheets")
            for kind, target in [related[_relation_of(sheet)]]
            if kind == "worksheet"
        ]
        self.formats = self._formats(by_kind.get("styles"))
        self.strings: Sequence[str] = ()
        if "sharedStrings" in by_kind:
            with archive.open(by_kind["sharedStrings"]) as part:
                self.strings = read_strings(part, limits)

    def _tree(self, part: str) -> Any:
        size = self.archive.getinfo(part).file_size
        if size > self.limits.short_part:
            raise UnreadableFile(413, f"{part[:60]} is larger than that part of a workbook should be")
        return fromstring(self.archive.read(part), forbid_dtd=True)

    def _relations(self, part: str) -> dict[str, tuple[str, str]]:
        """Id -> (last word of the kind, part) of what a part refers to; the file itself is the part ''."""
        folder, name = posixpath.split(part)
        tree = self._tree(posixpath.join(folder, "_rels", f"{name}.rels"))
        return {
            each.get("Id", ""): (
                posixpath.basename(each.get("Type", "")),
                posixpath.normpath(posixpath.join("/", folder, each.get("Target", ""))).lstrip("/"),
            )
            for each in tree
        }

    def _formats(self, part: str | None) -> Sequence[str]:
        """The number format of each cell style."""
        if part is None:
            return ["General"]
        tree = self._tree(part)
        own = {each.get("numFmtId"): each.get("formatCode", "") for each in _children(tree, "numFmts")}
        numbers = [each.get("numFmtId", "0") for each in _children(tree, "cellXfs")]
        return [own.get(number) or BUILTIN_FORMATS.get(int(number), "General") for number in numbers]


def _children(tree: Any, name: str) -> list[Any]:
    """The children of the child of this local name."""
    return next((list(child) for child in tree if _local(child.tag) == name), [])


def _local(tag: object) -> str:
    return str(tag).rpartition("}")[2]


def _relation_of(sheet: Any) -> str:
    """The attribute `id` in the namespace of relations, whichever edition of it."""
    return str({_local(name): value for name, value in sheet.attrib.items() if name.startswith("{")}["id"])


def _rows(
    data: bytes, part: str, name: str, book: _Workbook, limits: Limits, hidden: list[int]
) -> Iterator[tuple[int, Sequence[str]]]:
    try:
        with ZipFile(BytesIO(data)) as archive, archive.open(part) as source:
            yield from read_rows(source, name, book.strings, book.formats, limits, hidden)
    except _DAMAGE as error:
        raise _damaged(error) from None
