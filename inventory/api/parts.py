"""`parts/`: Specs that the bench knows by name, with what is free of them."""

from typing import Any

from django.db.models import QuerySet
from drf_spectacular.utils import OpenApiExample, extend_schema_serializer
from rest_framework import serializers

from inventory.api.fields import FlatSpecSerializer
from inventory.api.problems import Refusal
from inventory.api.spec_filters import SpecFilters
from inventory.api.versions import claim
from inventory.api.viewsets import NounViewSet
from inventory.models import Part, StoredSpec
from inventory.refusals import Code
from inventory.spec import Spec
from inventory.stock import with_totals
from inventory.whole_numbers import MAX_PIECES

FILM = {"kind": "capacitor", "value": "100n", "volts": "63", "dielectric": "film", "lead_style": "radial"}
OWN = {"name": "bypass, red box", "price": "0.08", "pack_size": 10, "reorder_at": 20, "note": ""}
SENT = {**FILM, **OWN}
ANSWERED = {"id": 12, **OWN, "free": 31, "promised": 4, "version": 1, **Spec.from_dict(FILM).to_dict()}


@extend_schema_serializer(
    examples=[
        OpenApiExample("A film capacitor", SENT, request_only=True),
        OpenApiExample("A film capacitor", ANSWERED, response_only=True),
    ]
)
class PartSerializer(FlatSpecSerializer):
    id = serializers.IntegerField(read_only=True)
    name = serializers.CharField(required=False, max_length=200, help_text="Left out: the one-line reading.")
    price = serializers.DecimalField(
        max_digits=12, decimal_places=4, min_value=0, normalize_output=True, required=False, allow_null=True,
        help_text="A guess, for one piece.",
    )  # fmt: skip
    pack_size = serializers.IntegerField(required=False, min_value=1, max_value=MAX_PIECES)
    reorder_at = serializers.IntegerField(required=False, allow_null=True, min_value=0, max_value=MAX_PIECES)
    note = serializers.CharField(required=False, allow_blank=True, max_length=4000)
    free = serializers.IntegerField(
        read_only=True, help_text="Pieces at hand or on donors that are not reserved."
    )
    promised = serializers.IntegerField(read_only=True)
    version = serializers.IntegerField(read_only=True)


class PartFilters(SpecFilters):
    class Meta:
        model = Part
        fields: list[str] = []


class PartViewSet(NounViewSet):
    """Specs that the bench knows by name."""

    model = Part
    serializer_class = PartSerializer
    filterset_class = PartFilters
    search_texts = ("name", "spec__text", "spec__number", "note")
    search_spec = "spec__"
    orderings = {
        "name": "name", "kind": "spec__kind", "value": "spec__value", "number": "spec__number",
        "price": "price", "free": "free",
    }  # fmt: skip

    def get_queryset(self) -> QuerySet[Part]:
        return with_totals(Part.objects.select_related("spec"))

    def make(self, data: dict[str, Any]) -> Part:
        spec: Spec = data.pop("spec")
        return Part.objects.create(spec=_unnamed(spec), **{"name": spec.text[:200], **data})

    def change(self, row: Part, data: dict[str, Any]) -> None:
        if "spec" in data:
            data["spec"] = _unnamed(data["spec"], row)
        claim(row, **data)


def _unnamed(spec: Spec, but: Part | None = None) -> StoredSpec:
    """The row of a Spec that no other part has; a conflict that names the part otherwise."""
    stored = StoredSpec.keep(spec)
    known = Part.objects.filter(spec=stored).first()
    if known is not None and known != but:
        raise Refusal(f"part {known.pk}, {known}, has this Spec already", code=Code.TAKEN, part=known.pk)
    return stored
