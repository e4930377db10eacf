"""`appearance/`: what a wanted part looks like, in words and as a drawing."""

from typing import Any

from django.http import HttpResponse
from drf_spectacular.types import OpenApiTypes
from drf_spectacular.utils import OpenApiExample, OpenApiParameter, extend_schema, extend_schema_serializer
from rest_framework import serializers
from rest_framework.request import Request
from rest_framework.response import Response

from inventory.api.fields import FIGURE, by_member
from inventory.api.lists import bad_query
from inventory.api.problems import BadQuery
from inventory.api.viewsets import Conventions
from inventory.decoding.appearance import Appearance, appearance
from inventory.decoding.appearance_svg import appearance_svg
from inventory.spec import KINDS, Spec, SpecError
from inventory.whole_numbers import whole_number

SVG = "image/svg+xml"
_FIGURES = ("tolerance_percent", "volts", "watts", "amps", "pitch_mm", "speed_ns")
_WORDS = ("number", "dielectric", "package", "lead_style", "safety_class", "make")
WANTED = (
    OpenApiParameter("kind", str, required=True, enum=KINDS),
    OpenApiParameter("value", str, description="Any notation: 4k7, 0.1 µF, 10 µH."),
    *(OpenApiParameter(name, {"type": "string", "pattern": FIGURE}) for name in _FIGURES),
    *(OpenApiParameter(name, {"type": "string", "maxLength": 64}) for name in _WORDS),
    OpenApiParameter("polarised", {"type": "string", "enum": ["true", "false"]}),
    OpenApiParameter(
        "tcr_ppm", {"type": "string", "pattern": FIGURE}, description="Of a resistor: ppm per kelvin."
    ),
)  # fmt: skip
BANDS = OpenApiParameter(
    "bands", {"type": "integer", "minimum": 1, "maximum": 9},
    description="Draw the row with so many bands; else the first possible, or the codes on a label.",
)  # fmt: skip
SHOWN = appearance(Spec.from_dict({"kind": "resistor", "value": "4k7", "tolerance_percent": "5"})).to_dict()


class BandRowSerializer(serializers.Serializer[Any]):
    colours = serializers.ListField(child=serializers.CharField(), help_text="In reading order.")
    meanings = serializers.ListField(child=serializers.CharField())
    notation = serializers.CharField()
    scheme = serializers.CharField(
        allow_blank=True, help_text="`scheme=` with which `decode/` reads it back."
    )
    says = serializers.ListField(child=serializers.CharField(), help_text="The facts that it states.")
    note = serializers.CharField(allow_blank=True, help_text="What is only usual.")


class CodeSerializer(serializers.Serializer[Any]):
    text = serializers.CharField()
    notation = serializers.CharField()
    says = serializers.ListField(child=serializers.CharField())
    note = serializers.CharField(allow_blank=True)


class NeighbourSerializer(serializers.Serializer[Any]):
    """A part easily taken for the wanted one."""

    seen = serializers.CharField()
    text = serializers.CharField()
    why = serializers.CharField()


@extend_schema_serializer(examples=[OpenApiExample("A resistor", SHOWN, response_only=True)])
class AppearanceSerializer(serializers.Serializer[Any]):
    """What to look for.  Everything here reads back to the wanted part."""

    spec_text = serializers.CharField()
    bands = serializers.DictField(
        child=serializers.ListField(child=serializers.CharField()),
        help_text="How many bands -> their colours, in reading order.",
    )
    codes = serializers.ListField(child=serializers.CharField(), help_text="As printed.")
    rows = BandRowSerializer(many=True)
    code_details = CodeSerializer(many=True)
    neighbours = NeighbourSerializer(many=True)
    cautions = serializers.ListField(child=serializers.CharField())


class AppearanceView(Conventions):
    """What a wanted Spec looks like, in words."""

    query_parameters = WANTED

    @extend_schema(responses=AppearanceSerializer, operation_id="appearance")
    def get(self, request: Request) -> Response:
        """Bands, codes, and what is easily confused with it."""
        return Response(_wanted(request).to_dict())


class Drawing(Conventions):
    """What a wanted Spec looks like, as a drawing."""

    query_parameters = [*WANTED, BANDS]

    @extend_schema(responses={(200, SVG): OpenApiTypes.STR}, operation_id="appearance_svg")
    def get(self, request: Request) -> HttpResponse:
        """A body with its bands, each with its letters and name, or a label with the codes (SVG 1.1)."""
        wanted = _wanted(request)
        bands = _bands(request, wanted)
        return HttpResponse(
            appearance_svg(wanted, bands=bands),
            content_type=SVG,
            headers={"Content-Security-Policy": "default-src 'none'"},
        )


def _wanted(request: Request) -> Appearance:
    stated: dict[str, Any] = {name: text for name, text in request.query_params.items() if name != BANDS.name}
    if "tcr_ppm" in stated:
        stated["traits"] = {"tcr_ppm": stated.pop("tcr_ppm")}
    if stated.get("polarised") in ("true", "false"):
        stated["polarised"] = stated["polarised"] == "true"
    try:
        return appearance(Spec.from_dict(stated))
    except SpecError as refused:
        wrong = by_member(refused.problems)
        if isinstance(traits := wrong.pop("traits", None), dict):
            wrong |= traits
        raise BadQuery(wrong) from None


def _bands(request: Request, wanted: Appearance) -> int | None:
    text = request.query_params.get(BANDS.name)
    if text is None:
        return None
    known = sorted({len(row.bands) for row in wanted.rows})
    number = whole_number(text)
    if number not in known:
        listed = " or ".join(map(str, known)) or "none: leave it out to see the codes"
        raise bad_query(BANDS.name, f"rows of {wanted.spec.text} have bands: {listed}")
    return number
