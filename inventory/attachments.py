"""Files kept with a part or a design: data sheets, drawings, notes.

Each is a row, and a file under attachments/ named by what is in it; equal files are kept once.  What a file
is, is decided by its content; it is given back byte for byte, to be saved, never to be shown inside a page.
"""

import re
from hashlib import sha256
from pathlib import Path, PurePosixPath
from typing import Final

from django.conf import settings
from django.db import transaction
from django.db.models import F, QuerySet

from inventory.kept_files import hold, write_whole
from inventory.ledger import Actor
from inventory.models import Attachment, Design, Part
from inventory.pictures.taking_in import DamagedPicture, NotAPicture, PictureError, PictureTooLarge, check
from inventory.refusals import Code, Refused

MAX_BYTES: Final = 15 * 2**20
MAX_EACH: Final = 20
"""So many files are kept with one part or design."""
MAX_NAME: Final = 120

ENDINGS: Final = {
    Attachment.Type.PDF: (".pdf",),
    Attachment.Type.JPEG: (".jpg", ".jpeg"),
    Attachment.Type.PNG: (".png",),
    Attachment.Type.WEBP: (".webp",),
    Attachment.Type.TEXT: (".txt", ".csv", ".md", ".log", ".net", ".cir"),
}
"""How the name of such a file may end; it is given the first of these where it ends otherwise."""
_PICTURES = {"JPEG": Attachment.Type.JPEG, "PNG": Attachment.Type.PNG, "WEBP": Attachment.Type.WEBP}
# Signs that end a line or turn text round would make a name say something else than the file is.
_UNFIT_IN_NAMES = re.compile(r'[\x00-\x1f\x7f-\x9f\u200e\u200f\u2028-\u202e\u2066-\u2069\ufeff"<>|:*?\\/]+')
_UNFIT_IN_TEXT = re.compile(r"[\x00-\x08\x0b\x0e-\x1f\x7f]")


class AttachmentLost(LookupError):
    """The row is there and its file is not: somebody removed it from the folder."""


class Unfit(Refused):
    """A file that is not kept, with the status of why: 413, 415 or 422."""

    def __init__(self, status: int, code: Code, detail: str) -> None:
        super().__init__(code, detail)
        self.status = status


def folder() -> Path:
    return Path(settings.HOME) / "attachments"


def path_of(content: str) -> Path:
    return folder() / content[:2] / content


def type_of(data: bytes) -> Attachment.Type:
    """What a file is by its content.

    Unfit: `too_large`, `damaged`, or `another_kind_of_file` for all but PDF (ISO 32000-1, 7.5.2: begins with
    `%PDF-`), JPEG, PNG, WebP and plain UTF-8 text.
    """
    if len(data) > MAX_BYTES:
        raise Unfit(413, Code.TOO_LARGE, f"{len(data)} bytes: at most {MAX_BYTES // 2**20} MiB are kept")
    if data.startswith(b"%PDF-"):
        if b"%%EOF" not in data[-1024:]:
            raise Unfit(422, Code.DAMAGED, "starts as a PDF and breaks off before its end")
        return Attachment.Type.PDF
    try:
        return _PICTURES[check(data)]
    except NotAPicture:
        return _text(data)
    except PictureError as wrong:
        status, code = {
            PictureTooLarge: (413, Code.TOO_LARGE),
            DamagedPicture: (422, Code.DAMAGED),
        }[type(wrong)]
        raise Unfit(status, code, str(wrong)) from None


def _text(data: bytes) -> Attachment.Type:
    try:
        text = data.decode("utf-8-sig")
    except UnicodeDecodeError:
        text = "\0"
    if not text.strip() or _UNFIT_IN_TEXT.search(text):
        raise Unfit(
            415,
            Code.ANOTHER_KIND_OF_FILE,
            "not a PDF, a JPEG, PNG or WebP picture, or plain text in UTF-8, whatever its name says",
        )
    return Attachment.Type.TEXT


def fit_name(name: str, kind: Attachment.Type) -> str:
    """A name that any system can save the file under, ending as a file of its type does."""
    last = _UNFIT_IN_NAMES.sub(" ", re.split(r"[\\/]", name)[-1]).strip(" .")
    endings = ENDINGS[kind]
    if not last.lower().endswith(endings):
        last = f"{last or 'file'}{endings[0]}"
    ending = PurePosixPath(last).suffix
    stem = last.removesuffix(ending)[: MAX_NAME - len(ending)].strip(" .")
    return f"{stem or 'file'}{ending}"


@transaction.atomic
def keep(
    data: bytes, name: str, *, to: Part | Design, by: Actor, kind: Attachment.Type | None = None
) -> Attachment:
    """Keep a file with a part or a design; `kind`, where `type_of` said it before the transaction.

    Unfit as `type_of`; Refused: `taken` where the same file is with it already, `too_many` where it has
    as many as are kept.
    """
    kind = kind or type_of(data)
    content = sha256(data).hexdigest()
    hold(content)
    _refuse_more(content, to)
    row = Attachment.objects.create(
        content=content, name=fit_name(name, kind), type=kind, size=len(data), by=by, **_owner(to)
    )
    write_whole(path_of(content), data)
    return row


@transaction.atomic
def put(row: Attachment, to: Part | Design) -> None:
    """Put a file with another part or design, or back with the one it was taken from.  Refused as `keep`."""
    hold(row.content)
    _refuse_more(row.content, to)
    _write(row, **{"part": None, "design": None, **_owner(to)})


def rename(row: Attachment, name: str) -> str:
    """Call it so, as `fit_name` makes it; the name that it has now."""
    fit = fit_name(name, Attachment.Type(row.type))
    _write(row, name=fit)
    return fit


def take_off(row: Attachment) -> None:
    """The file is kept, with nothing; an owner may remove it for good."""
    _write(row, part=None, design=None)


@transaction.atomic
def remove(row: Attachment) -> None:
    """Remove the row for good, and, once that is committed, the file unless another row has the same."""
    row.delete()
    transaction.on_commit(lambda: _unlink_unnamed(row.content))


@transaction.atomic
def _unlink_unnamed(content: str) -> None:
    hold(content)
    if not Attachment.objects.filter(content=content).exists():
        path_of(content).unlink(missing_ok=True)


def of(owner: Part | Design) -> QuerySet[Attachment]:
    """The files with it, by name."""
    return Attachment.objects.filter(**_owner(owner)).order_by("name", "id")


def file_of(row: Attachment) -> Path:
    """Where its file is.  AttachmentLost where it is gone."""
    path = path_of(row.content)
    if not path.exists():
        raise AttachmentLost(f"the file of {row} is missing: attachments/{row.content[:2]}/…")
    return path


def _owner(owner: Part | Design) -> dict[str, Part | Design]:
    return {"part" if isinstance(owner, Part) else "design": owner}


def _refuse_more(content: str, to: Part | Design) -> None:
    # Its row is the lock, so that two at the same moment do not come to one too many.
    type(to)._default_manager.select_for_update().get(pk=to.pk)
    there = of(to)
    if same := there.filter(content=content).first():
        raise Refused(Code.TAKEN, f"the same file is with {to} already: {same}", attachment=same.pk)
    if there.count() >= MAX_EACH:
        raise Refused(Code.TOO_MANY, f"{to} has {MAX_EACH} files, the most that are kept with one")


def _write(row: Attachment, **columns: Part | Design | str | None) -> None:
    Attachment.objects.filter(pk=row.pk).update(version=F("version") + 1, **columns)
