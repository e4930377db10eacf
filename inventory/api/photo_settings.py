"""What may be asked of one photo: a box of it, turned and enlarged, as parameters of an address."""

from collections.abc import Callable, Mapping, Sequence
from typing import Any, NamedTuple

from django.shortcuts import get_object_or_404
from drf_spectacular.utils import OpenApiParameter
from rest_framework.exceptions import ErrorDetail, NotFound
from rest_framework.request import Request

from inventory.api.lists import bad_query
from inventory.api.problems import BadQuery
from inventory.api.viewsets import Conventions
from inventory.models import Photo
from inventory.pictures import photos
from inventory.pictures.combining import MAX_PICTURES
from inventory.pictures.enlarging import CHANNELS, READABLE, BadEnlargement
from inventory.refusals import Code
from inventory.whole_numbers import whole_number


class OfPhoto(Conventions):
    """An address under `photos/{id}`."""

    def picture(self, pk: int, of: Callable[[Photo], bytes] = photos.data_of) -> bytes:
        return self._of(get_object_or_404(Photo, pk=pk), of)

    @staticmethod
    def _of(photo: Photo, of: Callable[[Photo], bytes]) -> bytes:
        try:
            return of(photo)
        except photos.PhotoLost as lost:
            raise NotFound(str(lost)) from None

    def pictures(self, pk: int, others: Sequence[int]) -> list[bytes]:
        """The picture, and those of other photos that are to be read with it."""
        found = [self.picture(pk)]
        known = {photo.pk: photo for photo in Photo.objects.filter(pk__in=others)}
        for other in others:
            if other not in known:
                raise bad_query("also", f"there is no photo {other}", Code.DOES_NOT_EXIST)
            found.append(self._of(known[other], photos.data_of))
        return found


def whole(text: str) -> int:
    number = whole_number(text)
    if number is None:
        raise ValueError("expected a whole number of pixels")
    return number


def figure(text: str) -> float:
    try:
        if len(text) < 40:
            return float(text)
    except ValueError:
        pass
    raise ValueError("expected a number")


def _amount(name: str) -> Callable[[str], float]:
    """Reads a figure; `true` is the usual one and `false` none."""
    amounts = {"true": float(READABLE[name]), "false": 0.0}

    def read(text: str) -> float:
        return amounts[text] if text in amounts else figure(text)

    return read


def _yes_or_no(text: str) -> bool:
    if text not in ("true", "false", "1", "0"):
        raise ValueError("expected true or false")
    return text in ("true", "1")


class Setting(NamedTuple):
    read: Callable[[str], Any]
    schema: Mapping[str, Any]
    about: str


_PIXELS = {"type": "integer", "minimum": 0}


def _others(text: str) -> list[int]:
    numbers = [whole_number(each.strip()) for each in text.split(",")]
    others = [number for number in numbers if number is not None]
    if len(others) < len(numbers) or len(others) >= MAX_PICTURES:
        raise ValueError(f"expected ids of at most {MAX_PICTURES - 1} other photos, parted by commas")
    return others


def _between(low: float, high: float) -> dict[str, Any]:
    return {"type": "number", "minimum": low, "maximum": high}


BOX = {
    "x": Setting(whole, _PIXELS, "Left edge of the box, in pixels of the picture."),
    "y": Setting(whole, _PIXELS, "Its upper edge."),
    "w": Setting(whole, {**_PIXELS, "minimum": 1}, "Its width; left out: to the edge of the picture."),
    "h": Setting(whole, {**_PIXELS, "minimum": 1}, "Its height; left out: to the edge."),
    "rotate": Setting(figure, _between(-360, 360), "Degrees anticlockwise."),
}
ALSO = {
    "also": Setting(
        _others,
        {"type": "string", "example": "8,9"},
        "Other photos of the same part from the same spot, with light from other sides: their ids, parted by "
        "commas. They are laid on this one and read as one picture: without glare, and sharp.",
    )
}
LOOK = {
    **BOX,
    "scale": Setting(figure, _between(0.1, 16), "How many times as large."),
    "contrast": Setting(
        _amount("contrast"),
        _between(0, 40),
        "Stretch, giving up so many per cent of the darkest and of the lightest; 1, or `true`, is usual.",
    ),
    "local_contrast": Setting(
        _amount("local_contrast"),
        _between(0, 10),
        "Contrast of each neighbourhood by itself; 3, or `true`, is usual.",
    ),
    "sharpen": Setting(_amount("sharpen"), _between(0, 5), "1.5, or `true`, is usual."),
    "invert": Setting(_yes_or_no, {"type": "string", "enum": ["true", "false"]}, "Dark for light."),
    "channel": Setting(str, {"type": "string", "enum": [*CHANNELS[1:]]}, "One channel alone; grey is usual."),
}


def parameters(settings: Mapping[str, Setting], *, required: bool = False) -> list[OpenApiParameter]:
    return [
        OpenApiParameter(name, dict(setting.schema), required=required, description=setting.about)
        for name, setting in settings.items()
    ]


def settings_of(request: Request, settings: Mapping[str, Setting]) -> dict[str, Any]:
    """What the parameters set; BadQuery names each that cannot be read."""
    chosen, wrong = {}, {}
    for name, setting in settings.items():
        if name in request.query_params:
            try:
                chosen[name] = setting.read(request.query_params[name])
            except ValueError as unread:
                wrong[name] = [ErrorDetail(str(unread), Code.UNREADABLE)]
    if wrong:
        raise BadQuery(wrong)
    return chosen


def out_of_range(bad: BadEnlargement) -> BadQuery:
    return BadQuery({name: [ErrorDetail(detail, Code.OUT_OF_RANGE)] for name, detail in bad.problems})
