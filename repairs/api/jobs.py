"""`jobs/`: repairs and rebuilds, and reserving the best plan's pieces for one."""

from typing import Any

from django.db.models import OuterRef, Prefetch, QuerySet, Subquery, Sum
from django.db.models.functions import Coalesce
from django.shortcuts import get_object_or_404
from django_filters import DateFilter, ModelChoiceFilter
from drf_spectacular.utils import (
    OpenApiExample,
    extend_schema,
    extend_schema_field,
    extend_schema_serializer,
)
from rest_framework import serializers
from rest_framework.decorators import action
from rest_framework.request import Request
from rest_framework.response import Response

from inventory.api.fields import RowField, StrictSerializer
from inventory.api.lists import AnyOfFilter, AskedFilters
from inventory.api.owners import OwnerField, OwnerFilter
from inventory.api.versions import claim
from inventory.api.viewsets import NounViewSet
from inventory.models import Board
from repairs import jobs
from repairs.answers.shortages import reserve
from repairs.api.fields import REFS, RefsField
from repairs.api.reservations import ANSWERED as PROMISE
from repairs.api.reservations import ReservationSerializer
from repairs.models import Job, Need

SENT = {
    "name": "Plover C rebuild", "board": 9, "priority": 2, "due": "2026-12-20", "refs": ["R1-R4", "C7"],
    "symptom": "no sound after warm-up",
}  # fmt: skip
ANSWERED = {
    "id": 4, "name": "Plover C rebuild", "board": 9, "board_name": "Plover C bare", "priority": 2,
    "due": "2026-12-20", "status": "open", "refs": ["R1", "R2", "R3", "R4", "C7"],
    "symptom": "no sound after warm-up", "cause": "", "note": "", "owner": "robin",
    "opened": "2026-11-20T18:02:00Z",
    "closed": None, "needed": 5, "fitted": 1, "promised": 2, "version": 3,
}  # fmt: skip


@extend_schema_field(REFS)
class WantedRefsField(RefsField):
    """`"all"`, or references; answered as the list of those that the job has needs at."""

    def to_internal_value(self, data: Any) -> Any:
        if data == [] or (isinstance(data, str) and data.strip().lower() in ("", "all")):
            return "all" if data and data.strip() else []
        return super().to_internal_value(data)

    def get_attribute(self, instance: Job) -> list[str]:
        return [need.ref for need in instance.at_refs]  # type: ignore[attr-defined]

    def to_representation(self, value: list[str]) -> list[str]:
        return value


@extend_schema_serializer(
    examples=[
        OpenApiExample(
            "Finished", {"status": "done", "cause": "C7 had dried out, C8 and C9 too"}, request_only=True
        )
    ]
)
class JobChangeSerializer(StrictSerializer):
    """What can be changed of a job.  Its needs are changed at `needs/`.

    `done` wants a symptom, a cause, and nothing left to do or owed, as `jobs/{id}/close/` does: else 409.
    """

    name = serializers.CharField(max_length=160)
    board = RowField(queryset=Board.objects.all(), required=False, allow_null=True)
    priority = serializers.IntegerField(min_value=1, max_value=5, required=False, help_text="1 is highest.")
    due = serializers.DateField(required=False, allow_null=True)
    status = serializers.ChoiceField(Job.Status.choices, required=False)
    symptom = serializers.CharField(required=False, allow_blank=True, max_length=4000)
    cause = serializers.CharField(required=False, allow_blank=True, max_length=4000)
    note = serializers.CharField(required=False, allow_blank=True, max_length=4000)
    owner = OwnerField(help_text="Whose job it is, by name: somebody who does the work. null: everybody's.")


@extend_schema_serializer(
    examples=[
        OpenApiExample("A rebuild", SENT, request_only=True),
        OpenApiExample("A rebuild", ANSWERED, response_only=True),
    ]
)
class JobSerializer(JobChangeSerializer):
    id = serializers.IntegerField(read_only=True)
    board_name = serializers.CharField(source="board", read_only=True, allow_null=True)
    status = serializers.ChoiceField(Job.Status.choices, read_only=True)
    refs = WantedRefsField(
        required=False,
        help_text='`"all"`, a list or text. Makes a need at each of these positions of the board\'s design.',
    )
    opened = serializers.DateTimeField(read_only=True)
    closed = serializers.DateTimeField(read_only=True, allow_null=True)
    needed = serializers.IntegerField(read_only=True, help_text="Pieces of all its open needs.")
    fitted = serializers.IntegerField(read_only=True)
    promised = serializers.IntegerField(read_only=True)
    version = serializers.IntegerField(read_only=True)


class LackSerializer(serializers.Serializer[Any]):
    need = serializers.IntegerField(source="need.pk")
    ref = serializers.CharField(source="need.ref", allow_blank=True)
    spec_text = serializers.CharField(source="need.spec.text")
    quantity = serializers.IntegerField(help_text="Pieces that it still lacks.")
    on_order = serializers.IntegerField(help_text="How many of them the plan takes from what is on order.")


@extend_schema_serializer(
    examples=[
        OpenApiExample(
            "Two promised, one short",
            {
                "job": 4,
                "promised": [PROMISE],
                "short": [
                    {
                        "need": 32,
                        "ref": "C7",
                        "spec_text": "100n 63 V film, radial",
                        "quantity": 1,
                        "on_order": 1,
                    }
                ],
            },
            response_only=True,
        )
    ]
)
class PromisedSerializer(serializers.Serializer[Any]):
    """What was reserved just now, and what the job still lacks."""

    job = serializers.IntegerField()
    promised = ReservationSerializer(many=True)
    short = LackSerializer(many=True)


class JobFilters(AskedFilters):
    status = AnyOfFilter(choices=Job.Status.choices)
    board = ModelChoiceFilter(queryset=Board.objects.all())
    owner = OwnerFilter()
    due_before = DateFilter(field_name="due", lookup_expr="lte", help_text="Due on this day or before.")

    class Meta:
        model = Job
        fields = ["priority"]


class JobViewSet(NounViewSet):
    """Repairs and rebuilds; the needs of a job are at `needs/?job=`."""

    model = Job
    http_method_names = ["get", "head", "post", "patch", "delete"]
    serializer_class = JobSerializer
    change_serializer_class = JobChangeSerializer
    filterset_class = JobFilters
    search_texts = ("name", "board__name", "symptom", "cause", "note")
    orderings = {
        "name": "name", "priority": "priority", "due": "due", "status": "status", "opened": "opened",
    }  # fmt: skip
    default_ordering = ("priority", "due")

    def get_queryset(self) -> QuerySet[Job]:
        at_refs = (
            Need.objects.filter(status=Need.Status.OPEN).exclude(ref="").only("job_id", "ref").order_by("id")
        )
        return (
            Job.objects.select_related("board", "owner")
            .prefetch_related(Prefetch("needs", at_refs, to_attr="at_refs"))
            .annotate(needed=_pieces("quantity"), fitted=_pieces("fitted"), promised=_pieces("promised"))
        )

    def make(self, data: dict[str, Any]) -> Job:
        return jobs.open_job(by=self.person, **data)

    def change(self, row: Job, data: dict[str, Any]) -> None:
        status = data.pop("status", row.status)
        if "board" in data:
            jobs.refuse_board_change(row, data["board"])
        if "owner" in data:
            jobs.before_owner_changes(row, data["owner"], by=self.person)
        if data:
            claim(row, **data)
        if status != row.status:
            jobs.set_status(row, status)

    def remove(self, row: Job) -> None:
        jobs.forget_job(row)

    @extend_schema(request=None, responses=PromisedSerializer)
    @action(detail=True, methods=["post"])
    def reserve(self, request: Request, pk: str) -> Response:
        """Reserve for this job what the best plan over all open jobs gives it from drawers and donors."""
        job = get_object_or_404(Job, pk=pk)
        promised = reserve(job, by=self.person)
        body = {"job": job.pk, "promised": promised.made, "short": promised.lacking}
        return Response(PromisedSerializer(body).data)


def _pieces(column: str) -> Coalesce:
    """The pieces of a job's open needs."""
    needs = Need.objects.filter(job=OuterRef("pk"), status=Need.Status.OPEN).order_by().values("job")
    return Coalesce(Subquery(needs.annotate(pieces=Sum(column)).values("pieces")), 0)
