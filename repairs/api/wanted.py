"""`lots/{id}/wanted/`: the open needs that a lot would serve."""

from typing import Any

from django.shortcuts import get_object_or_404
from drf_spectacular.utils import OpenApiExample, extend_schema, extend_schema_serializer
from rest_framework import serializers
from rest_framework.generics import GenericAPIView
from rest_framework.request import Request
from rest_framework.response import Response

from inventory.api.designs import ReasonSerializer
from inventory.api.lists import Pages
from inventory.api.viewsets import Conventions
from inventory.models import Lot
from inventory.spec import GRADES, Spec, fits
from repairs import wanted
from repairs.api.fields import reasons

_FILM, _HIGHER = (
    Spec.from_dict({"kind": "capacitor", "value": "100n", "volts": volts, "dielectric": "film"})
    for volts in ("63", "100")
)
ANSWERED = {
    "need": 32, "job": 4, "job_name": "Plover C rebuild", "priority": 2, "due": "2026-12-20", "ref": "C7",
    "spec_text": _FILM.text, "lacking": 1, "grade": "drop_in", "reasons": reasons(fits(_FILM, _HIGHER)),
}  # fmt: skip


@extend_schema_serializer(examples=[OpenApiExample("A higher rating serves", ANSWERED, response_only=True)])
class WantedSerializer(serializers.Serializer[Any]):
    need = serializers.IntegerField(source="need.pk")
    job = serializers.IntegerField(source="need.job_id")
    job_name = serializers.CharField(source="need.job.name")
    priority = serializers.IntegerField(source="need.job.priority")
    due = serializers.DateField(source="need.job.due", allow_null=True)
    ref = serializers.CharField(source="need.ref", allow_blank=True)
    spec_text = serializers.CharField(source="need.spec.text")
    lacking = serializers.IntegerField(source="need.lacking")
    grade = serializers.ChoiceField(GRADES, source="fit.grade")
    reasons = ReasonSerializer(many=True, source="fit.reasons")


class LotWanted(Conventions, GenericAPIView):  # type: ignore[type-arg]
    """Open needs that this lot would serve, best first."""

    serializer_class = WantedSerializer
    pagination_class = Pages
    filter_backends = ()

    def known_parameters(self) -> tuple[set[str], set[str]]:
        return {"page", "page_size"}, set()

    @extend_schema(responses=WantedSerializer(many=True), operation_id="lots_wanted_list")
    def get(self, request: Request, pk: int) -> Response:
        lot = get_object_or_404(Lot.objects.select_related("part__spec"), pk=pk)
        page = self.paginate_queryset(wanted.wanted(lot))
        return self.get_paginated_response(WantedSerializer(page, many=True).data)
