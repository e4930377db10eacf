"""`substitutions/`: what served, or did not serve, for what, and where."""

from typing import Any

from django.db.models import Q, QuerySet
from django_filters import CharFilter, ModelChoiceFilter, MultipleChoiceFilter
from drf_spectacular.utils import OpenApiExample, extend_schema_serializer
from rest_framework import serializers
from rest_framework.exceptions import ErrorDetail, ValidationError

from inventory.api.fields import RefField, RowField, SpecSerializer, StrictSerializer
from inventory.api.lists import AskedFilters
from inventory.api.versions import claim
from inventory.api.viewsets import NounViewSet
from inventory.models import Design, Lot
from inventory.refusals import Code
from inventory.spec import KINDS, Spec
from inventory.spec.recorded import EVIDENCE, WAYS
from repairs import substitutions
from repairs.models import Trial
from repairs.proving_models import Substitution

_WANTED = {"kind": "transistor", "number": "2N3904"}
_OFFERED = {"kind": "transistor", "number": "BC547"}
SENT = {
    "required": _WANTED, "offered": _OFFERED, "design": 4, "ref": "TR2", "evidence": "seen_working",
    "way": "turned_round", "note": "gain 210, no ringing",
}  # fmt: skip
CROSSED = {
    "required": _WANTED, "offered": {"kind": "transistor", "number": "2SC1815"}, "evidence": "data_sheet",
    "way": "legs_crossed", "pin_map": "E=E, C=B, B=C",
}  # fmt: skip
FROM_A_TRIAL = {"trial": 14, "note": "ran through the night"}
ANSWERED = {
    "id": 3, "required": Spec.from_dict(_WANTED).to_dict(), "offered": Spec.from_dict(_OFFERED).to_dict(),
    "design": 4, "design_name": "Plover timer B", "ref": "TR2", "evidence": "seen_working",
    "way": "turned_round", "pin_map": "", "note": "gain 210, no ringing", "trial": None,
    "text": "seen working (robin); turned round; gain 210, no ringing", "by": "robin",
    "at": "2026-11-20T20:15:00Z", "version": 1,
}  # fmt: skip


class PinMapField(serializers.CharField):
    """`E=C, B=B, C=E`: which leg of the offered part goes where."""

    def to_internal_value(self, data: Any) -> str:
        text: str = super().to_internal_value(data)
        try:
            return substitutions.read_pin_map(text)
        except ValueError as refused:
            raise ValidationError([ErrorDetail(str(refused), Code.UNREADABLE)]) from None


class _SubstitutionSerializer(StrictSerializer):
    evidence = serializers.ChoiceField(
        EVIDENCE, required=False, help_text="Left out only with a trial that passed."
    )
    way = serializers.ChoiceField(WAYS, required=False, help_text="How the offered part goes in.")
    pin_map = PinMapField(
        required=False, allow_blank=True, max_length=200,
        help_text="Leg of the offered part = hole of the required one: E=C, B=B, C=E.  Needed where crossed.",
    )  # fmt: skip
    note = serializers.CharField(required=False, allow_blank=True, max_length=400)


@extend_schema_serializer(
    examples=[OpenApiExample("It does not serve after all", {"evidence": "refuted"}, request_only=True)]
)
class SubstitutionChangeSerializer(_SubstitutionSerializer):
    """What can be changed; what it is of stays."""


@extend_schema_serializer(
    examples=[
        OpenApiExample("At one position", SENT, request_only=True),
        OpenApiExample("Anywhere, legs crossed", CROSSED, request_only=True),
        OpenApiExample("From a trial", FROM_A_TRIAL, request_only=True),
        OpenApiExample("At one position", ANSWERED, response_only=True),
    ]
)
class SubstitutionSerializer(_SubstitutionSerializer):
    """It holds of every part and place that has what its two Specs state: a kind and a number, or more.

    With a `trial` in a position of a board, what is left out is taken from the trial.
    """

    id = serializers.IntegerField(read_only=True)
    required = SpecSerializer(required=False)  # type: ignore[assignment]
    offered = SpecSerializer(required=False)
    lot = RowField(
        queryset=Lot.objects.select_related("part__spec"), required=False, write_only=True,
        help_text="Instead of `offered`: a lot of such parts.",
    )  # fmt: skip
    design = RowField(
        queryset=Design.objects.all(), required=False, allow_null=True, help_text="null: anywhere."
    )
    design_name = serializers.SerializerMethodField(help_text="Blank: anywhere.")
    ref = RefField(required=False, help_text="The position; blank: all over the design.")
    trial = RowField(
        queryset=Trial.objects.select_related("record__board__design"), required=False, allow_null=True
    )
    text = serializers.SerializerMethodField(help_text="The evidence, the legs and the note, as one line.")
    by = serializers.CharField(source="by.username", read_only=True, default=None, allow_null=True)
    at = serializers.DateTimeField(read_only=True)
    version = serializers.IntegerField(read_only=True)

    def get_design_name(self, row: Substitution) -> str:
        return str(row.design) if row.design is not None else ""

    def get_text(self, row: Substitution) -> str:
        return substitutions.record_of(row).text

    def validate(self, attrs: dict[str, Any]) -> dict[str, Any]:
        lot = attrs.pop("lot", None)
        if lot is not None and "offered" in attrs:
            raise ValidationError(
                {"lot": [ErrorDetail("expected offered or a lot, not both", Code.CONTRADICTION)]}
            )
        if lot is not None:
            attrs["offered"] = lot.part.spec.spec
        if attrs.get("trial") is None:
            absent = [name for name in ("required", "offered", "evidence") if name not in attrs]
            if absent:
                errors = [ErrorDetail("is required without a trial that says it", Code.REQUIRED)]
                raise ValidationError(dict.fromkeys(absent, errors))
        return attrs


class SubstitutionFilters(AskedFilters):
    kind = MultipleChoiceFilter(field_name="required__kind", choices=[(kind, kind) for kind in KINDS])
    number = CharFilter(method="of_number", help_text="The type number of either part.")
    design = ModelChoiceFilter(
        queryset=Design.objects.all(), method="on_design", help_text="Those that may hold on it."
    )
    ref = CharFilter(help_text="Those of this position.")
    evidence = MultipleChoiceFilter(choices=[(word, word) for word in EVIDENCE])
    trial = ModelChoiceFilter(queryset=Trial.objects.all())

    class Meta:
        model = Substitution
        fields: list[str] = []

    def of_number(self, rows: QuerySet[Any], name: str, wanted: str) -> QuerySet[Any]:
        return rows.filter(Q(required__number__iexact=wanted) | Q(offered__number__iexact=wanted))

    def on_design(self, rows: QuerySet[Any], name: str, wanted: Design) -> QuerySet[Any]:
        return rows.filter(Q(design=wanted) | Q(design=None))


class SubstitutionViewSet(NounViewSet):
    """Substitutions that people recorded: the plan, the checks and whoever fits a part go by them."""

    model = Substitution
    http_method_names = ["get", "head", "post", "patch", "delete"]
    serializer_class = SubstitutionSerializer
    change_serializer_class = SubstitutionChangeSerializer
    filterset_class = SubstitutionFilters
    search_texts = ("required__text", "offered__text", "note", "ref", "design__name")
    orderings = {
        "required": "required__text", "offered": "offered__text", "design": "design__name", "ref": "ref",
        "evidence": "evidence", "at": "at",
    }  # fmt: skip

    def get_queryset(self) -> QuerySet[Substitution]:
        return Substitution.objects.select_related("required", "offered", "design", "by")

    def make(self, data: dict[str, Any]) -> Substitution:
        return substitutions.record(by=self.person, **data)

    def change(self, row: Substitution, data: dict[str, Any]) -> None:
        claim(row, **substitutions.change(row, **data))
