"""What a photo shows: the picture itself, and parts of it enlarged."""

from collections.abc import Mapping
from typing import Any

from django.http import HttpResponse
from drf_spectacular.types import OpenApiTypes
from drf_spectacular.utils import extend_schema
from rest_framework.request import Request

from inventory.api.lists import bad_query
from inventory.api.photo_settings import LOOK, OfPhoto, Setting, out_of_range, parameters, settings_of, whole
from inventory.pictures import photos
from inventory.pictures.enlarging import BadEnlargement, enlarge
from inventory.pictures.shrinking import FEWEST, SMALLEST
from inventory.pictures.taking_in import KEPT_SIDE
from inventory.refusals import Code

JPEG, PNG = "image/jpeg", "image/png"
KEPT = "private, max-age=86400, immutable"
"""A photo's picture never changes: the browser of whoever saw it may keep it for a day."""

USUAL_KILOBYTES, MAX_KILOBYTES = 90, 10_000
LIGHT = {
    "kilobytes": Setting(
        whole,
        {"type": "integer", "minimum": FEWEST, "maximum": MAX_KILOBYTES},
        "A JPEG of at most so many kB (of 1000 bytes): coarser, and at last smaller, until it is that light.",
    )
}
WHOLE = {
    "longest": Setting(
        whole,
        {"type": "integer", "minimum": SMALLEST, "maximum": KEPT_SIDE},
        "Brought down to so many pixels on its longer side; never larger than it is.",
    ),
    **LIGHT,
}


def _refuse_outside(name: str, given: int | None, least: int, most: int) -> None:
    if given is not None and not least <= given <= most:
        raise bad_query(name, f"{given} is not between {least} and {most}", Code.OUT_OF_RANGE)


class Image(OfPhoto):
    query_parameters = parameters(WHOLE)

    @extend_schema(responses={(200, JPEG): OpenApiTypes.BINARY}, operation_id="photos_image")
    def get(self, request: Request, pk: int) -> HttpResponse:
        """The whole picture (JPEG)."""
        chosen = settings_of(request, WHOLE)
        longest, kilobytes = chosen.get("longest", KEPT_SIDE), chosen.get("kilobytes")
        _refuse_outside("longest", longest, SMALLEST, KEPT_SIDE)
        _refuse_outside("kilobytes", kilobytes, FEWEST, MAX_KILOBYTES)
        shown = self.picture(pk, lambda photo: photos.small_of(photo, longest, kilobytes))
        return HttpResponse(shown, content_type=JPEG, headers={"Cache-Control": KEPT})


def _enlarged(data: bytes, chosen: Mapping[str, Any]) -> bytes:
    try:
        return enlarge(data, **chosen)
    except BadEnlargement as bad:
        raise out_of_range(bad) from None


class Enlarge(OfPhoto):
    query_parameters = parameters(LOOK)

    @extend_schema(responses={(200, PNG): OpenApiTypes.BINARY}, operation_id="photos_enlarge")
    def get(self, request: Request, pk: int) -> HttpResponse:
        """A box of the picture (PNG): cropped, turned, scaled, and its contrast brought out."""
        chosen = settings_of(request, LOOK)
        return HttpResponse(
            _enlarged(self.picture(pk), chosen), content_type=PNG, headers={"Cache-Control": KEPT}
        )


class EnlargeLight(OfPhoto):
    query_parameters = parameters({**LOOK, **LIGHT})

    @extend_schema(responses={(200, JPEG): OpenApiTypes.BINARY}, operation_id="photos_enlarge_light")
    def get(self, request: Request, pk: int) -> HttpResponse:
        """The same as `enlarge.png` for a slow network (JPEG): in 90 kB unless `kilobytes` says otherwise."""
        chosen = {"kilobytes": USUAL_KILOBYTES, **settings_of(request, {**LOOK, **LIGHT})}
        _refuse_outside("kilobytes", chosen["kilobytes"], FEWEST, MAX_KILOBYTES)
        return HttpResponse(
            _enlarged(self.picture(pk), chosen), content_type=JPEG, headers={"Cache-Control": KEPT}
        )
