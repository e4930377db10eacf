"""The file itself: a zip with `design.json` and the folders `pictures` and `files`; the same design is the
same bytes.

It is read within bounds; nothing is unpacked to disk, and no name in the zip is a path of ours.
"""

import io
import re
import zipfile
from collections.abc import Callable, Mapping
from hashlib import sha256
from typing import NamedTuple

from pydantic import TypeAdapter, ValidationError

from inventory import attachments
from inventory.damaged_zip import DAMAGED_ZIP
from inventory.models import Attachment
from inventory.pictures.taking_in import Picture, PictureError, PictureTooLarge
from inventory.plain_jpeg import take_whole
from inventory.refusals import Code, Refused
from repairs.design_files.document import MAX_FILES, MAX_PICTURES, DesignDocument, as_text, read_document
from repairs.friends.files import MAX_BYTES, BadFile, read_json, refuse_false
from repairs.friends.signing import Signature

DOCUMENT = "design.json"
SIGNATURE = "signature.json"
MAX_FILE = 60 * 2**20
"""Bytes of the zip, and of what it unpacks to."""
MAX_SIGNATURE = 4096
MAX_PICTURE = 12 * 2**20
MAX_MEMBERS = MAX_PICTURES + MAX_FILES + 2
_MEMBER = re.compile(r"pictures/[0-9a-f]{16}\.jpg|files/[0-9a-f]{64}")
_SIGNATURE = TypeAdapter(Signature)
_EARLY = (1980, 1, 1, 0, 0, 0)


def write(
    document: DesignDocument, members: Mapping[str, bytes], seal: Callable[[bytes], Signature] | None = None
) -> bytes:
    """The zip of a design; pictures and files by their names in it; `seal` signs its document, which names
    them.  Refused (`too_large`): it would not be taken where it goes."""
    if sum(map(len, members.values())) > MAX_FILE - MAX_BYTES:
        most = (MAX_FILE - MAX_BYTES) // 2**20
        raise Refused(Code.TOO_LARGE, f"pictures and files are more than {most} MiB together: leave some out")
    out, text = io.BytesIO(), as_text(document)
    with zipfile.ZipFile(out, "w") as archive:
        _put(archive, DOCUMENT, text, zipfile.ZIP_DEFLATED)
        if seal is not None:
            _put(archive, SIGNATURE, _SIGNATURE.dump_json(seal(text)), zipfile.ZIP_DEFLATED)
        for name in sorted(members):
            _put(archive, name, members[name], zipfile.ZIP_STORED)
    return out.getvalue()


def _put(archive: zipfile.ZipFile, name: str, data: bytes, method: int) -> None:
    entry = zipfile.ZipInfo(name, _EARLY)  # the day is in nobody's interest, and the bytes stay the same
    entry.compress_type = method
    entry.external_attr = 0o644 << 16
    archive.writestr(entry, data)


class FileIn(NamedTuple):
    """A data sheet or file, and what it is by its content, which takes long to find out of a picture."""

    data: bytes
    kind: Attachment.Type


class Opened:
    """What was in a file, all of it checked: the document, the pictures and, by SHA-256, the files that it
    names, whose signature."""

    def __init__(
        self, document: DesignDocument, pictures: Mapping[str, Picture], files: Mapping[str, FileIn],
        signature: Signature | None = None,
    ) -> None:  # fmt: skip
        self.document, self.pictures, self.files, self.signature = document, pictures, files, signature


def read(data: bytes) -> Opened:
    """Open a file of a design.  BadFile: no such zip, too large, an unknown member, anything amiss inside."""
    if len(data) > MAX_FILE:
        raise BadFile(Code.TOO_LARGE, f"{len(data)} bytes; at most {MAX_FILE} are taken", status=413)
    if not data.startswith(b"PK"):
        raise BadFile(Code.ANOTHER_KIND_OF_FILE, "not the file of a design: not a zip", status=415)
    try:
        with zipfile.ZipFile(io.BytesIO(data)) as archive:
            members = _members(archive)
            text, signature = _read(archive, members[DOCUMENT], MAX_BYTES), None
            if SIGNATURE in members:
                signature = _signature(_read(archive, members[SIGNATURE], MAX_SIGNATURE))
                refuse_false(signature, text)
            document = read_document(text)
            pictures = _pictures(archive, members, document)
            return Opened(document, pictures, _files(archive, members, document), signature)
    except DAMAGED_ZIP:
        raise BadFile(Code.DAMAGED, "the zip is damaged, locked or packed in an unknown way") from None


def _signature(data: bytes) -> Signature:
    try:
        return _SIGNATURE.validate_python(read_json(data))
    except ValidationError:
        raise BadFile(
            Code.UNREADABLE, f"{SIGNATURE} holds no signature: expected `key` and `value`"
        ) from None


def _members(archive: zipfile.ZipFile) -> dict[str, zipfile.ZipInfo]:
    entries = archive.infolist()
    if len(entries) > MAX_MEMBERS:
        raise BadFile(Code.TOO_MANY, f"{len(entries)} files in the zip; at most {MAX_MEMBERS} are taken")
    members: dict[str, zipfile.ZipInfo] = {}
    for entry in entries:
        name = entry.filename
        if name in members:
            raise BadFile(Code.REPEATED, f"{name[:80]!r} is in the zip twice")
        if name not in (DOCUMENT, SIGNATURE) and not _MEMBER.fullmatch(name):
            raise BadFile(Code.UNKNOWN, f"{name[:80]!r} has no business in the zip")
        members[name] = entry
    if sum(entry.file_size for entry in entries) > MAX_FILE:
        raise BadFile(Code.TOO_LARGE, f"unpacks to more than {MAX_FILE} bytes", status=413)
    if DOCUMENT not in members:
        raise BadFile(Code.ANOTHER_KIND_OF_FILE, f"not the file of a design: no {DOCUMENT} in it", status=415)
    return members


def _read(archive: zipfile.ZipFile, entry: zipfile.ZipInfo, most: int) -> bytes:
    """A member, however much more it holds than its directory says."""
    with archive.open(entry) as member:
        data = member.read(most + 1)
    if len(data) > most:
        raise BadFile(Code.TOO_LARGE, f"{entry.filename} unpacks to more than {most} bytes", status=413)
    return data


def _pictures(
    archive: zipfile.ZipFile, members: Mapping[str, zipfile.ZipInfo], document: DesignDocument
) -> dict[str, Picture]:
    found: dict[str, Picture] = {}
    digests: dict[str, str] = {}
    for entry in document.pictures:
        member = members.get(f"pictures/{entry.file}")
        if member is None:
            raise BadFile(Code.DAMAGED, f"{entry.file} is named and is not in the zip")
        if entry.file not in digests:
            data = _read(archive, member, MAX_PICTURE)
            digests[entry.file] = sha256(data).hexdigest()
        if digests[entry.file] != entry.sha256:
            raise BadFile(
                Code.DAMAGED, f"{entry.file} is not the picture that was named: its SHA-256 differs"
            )
        if entry.file in found:
            continue
        try:
            found[entry.file] = take_whole(data)
        except PictureTooLarge as wrong:
            raise BadFile(Code.TOO_LARGE, f"{entry.file}: {wrong}", status=413) from None
        except PictureError as wrong:
            raise BadFile(Code.NOT_A_PICTURE, f"{entry.file}: {wrong}", status=415) from None
    return found


def _files(
    archive: zipfile.ZipFile, members: Mapping[str, zipfile.ZipInfo], document: DesignDocument
) -> dict[str, FileIn]:
    found: dict[str, FileIn] = {}
    for entry in document.files:
        member = members.get(f"files/{entry.sha256}")
        if member is None:
            raise BadFile(Code.DAMAGED, f"{entry.name} is named and is not in the zip")
        data = _read(archive, member, attachments.MAX_BYTES)
        if sha256(data).hexdigest() != entry.sha256:
            raise BadFile(Code.DAMAGED, f"{entry.name} is not the file that was named: its SHA-256 differs")
        try:
            found[entry.sha256] = FileIn(data, attachments.type_of(data))
        except attachments.Unfit as unfit:
            raise BadFile(unfit.code, f"{entry.name}: {unfit.detail}", status=unfit.status) from None
    return found
