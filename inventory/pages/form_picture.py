"""The picture and the note that may go with a form: taken in before anything is written."""

from django.conf import settings
from django.core.files.uploadedfile import UploadedFile
from django.http import HttpRequest

from inventory.ledger import Actor, Refused
from inventory.models import Photo
from inventory.pictures import photos
from inventory.pictures.taking_in import Picture, PictureError, take_in
from inventory.refusals import Code


def picture_of(request: HttpRequest) -> Picture | None:
    """The picture in the form, if there is one; Refused where the file is none or too large."""
    file = request.FILES.get("picture")
    if not isinstance(file, UploadedFile) or not file.size:
        return None
    if file.size > settings.UPLOAD_BYTES:
        most = settings.UPLOAD_BYTES // 2**20
        raise Refused(Code.TOO_LARGE, f"The picture has more than {most} MiB: take it smaller.")
    try:
        return take_in(file.read())
    except PictureError as wrong:
        raise Refused(Code.NOT_A_PICTURE, f"{file.name}: {wrong}. Nothing was written down.") from None


def keep_picture(
    picture: Picture | None, *, by: Actor, subject: str, row: int, ref: str = "", note: str = ""
) -> Photo | None:
    """Keep the picture that came with a form, of a board (and a position) or a lot."""
    if picture is None:
        return None
    return photos.keep(picture, subject=subject, subject_id=row, ref=ref, note=note[:400], by=by)
