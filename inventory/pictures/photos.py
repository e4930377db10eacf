"""Pictures that the bench keeps: each is a row, and a file under MEDIA_ROOT named by what is in it.

Two rows with the same picture share one file; it goes with the last of them.
"""

from collections.abc import Iterable, Sequence
from hashlib import sha256
from pathlib import Path
from typing import Any

from django.conf import settings
from django.db import models, transaction
from django.db.models import F, QuerySet

from inventory.kept_files import hold, write_whole
from inventory.models import Board, Design, Lot, Part, Photo, Position
from inventory.pictures.shrinking import shrink
from inventory.pictures.taking_in import Picture

SUBJECTS: dict[str, type[models.Model]] = {
    "part": Part,
    "lot": Lot,
    "design": Design,
    "position": Position,
    "board": Board,
}
"""What a photo may show; the app of another model adds it here."""


SIZES: dict[str, tuple[int, int]] = {
    "stamp": (240, 6),
    "line": (320, 8),
    "map": (960, 76),
    "map of two": (960, 40),
}
"""How pages show whole pictures: pixels on the longer side and kB, so that a page stays under 150 kB."""


class PhotoLost(LookupError):
    """The row is there and its file is not: somebody removed it from the folder."""


def path_of(content: str) -> Path:
    return Path(settings.MEDIA_ROOT) / content[:2] / f"{content}.jpg"


@transaction.atomic
def keep(picture: Picture, **facts: Any) -> Photo:
    """Keep a picture that was taken in; `facts` are further columns of the row."""
    content = sha256(picture.data).hexdigest()
    hold(content)
    photo = Photo.objects.create(
        content=content, width=picture.width, height=picture.height, size=len(picture.data), **facts
    )
    write_whole(path_of(content), picture.data)
    return photo


def show(photo: Photo, subject: str, subject_id: int, *, ref: str = "") -> None:
    """Say what a photo shows that showed nothing named."""
    Photo.objects.filter(pk=photo.pk, subject="").update(
        subject=subject, subject_id=subject_id, ref=ref, version=F("version") + 1
    )


def let_go(photo: Photo) -> None:
    """The photo is kept, and shows nothing named any more."""
    Photo.objects.filter(pk=photo.pk).update(
        subject="", subject_id=None, ref="", side="", version=F("version") + 1
    )


def let_go_of(subject: str, ids: Iterable[int], *, but: Iterable[int]) -> None:
    """Let go of all photos of these rows of a subject, but for some."""
    shown = Photo.objects.filter(subject=subject, subject_id__in=list(ids)).exclude(pk__in=list(but))
    shown.update(subject="", subject_id=None, ref="", side="", version=F("version") + 1)


def remove_files(contents: Iterable[str]) -> None:
    """Remove the files of pictures that no row shows any more, and what was made of them, once that is
    committed: what is rolled back has its files still."""
    gone = sorted(set(contents))
    transaction.on_commit(lambda: _unlink_unshown(gone))


def _unlink_unshown(contents: Sequence[str]) -> None:
    for content in contents:
        with transaction.atomic():
            hold(content)
            if Photo.objects.filter(content=content).exists():
                continue
            whole = path_of(content)
            whole.unlink(missing_ok=True)
            for made in whole.parent.glob(f"{content}.*-*.jpg"):
                made.unlink(missing_ok=True)


def of(subject: str, subject_id: int) -> QuerySet[Photo]:
    """Photos of this row, newest first."""
    return Photo.objects.filter(subject=subject, subject_id=subject_id).order_by("-id")


@transaction.atomic
def show_also(photo: Photo, subject: str, subject_id: int, **facts: Any) -> Photo:
    """The same picture as one of something else too: another row, the same file."""
    hold(photo.content)
    return Photo.objects.create(
        content=photo.content, width=photo.width, height=photo.height, size=photo.size, note=photo.note,
        subject=subject, subject_id=subject_id, **facts,
    )  # fmt: skip


def shown(subject: str, ids: Iterable[int]) -> dict[int, list[Photo]]:
    """The photos of these rows of a subject, oldest first."""
    found: dict[int, list[Photo]] = {}
    for photo in Photo.objects.filter(subject=subject, subject_id__in=list(ids)).order_by("id"):
        assert photo.subject_id is not None  # a constraint: what is named has an id
        found.setdefault(photo.subject_id, []).append(photo)
    return found


def data_of(photo: Photo) -> bytes:
    """The JPEG; PhotoLost where its file is gone."""
    try:
        return path_of(photo.content).read_bytes()
    except FileNotFoundError:
        raise PhotoLost(f"the file of photo {photo.pk} is missing: pictures/{photo.content[:2]}/…") from None


def small_of(photo: Photo, longest: int, kilobytes: int | None) -> bytes:
    """The JPEG brought down; what pages show is made once and kept beside it.  PhotoLost as `data_of`."""
    whole, size = path_of(photo.content), (longest, kilobytes)
    if size not in SIZES.values():
        return shrink(data_of(photo), longest, kilobytes)
    made = whole.with_name(f"{photo.content}.{longest}-{kilobytes}.jpg")
    if made.exists() and whole.exists():
        return made.read_bytes()
    data = shrink(data_of(photo), longest, kilobytes)
    write_whole(made, data)
    if not whole.exists():  # removed meanwhile, with all that was made of it until then
        made.unlink(missing_ok=True)
    return data


@transaction.atomic
def remove(photo: Photo) -> None:
    """Remove the row, and its file as `remove_files` does."""
    photo.delete()
    remove_files([photo.content])
