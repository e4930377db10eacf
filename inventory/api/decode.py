"""`decode/`: what a marking or a row of bands may mean, and the colour schemes that can be named."""

from collections.abc import Iterator
from typing import Any

from drf_spectacular.utils import OpenApiExample, extend_schema, extend_schema_serializer
from rest_framework import serializers
from rest_framework.generics import GenericAPIView
from rest_framework.request import Request
from rest_framework.response import Response

from inventory.api.lists import Pages
from inventory.api.questions import (
    BANDS,
    EVIDENCE,
    MARKING,
    SCHEME,
    ReadingsSerializer,
    answered,
    asked,
    example,
)
from inventory.api.viewsets import Conventions
from inventory.decoding.band_reader import BAND_SCHEMES
from inventory.decoding.bands import Scheme
from inventory.spec import KINDS


class Decode(Conventions):
    """Readings of a marking or of colours, ranked, each with its reasons."""

    query_parameters = [MARKING, BANDS, *EVIDENCE, SCHEME]

    @extend_schema(
        responses=ReadingsSerializer,
        operation_id="decode",
        examples=[
            OpenApiExample("Four bands", example(bands="yellow,violet,red,gold", kind="resistor")),
            OpenApiExample(
                "Two conventions", example(marking="100", kind="capacitor", body="old tubular ceramic")
            ),
        ],
    )
    def get(self, request: Request) -> Response:
        """Every meaning that fits, best first.  What the bench holds and open needs want is evidence too."""
        return Response(answered(asked(request)).to_dict())


class LayoutSerializer(serializers.Serializer[Any]):
    bands = serializers.IntegerField(help_text="How many bands, dots or coloured parts.")
    places = serializers.ListField(
        child=serializers.CharField(), help_text="What each says, in reading order."
    )
    either_end = serializers.BooleanField(help_text="Nothing marks the end to begin at: both are tried.")


def _schemes() -> Iterator[dict[str, Any]]:
    by_name: dict[str, list[Scheme]] = {}
    for scheme in BAND_SCHEMES:
        by_name.setdefault(scheme.notation.name, []).append(scheme)
    for name, schemes in by_name.items():
        first = schemes[0]
        yield {
            "name": name,
            "kind": first.notation.kind,
            "standard": first.notation.standard,
            "words": list(dict.fromkeys(word for scheme in schemes for word in scheme.keywords)),
            "layouts": [_layout(scheme) for scheme in schemes],
        }


def _layout(scheme: Scheme) -> dict[str, Any]:
    places = [place.role for place in scheme.places]
    return {"bands": len(places), "places": places, "either_end": scheme.either_end}


SCHEMES = list(_schemes())
BEAD = next(scheme for scheme in SCHEMES if "bead" in scheme["words"])


@extend_schema_serializer(examples=[OpenApiExample("Tantalum bead", BEAD, response_only=True)])
class SchemeSerializer(serializers.Serializer[Any]):
    name = serializers.CharField()
    kind = serializers.ChoiceField(KINDS)
    standard = serializers.CharField()
    words = serializers.ListField(
        child=serializers.CharField(),
        help_text="Any of these in `scheme=` names it; where there are none, `kind=` does.",
    )
    layouts = LayoutSerializer(many=True)


class Schemes(Conventions, GenericAPIView):  # type: ignore[type-arg]
    """Colour schemes, as `scheme=` of `decode/` takes them."""

    serializer_class = SchemeSerializer
    pagination_class = Pages
    filter_backends = ()

    def known_parameters(self) -> tuple[set[str], set[str]]:
        return {"page", "page_size"}, set()

    @extend_schema(responses=SchemeSerializer(many=True), operation_id="decode_schemes_list")
    def get(self, request: Request) -> Response:
        """Every colour scheme that is read here."""
        return self.get_paginated_response(self.paginate_queryset(SCHEMES))
