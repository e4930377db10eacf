"""What is read off a photo: print, and the colours of bands, each with its readings."""

from typing import Any

from drf_spectacular.utils import OpenApiExample, OpenApiResponse, extend_schema
from rest_framework import serializers
from rest_framework.exceptions import ErrorDetail
from rest_framework.request import Request
from rest_framework.response import Response

from inventory.api.lists import bad_query
from inventory.api.photo_settings import (
    ALSO,
    BOX,
    OfPhoto,
    Setting,
    figure,
    out_of_range,
    parameters,
    settings_of,
)
from inventory.api.problems import MEDIA_TYPE, BadQuery, Problem, Refusal
from inventory.api.questions import EVIDENCE, SCHEME, ReadingsSerializer, asked, example
from inventory.api.schema import ProblemSerializer
from inventory.pictures.along_body import BadLine
from inventory.pictures.enlarging import BadEnlargement
from inventory.pictures.printed_text import TOO_FEW, WHAT_TO_TRY
from inventory.pictures.reading import MAX_PROPOSALS, bands_answer, print_answer, read_bands, read_print
from inventory.pictures.recogniser import OcrNotInstalled
from inventory.refusals import Code


class OcrMissing(Refusal):
    code = Code.OCR_NOT_INSTALLED


_NO_OCR = Problem(409, str(OcrNotInstalled()), OcrMissing.code, facts={"install": 'pip install -e ".[ocr]"'})
_READ = example(marking="104K", kind="capacitor")


class ProposalSerializer(ReadingsSerializer):
    """Text that may be there, and its readings."""

    text = serializers.CharField(help_text="Doubtful characters as `decode/` takes them: `?`, `[38]`.")
    confidence = serializers.FloatField(help_text="The recogniser's own, 0 to 1: of 0.9 one in ten is wrong.")
    rotation = serializers.IntegerField(help_text="Degrees anticlockwise at which it reads so.")


class ProposalsSerializer(serializers.Serializer[Any]):
    """To be confirmed by a person, never to be booked as they are."""

    proposals = ProposalSerializer(many=True, help_text=f"Likeliest first, at most {MAX_PROPOSALS}.")
    why_not = serializers.CharField(
        allow_blank=True, help_text="Why there are none: no print was found, or too little of it."
    )
    what_to_try = serializers.ListField(child=serializers.CharField(), help_text="Where there are none.")
    picture_cautions = serializers.ListField(child=serializers.CharField())


class Read(OfPhoto):
    query_parameters = [*parameters({**BOX, **ALSO}), *EVIDENCE]

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
                {
                    "proposals": [{"text": "104K", "confidence": 0.97, "rotation": 90, **_READ}],
                    "why_not": "", "what_to_try": [], "picture_cautions": [],
                },
                response_only=True, status_codes=["200"],
            ),
            OpenApiExample(
                "No print found",
                {
                    "proposals": [], "why_not": TOO_FEW, "what_to_try": list(WHAT_TO_TRY),
                    "picture_cautions": [],
                },
                response_only=True, status_codes=["200"],
            ),
        ],
    )  # fmt: skip
    def get(self, request: Request, pk: int) -> Response:
        """Text proposed from the picture or a box of it, the four ways up, each with its ranked readings."""
        chosen = settings_of(request, {**BOX, **ALSO})
        asked(request, marking="?")  # what is wrong with the evidence is said before the slow part
        pictures = self.pictures(pk, chosen.pop("also", []))
        try:
            found, decoded = read_print(pictures, chosen, lambda text: asked(request, marking=text))
        except OcrNotInstalled:
            raise OcrMissing(_NO_OCR.detail, **_NO_OCR.facts) from None
        except BadEnlargement as bad:
            raise out_of_range(bad) from None
        return Response(print_answer(found, decoded))


class BandSerializer(serializers.Serializer[Any]):
    at = serializers.FloatField(help_text="Its middle, as a fraction of the way from the first end.")
    width = serializers.FloatField(help_text="As a fraction of the way.")
    colours = serializers.ListField(
        child=serializers.CharField(), help_text="Likeliest first; none where glare hides it."
    )
    shares = serializers.ListField(child=serializers.FloatField(), help_text="How likely each is, 0 to 1.")
    seen = serializers.ListField(child=serializers.IntegerField(), help_text="sRGB as measured.")


class BandsSerializer(ReadingsSerializer):
    """Colours proposed, and the decoder's readings of them; look whether they are right."""

    bands = BandSerializer(many=True)
    text = serializers.CharField(allow_blank=True, help_text="As `bands=` of `decode/` takes it.")
    body = serializers.ListField(child=serializers.IntegerField(), help_text="The body's sRGB.")
    white_found = serializers.BooleanField(help_text="White paper beside it gave the colour of the light.")
    glare = serializers.BooleanField(help_text="Glare lies on the body; the cautions say where it matters.")
    picture_cautions = serializers.ListField(child=serializers.CharField())


_FOUR = ("yellow", "violet", "red", "gold")
_ENDS = ("x1", "y1", "x2", "y2")
ENDS = {
    name: Setting(figure, {"type": "number", "minimum": 0}, f"The {which} end of the body, in pixels.")
    for name, which in zip(_ENDS, ("first", "first", "second", "second"), strict=True)
}


class Bands(OfPhoto):
    query_parameters = [*parameters(ENDS, required=True), *parameters(ALSO), *EVIDENCE, SCHEME]

    @extend_schema(
        responses=BandsSerializer,
        operation_id="photos_bands",
        examples=[
            OpenApiExample(
                "A resistor",
                {
                    "bands": [
                        {
                            "at": 0.2 + place / 5, "width": 0.08, "colours": [colour], "shares": [0.99],
                            "seen": [180, 120, 60],
                        }
                        for place, colour in enumerate(_FOUR)
                    ],
                    "text": ",".join(_FOUR), "body": [228, 207, 166], "white_found": True, "glare": False,
                    "picture_cautions": [],
                    **example(bands=",".join(_FOUR), kind="resistor"),
                },
            )
        ],
    )  # fmt: skip
    def get(self, request: Request, pk: int) -> Response:
        """Colours of the bands between two ends of a body, proposed from the picture, and their readings."""
        ends = settings_of(request, {**ENDS, **ALSO})
        if missing := [name for name in _ENDS if name not in ends]:
            raise BadQuery(
                {name: [ErrorDetail("say both ends of the body", Code.REQUIRED)] for name in missing}
            )
        asked(request, bands="?")
        try:
            seen, decoded = read_bands(
                self.pictures(pk, ends.get("also", [])), (ends["x1"], ends["y1"]), (ends["x2"], ends["y2"]),
                lambda text: asked(request, bands=text),
            )  # fmt: skip
        except BadLine as bad:
            raise bad_query("x1", str(bad), Code.OUT_OF_RANGE) from None
        return Response(bands_answer(seen, decoded))
