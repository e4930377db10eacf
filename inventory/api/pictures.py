"""What a photo shows: the picture itself, parts of it enlarged, and what is read off it."""

from collections.abc import Callable, Mapping
from typing import Any, NamedTuple

from django.http import HttpResponse
from django.shortcuts import get_object_or_404
from drf_spectacular.types import OpenApiTypes
from drf_spectacular.utils import OpenApiExample, OpenApiParameter, OpenApiResponse, extend_schema
from rest_framework import serializers
from rest_framework.exceptions import ErrorDetail, NotFound
from rest_framework.request import Request
from rest_framework.response import Response

from inventory import ocr, photos
from inventory.api.lists import bad_query
from inventory.api.problems import MEDIA_TYPE, BadQuery, Problem, Refusal
from inventory.api.questions import EVIDENCE, SCHEME, ReadingsSerializer, asked, example
from inventory.api.schema import ProblemSerializer
from inventory.api.viewsets import Conventions
from inventory.band_colours import BadLine
from inventory.enhance import CHANNELS, KEPT_SIDE, READABLE, BadEnlargement, enlarge
from inventory.models import Photo
from inventory.picture_reading import MOST_PROPOSALS, read_bands, read_print
from inventory.renditions import FEWEST, SMALLEST

JPEG, PNG = "image/jpeg", "image/png"
KEPT = "private, max-age=86400, immutable"
"""A photo's picture never changes: the browser of whoever saw it may keep it for a day."""


class OfPhoto(Conventions):
    """An address under `photos/{id}`."""

    def picture(self, pk: int, of: Callable[[Photo], bytes] = photos.data_of) -> bytes:
        try:
            return of(get_object_or_404(Photo, pk=pk))
        except photos.PhotoLost as lost:
            raise NotFound(str(lost)) from None


# --- settings


def _whole(text: str) -> int:
    if not (text.isascii() and text.isdigit() and len(text) < 7):
        raise ValueError("want a whole number of pixels")
    return int(text)


def _figure(text: str) -> float:
    try:
        if len(text) < 40:
            return float(text)
    except ValueError:
        pass
    raise ValueError("want a number")


def _amount(name: str) -> Callable[[str], float]:
    """Reads a figure; `true` is the usual one and `false` none."""
    said = {"true": float(READABLE[name]), "false": 0.0}

    def read(text: str) -> float:
        return said[text] if text in said else _figure(text)

    return read


def _yes_or_no(text: str) -> bool:
    if text not in ("true", "false", "1", "0"):
        raise ValueError("want true or false")
    return text in ("true", "1")


class Setting(NamedTuple):
    read: Callable[[str], Any]
    schema: Mapping[str, Any]
    about: str


_PIXELS = {"type": "integer", "minimum": 0}


def _between(low: float, high: float) -> dict[str, Any]:
    return {"type": "number", "minimum": low, "maximum": high}


BOX = {
    "x": Setting(_whole, _PIXELS, "Left edge of the box, in pixels of the picture."),
    "y": Setting(_whole, _PIXELS, "Its upper edge."),
    "w": Setting(_whole, {**_PIXELS, "minimum": 1}, "Its width; left out: to the edge of the picture."),
    "h": Setting(_whole, {**_PIXELS, "minimum": 1}, "Its height; left out: to the edge."),
    "rotate": Setting(_figure, _between(-360, 360), "Degrees anticlockwise."),
}
LOOK = {
    **BOX,
    "scale": Setting(_figure, _between(0.1, 16), "How many times as large."),
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


def _parameters(settings: Mapping[str, Setting], *, required: bool = False) -> list[OpenApiParameter]:
    return [
        OpenApiParameter(name, dict(setting.schema), required=required, description=setting.about)
        for name, setting in settings.items()
    ]


def _chosen(request: Request, settings: Mapping[str, Setting]) -> dict[str, Any]:
    """What the parameters set; BadQuery names each that cannot be read."""
    chosen, wrong = {}, {}
    for name, setting in settings.items():
        if name in request.query_params:
            try:
                chosen[name] = setting.read(request.query_params[name])
            except ValueError as unread:
                wrong[name] = [ErrorDetail(str(unread), "unreadable")]
    if wrong:
        raise BadQuery(wrong)
    return chosen


# --- the whole, and boxes of it enlarged

USUAL_KILOBYTES, MOST_KILOBYTES = 90, 10_000
LIGHT = {
    "kilobytes": Setting(
        _whole,
        {"type": "integer", "minimum": FEWEST, "maximum": MOST_KILOBYTES},
        "A JPEG of at most so many kB (of 1000 bytes): coarser, and at last smaller, until it is that light.",
    )
}
WHOLE = {
    "longest": Setting(
        _whole,
        {"type": "integer", "minimum": SMALLEST, "maximum": KEPT_SIDE},
        "Brought down to so many pixels on its longer side; never larger than it is.",
    ),
    **LIGHT,
}


def _refuse_outside(name: str, given: int | None, least: int, most: int) -> None:
    if given is not None and not least <= given <= most:
        raise bad_query(name, f"{given} is not between {least} and {most}", "out_of_range")


class Image(OfPhoto):
    query_parameters = _parameters(WHOLE)

    @extend_schema(responses={(200, JPEG): OpenApiTypes.BINARY}, operation_id="photos_image")
    def get(self, request: Request, pk: int) -> HttpResponse:
        """The whole picture (JPEG)."""
        chosen = _chosen(request, WHOLE)
        longest, kilobytes = chosen.get("longest", KEPT_SIDE), chosen.get("kilobytes")
        _refuse_outside("longest", longest, SMALLEST, KEPT_SIDE)
        _refuse_outside("kilobytes", kilobytes, FEWEST, MOST_KILOBYTES)
        shown = self.picture(pk, lambda photo: photos.small_of(photo, longest, kilobytes))
        return HttpResponse(shown, content_type=JPEG, headers={"Cache-Control": KEPT})


def _out_of_range(bad: BadEnlargement) -> BadQuery:
    return BadQuery({name: [ErrorDetail(detail, "out_of_range")] for name, detail in bad.problems})


def _enlarged(data: bytes, chosen: Mapping[str, Any]) -> bytes:
    try:
        return enlarge(data, **chosen)
    except BadEnlargement as bad:
        raise _out_of_range(bad) from None


class Enlarge(OfPhoto):
    query_parameters = _parameters(LOOK)

    @extend_schema(responses={(200, PNG): OpenApiTypes.BINARY}, operation_id="photos_enlarge")
    def get(self, request: Request, pk: int) -> HttpResponse:
        """A box of the picture (PNG): cropped, turned, scaled, and its contrast brought out."""
        chosen = _chosen(request, LOOK)
        return HttpResponse(
            _enlarged(self.picture(pk), chosen), content_type=PNG, headers={"Cache-Control": KEPT}
        )


class EnlargeLight(OfPhoto):
    query_parameters = _parameters({**LOOK, **LIGHT})

    @extend_schema(responses={(200, JPEG): OpenApiTypes.BINARY}, operation_id="photos_enlarge_light")
    def get(self, request: Request, pk: int) -> HttpResponse:
        """The same as `enlarge.png` for a slow network (JPEG): in 90 kB unless `kilobytes` says otherwise."""
        chosen = {"kilobytes": USUAL_KILOBYTES, **_chosen(request, {**LOOK, **LIGHT})}
        _refuse_outside("kilobytes", chosen["kilobytes"], FEWEST, MOST_KILOBYTES)
        return HttpResponse(
            _enlarged(self.picture(pk), chosen), content_type=JPEG, headers={"Cache-Control": KEPT}
        )


# --- read


class OcrMissing(Refusal):
    code = "ocr_not_installed"


_NO_OCR = Problem(
    409, str(ocr.OcrNotInstalled()), OcrMissing.code, facts={"install": 'pip install -e ".[ocr]"'}
)
_READ = example(marking="104K", kind="capacitor")


class ProposalSerializer(ReadingsSerializer):
    """Text that may be there, and its readings."""

    text = serializers.CharField(help_text="Doubtful characters as `decode/` takes them: `?`, `[38]`.")
    confidence = serializers.FloatField(help_text="The recogniser's own, 0 to 1: of 0.9 one in ten is wrong.")
    rotation = serializers.IntegerField(help_text="Degrees anticlockwise at which it reads so.")


class ProposalsSerializer(serializers.Serializer[Any]):
    """To be confirmed by a person, never to be booked as they are."""

    proposals = ProposalSerializer(many=True, help_text=f"Likeliest first, at most {MOST_PROPOSALS}.")


class Read(OfPhoto):
    query_parameters = [*_parameters(BOX), *EVIDENCE]

    @extend_schema(
        responses={
            200: ProposalsSerializer,
            (409, MEDIA_TYPE): OpenApiResponse(
                ProblemSerializer, "The extra is not installed",
                [OpenApiExample("Not installed", _NO_OCR.body(), status_codes=["409"])],
            ),
        },
        operation_id="photos_read",
        examples=[
            OpenApiExample(
                "A disc",
                {"proposals": [{"text": "104K", "confidence": 0.97, "rotation": 90, **_READ}]},
                response_only=True, status_codes=["200"],
            ),
        ],
    )  # fmt: skip
    def get(self, request: Request, pk: int) -> Response:
        """Text proposed from the picture or a box of it, the four ways up, each with its ranked readings."""
        chosen = _chosen(request, BOX)
        asked(request, marking="?")  # what is wrong with the evidence is said before the slow part
        data = self.picture(pk)
        try:
            found = read_print(data, chosen, lambda text: asked(request, marking=text))
        except ocr.OcrNotInstalled:
            raise OcrMissing(_NO_OCR.detail, **_NO_OCR.facts) from None
        except BadEnlargement as bad:
            raise _out_of_range(bad) from None
        return Response({"proposals": [{**each._asdict(), **told.to_dict()} for each, told in found]})


class BandSerializer(serializers.Serializer[Any]):
    at = serializers.FloatField(help_text="Its middle, as a fraction of the way from the first end.")
    width = serializers.FloatField(help_text="As a fraction of the way.")
    colours = serializers.ListField(child=serializers.CharField(), help_text="Likeliest first.")
    seen = serializers.ListField(child=serializers.IntegerField(), help_text="sRGB as measured.")


class BandsSerializer(ReadingsSerializer):
    """Colours proposed, and the decoder's readings of them; look whether they are right."""

    bands = BandSerializer(many=True)
    text = serializers.CharField(allow_blank=True, help_text="As `bands=` of `decode/` takes it.")
    body = serializers.ListField(child=serializers.IntegerField(), help_text="The body's sRGB.")
    white_found = serializers.BooleanField(help_text="White paper beside it gave the colour of the light.")
    picture_cautions = serializers.ListField(child=serializers.CharField())


_FOUR = ("yellow", "violet", "red", "gold")
_ENDS = ("x1", "y1", "x2", "y2")
ENDS = {
    name: Setting(_figure, {"type": "number", "minimum": 0}, f"The {which} end of the body, in pixels.")
    for name, which in zip(_ENDS, ("first", "first", "second", "second"), strict=True)
}


class Bands(OfPhoto):
    query_parameters = [*_parameters(ENDS, required=True), *EVIDENCE, SCHEME]

    @extend_schema(
        responses=BandsSerializer,
        operation_id="photos_bands",
        examples=[
            OpenApiExample(
                "A resistor",
                {
                    "bands": [
                        {"at": 0.2 + place / 5, "width": 0.08, "colours": [colour], "seen": [180, 120, 60]}
                        for place, colour in enumerate(_FOUR)
                    ],
                    "text": ",".join(_FOUR), "body": [228, 207, 166], "white_found": True,
                    "picture_cautions": [],
                    **example(bands=",".join(_FOUR), kind="resistor"),
                },
            )
        ],
    )  # fmt: skip
    def get(self, request: Request, pk: int) -> Response:
        """Colours of the bands between two ends of a body, proposed from the picture, and their readings."""
        ends = _chosen(request, ENDS)
        if missing := [name for name in _ENDS if name not in ends]:
            raise BadQuery({name: [ErrorDetail("say both ends of the body", "required")] for name in missing})
        asked(request, bands="?")
        try:
            seen, told = read_bands(
                self.picture(pk), (ends["x1"], ends["y1"]), (ends["x2"], ends["y2"]),
                lambda text: asked(request, bands=text),
            )  # fmt: skip
        except BadLine as bad:
            raise bad_query("x1", str(bad), "out_of_range") from None
        return Response(
            {
                "bands": [
                    {
                        "at": each.at,
                        "width": each.width,
                        "colours": list(each.colours),
                        "seen": list(each.seen),
                    }
                    for each in seen.bands
                ],
                "text": seen.text,
                "body": list(seen.body),
                "white_found": seen.white_found,
                "picture_cautions": list(seen.cautions),
                **told.to_dict(),
            }
        )
