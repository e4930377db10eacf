"""`needs/`: what jobs require, at positions or loose."""

from collections.abc import Mapping
from typing import Any

from django.db.models import F, QuerySet
from django_filters import CharFilter, ModelChoiceFilter
from drf_spectacular.utils import OpenApiExample, extend_schema, extend_schema_serializer
from rest_framework import serializers
from rest_framework.decorators import action
from rest_framework.exceptions import ErrorDetail, ValidationError
from rest_framework.request import Request
from rest_framework.response import Response

from inventory.api.fields import FlatSpecSerializer, RefField, RowField
from inventory.api.lists import AnyOfFilter, YesNoFilter
from inventory.api.several import MAX_ROWS, make_several
from inventory.api.spec_filters import SpecFilters
from inventory.api.versions import claim
from inventory.api.viewsets import NounViewSet
from inventory.models import Board, StoredSpec
from inventory.refusals import Code
from inventory.spec import KINDS, Spec
from repairs import jobs
from repairs.api.fields import PiecesField
from repairs.models import Job, Need

FILM = {"kind": "capacitor", "value": "100n", "volts": "63", "dielectric": "film"}
SENT = {"job": 4, "ref": "C7", **FILM}
ANSWERED = {
    "id": 32, "job": 4, "job_name": "Plover C rebuild", "ref": "C7", "quantity": 1, "promised": 0,
    "fitted": 0, "lacking": 1, "status": "open", "note": "", "version": 1, **Spec.from_dict(FILM).to_dict(),
}  # fmt: skip


class _NeedSerializer(FlatSpecSerializer):
    ref = RefField(required=False, help_text="The position of the job's board; blank: loose.")
    quantity = PiecesField(required=False, help_text="1; more only where it is loose.")
    note = serializers.CharField(required=False, allow_blank=True, max_length=400)

    def validate(self, attrs: dict[str, Any]) -> dict[str, Any]:
        ref = attrs.get("ref", self.instance.ref if self.instance is not None else "")
        quantity = attrs.get("quantity", self.instance.quantity if self.instance is not None else 1)
        if ref and quantity != 1:
            raise ValidationError({"quantity": [ErrorDetail("a position takes one piece", Code.ONE_PIECE)]})
        return attrs


@extend_schema_serializer(examples=[OpenApiExample("A higher rating", {"volts": "100"}, request_only=True)])
class NeedChangeSerializer(_NeedSerializer):
    """What can be changed of a need; dropping it gives its reservations up."""

    status = serializers.ChoiceField(Need.Status.choices, required=False)


@extend_schema_serializer(
    examples=[
        OpenApiExample("As the design says", {"job": 4, "ref": "C7"}, request_only=True),
        OpenApiExample("Narrower than the design", SENT, request_only=True),
        OpenApiExample("A need", ANSWERED, response_only=True),
    ]
)
class NeedSerializer(_NeedSerializer):
    """Without a Spec, a need at a position wants what the design of the job's board says."""

    kind = serializers.ChoiceField(KINDS, required=False)
    id = serializers.IntegerField(read_only=True)
    job = RowField(queryset=Job.objects.select_related("board__design"))
    job_name = serializers.CharField(source="job.name", read_only=True)
    promised = serializers.IntegerField(read_only=True)
    fitted = serializers.IntegerField(read_only=True)
    lacking = serializers.IntegerField(read_only=True)
    status = serializers.ChoiceField(Need.Status.choices, read_only=True)
    version = serializers.IntegerField(read_only=True)

    def _spec(self, sent: Mapping[str, Any]) -> Spec | None:
        stated = sent.keys() - {"value_text", "spec_text"}
        return super()._spec(sent) if stated or not self.initial_data.get("ref") else None


@extend_schema_serializer(
    examples=[
        OpenApiExample("Two needs", {"rows": [SENT, {"job": 4, "ref": "R7"}]}, request_only=True),
        OpenApiExample("Two needs", {"rows": [ANSWERED, {**ANSWERED, "id": 33}]}, response_only=True),
    ]
)
class SeveralNeedsSerializer(serializers.Serializer[Any]):
    rows = serializers.ListField(child=NeedSerializer(), min_length=1, max_length=MAX_ROWS)


class NeedFilters(SpecFilters):
    job = ModelChoiceFilter(queryset=Job.objects.all())
    board = ModelChoiceFilter(field_name="job__board", queryset=Board.objects.all())
    ref = CharFilter()
    status = AnyOfFilter(choices=Need.Status.choices)
    lacking = YesNoFilter(method="still_lacking", help_text="Pieces are neither reserved nor fitted yet.")

    class Meta:
        model = Need
        fields: list[str] = []

    def still_lacking(self, rows: QuerySet[Any], name: str, wanted: bool) -> QuerySet[Any]:
        return rows.filter(lacking__gt=0) if wanted else rows.filter(lacking=0)


class NeedViewSet(NounViewSet):
    """What jobs require."""

    model = Need
    http_method_names = ["get", "head", "post", "patch", "delete"]
    serializer_class = NeedSerializer
    change_serializer_class = NeedChangeSerializer
    filterset_class = NeedFilters
    search_texts = ("ref", "spec__text", "spec__number", "note", "job__name")
    search_spec = "spec__"
    orderings = {
        "job": "job", "ref": "ref", "kind": "spec__kind", "value": "spec__value", "number": "spec__number",
        "lacking": "lacking",
    }  # fmt: skip

    def get_queryset(self) -> QuerySet[Need]:
        return Need.objects.select_related("spec", "job").annotate(
            lacking=F("quantity") - F("promised") - F("fitted")
        )

    @extend_schema(request=SeveralNeedsSerializer, responses={201: SeveralNeedsSerializer})
    @action(detail=False, methods=["post"])
    def several(self, request: Request) -> Response:
        """Add several needs, of one job or of many: all of them, or none and why, by row."""
        return make_several(self, request)

    def make(self, data: dict[str, Any]) -> Need:
        job = data.pop("job")
        if "spec" in data:
            return jobs.add_need(job, **data)
        [need] = jobs.add_needs(job, [data["ref"]], by=self.person)
        if data.get("note"):
            claim(need, note=data["note"])
        return need

    def change(self, row: Need, data: dict[str, Any]) -> None:
        status = data.pop("status", row.status)
        if "spec" in data:
            data["spec"] = StoredSpec.keep(data["spec"])
        jobs.refuse_need_change(row, **data)
        if data:
            claim(row, **data)
        if status == Need.Status.DROPPED != row.status:
            jobs.drop_need(row)
        elif status != row.status:
            claim(row, status=status)

    def remove(self, row: Need) -> None:
        jobs.forget_need(row)
