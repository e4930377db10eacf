"""`asks/`: pieces of somebody's own that are asked of them for a need, and what they answer."""

from typing import Any

from django.db.models import QuerySet
from django.shortcuts import get_object_or_404
from django_filters import ModelChoiceFilter
from drf_spectacular.utils import OpenApiExample, extend_schema, extend_schema_serializer
from rest_framework import serializers
from rest_framework.decorators import action
from rest_framework.request import Request
from rest_framework.response import Response

from inventory.api.fields import RowField, StrictSerializer, TrueOrFalse
from inventory.api.lists import AnyOfFilter, AskedFilters
from inventory.api.owners import PersonFilter
from inventory.api.versions import check_if_match, etag
from inventory.api.viewsets import NounViewSet
from inventory.models import Lot
from repairs import asks
from repairs.api.fields import PiecesField
from repairs.models import Job, Need, PieceAsk

SENT = {"need": 31, "lot": 5, "quantity": 2, "note": "for the pier lamp, by Saturday if you can"}
ANSWERED = {
    "id": 7, "need": 31, "job": 4, "job_name": "Plover C rebuild", "need_ref": "R1",
    "spec_text": "4k7 5% 0.25 W", "lot": 5, "lot_text": "4k7 5% 0.25 W", "quantity": 2, "owner": "merle",
    "state": "asked", "note": "for the pier lamp, by Saturday if you can", "by": "robin",
    "at": "2026-11-20T18:30:00Z", "answer": "", "answered_by": None, "answered_at": None, "version": 1,
}  # fmt: skip
AGREED = {
    **ANSWERED, "state": "agreed", "answer": "take the older ones", "answered_by": "merle",
    "answered_at": "2026-11-20T19:02:00Z", "version": 2,
}  # fmt: skip


@extend_schema_serializer(
    examples=[
        OpenApiExample("Two for a job", SENT, request_only=True),
        OpenApiExample("Asked", ANSWERED, response_only=True),
    ]
)
class PieceAskSerializer(StrictSerializer):
    id = serializers.IntegerField(read_only=True)
    need = RowField(queryset=Need.objects.select_related("job"))
    job = serializers.IntegerField(source="need.job_id", read_only=True)
    job_name = serializers.CharField(source="need.job.name", read_only=True)
    need_ref = serializers.CharField(source="need.ref", read_only=True, help_text="The position it is for.")
    spec_text = serializers.CharField(source="need.spec.text", read_only=True, help_text="What is required.")
    lot = RowField(queryset=Lot.objects.all())
    lot_text = serializers.CharField(
        source="lot.part.spec.text", read_only=True, help_text="What the pieces are."
    )
    quantity = PiecesField(default=1)
    owner = serializers.CharField(source="owner.username", read_only=True, help_text="Who is asked.")
    state = serializers.ChoiceField(PieceAsk.State.choices, read_only=True)
    note = serializers.CharField(required=False, allow_blank=True, max_length=400)
    by = serializers.CharField(source="by.username", read_only=True, default=None, allow_null=True)
    at = serializers.DateTimeField(read_only=True)
    answer = serializers.CharField(read_only=True)
    answered_by = serializers.CharField(
        source="answered_by.username", read_only=True, default=None, allow_null=True
    )
    answered_at = serializers.DateTimeField(read_only=True, allow_null=True)
    version = serializers.IntegerField(read_only=True)


class AnswerToAskSerializer(StrictSerializer):
    """The owner's yes, which reserves the pieces, or no."""

    yes = TrueOrFalse()
    note = serializers.CharField(required=False, allow_blank=True, max_length=400)


class PieceAskFilters(AskedFilters):
    state = AnyOfFilter(choices=PieceAsk.State.choices)
    need = ModelChoiceFilter(queryset=Need.objects.all())
    job = ModelChoiceFilter(field_name="need__job", queryset=Job.objects.all())
    lot = ModelChoiceFilter(queryset=Lot.objects.all())
    owner = PersonFilter("owner", help_text="Who is asked: `me`, or the person's name.")
    by = PersonFilter("by", help_text="Who asked: `me`, or the person's name.")

    class Meta:
        model = PieceAsk
        fields: list[str] = []


class PieceAskViewSet(NounViewSet):
    """Pieces of others that are asked for.  An answer, or taking it back, ends one; it stays on record."""

    model = PieceAsk
    http_method_names = ["get", "head", "post"]
    serializer_class = PieceAskSerializer
    filterset_class = PieceAskFilters
    search_texts = ("need__job__name", "need__ref", "lot__part__spec__text", "owner__username", "note")
    search_spec = "lot__part__spec__"
    orderings = {"job": "need__job", "at": "at", "state": "state"}

    def get_queryset(self) -> QuerySet[PieceAsk]:
        return asks.told(PieceAsk.objects.all())

    def make(self, data: dict[str, Any]) -> PieceAsk:
        return asks.ask(
            data["need"], data["lot"], data["quantity"], by=self.person, note=data.get("note", "")
        )

    @extend_schema(
        request=AnswerToAskSerializer,
        responses=PieceAskSerializer,
        examples=[
            OpenApiExample("A yes", {"yes": True, "note": "take the older ones"}, request_only=True),
            OpenApiExample("Agreed", AGREED, response_only=True),
        ],
    )
    @action(detail=True, methods=["post"], url_path="answer", url_name="answer")
    def say(self, request: Request, pk: str) -> Response:
        """Say yes, by which the pieces are reserved, or no: by whoever's the pieces are."""
        serializer = AnswerToAskSerializer(data=request.data)
        serializer.is_valid(raise_exception=True)
        said = serializer.validated_data
        row = asks.answer(self._asked(), said["yes"], by=self.person, note=said.get("note", ""))
        return self._settled(row)

    @extend_schema(request=None, responses=PieceAskSerializer)
    @action(detail=True, methods=["post"])
    def withdraw(self, request: Request, pk: str) -> Response:
        """Take back what was asked and not answered yet: by who asked, or whose the job is."""
        return self._settled(asks.withdraw(self._asked(), by=self.person))

    def _asked(self) -> PieceAsk:
        row: PieceAsk = get_object_or_404(PieceAsk.objects.select_related("need"), pk=self.kwargs["pk"])
        check_if_match(self.request, row)
        return row

    def _settled(self, row: PieceAsk) -> Response:
        return Response(
            PieceAskSerializer(self.get_queryset().get(pk=row.pk)).data, headers={"ETag": etag(row)}
        )
