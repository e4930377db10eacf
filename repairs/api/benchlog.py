"""`log-entries/`, `jobs/{id}/log/`, `jobs/{id}/close/` and `designs/{id}/seen/`."""

from collections.abc import Callable
from typing import Any

from django.db.models import QuerySet
from django.shortcuts import get_object_or_404
from django_filters import ChoiceFilter, ModelChoiceFilter
from drf_spectacular.utils import (
    OpenApiExample,
    OpenApiParameter,
    extend_schema,
    extend_schema_serializer,
)
from rest_framework import serializers
from rest_framework.generics import GenericAPIView
from rest_framework.request import Request
from rest_framework.response import Response

from inventory.api.fields import RowField, StrictSerializer
from inventory.api.lists import LONGEST_SEARCH, MAX_WORDS, AskedFilters, Pages, YesNoFilter, bad_query
from inventory.api.versions import claim
from inventory.api.viewsets import Conventions
from inventory.models import Design
from repairs import benchlog
from repairs.answers.log_lines import LineSerializer, lines_as_json
from repairs.api.pictured import Pictured, PicturesField
from repairs.models import Job
from repairs.proving_models import BenchEntry

TASK = {"job": 4, "kind": "task", "text": "make a heatsink for IC1"}
ENTRY = {
    "id": 12, **TASK, "note": "", "done": False, "done_at": None, "done_by": None, "by": "robin",
    "at": "2026-11-22T09:00:00Z", "photos": [], "version": 1,
}  # fmt: skip


class EntryTextSerializer(StrictSerializer):
    text = serializers.CharField(max_length=2000)
    note = serializers.CharField(required=False, allow_blank=True, max_length=400)


@extend_schema_serializer(examples=[OpenApiExample("It is done", {"done": True}, request_only=True)])
class EntryChangeSerializer(EntryTextSerializer):
    done = serializers.BooleanField(required=False, help_text="Of a task: whether it is done.")


@extend_schema_serializer(
    examples=[
        OpenApiExample("A thing to do", TASK, request_only=True),
        OpenApiExample("A thing to do", ENTRY, response_only=True),
    ]
)
class EntrySerializer(EntryTextSerializer):
    """A note, or a thing to do that is no part: make a heatsink, refit the case, all screws back."""

    id = serializers.IntegerField(read_only=True)
    job = RowField(queryset=Job.objects.all())
    kind = serializers.ChoiceField(BenchEntry.Kind.choices, default=BenchEntry.Kind.NOTE)
    done = serializers.SerializerMethodField()
    done_at = serializers.DateTimeField(source="done", read_only=True, allow_null=True)
    done_by = serializers.CharField(source="done_by.username", read_only=True, default=None, allow_null=True)
    by = serializers.CharField(source="by.username", read_only=True, default=None, allow_null=True)
    at = serializers.DateTimeField(read_only=True)
    photos = PicturesField()
    version = serializers.IntegerField(read_only=True)

    def get_done(self, entry: BenchEntry) -> bool:
        return entry.done is not None


class EntryFilters(AskedFilters):
    job = ModelChoiceFilter(queryset=Job.objects.all())
    kind = ChoiceFilter(choices=BenchEntry.Kind.choices)
    done = YesNoFilter(field_name="done", lookup_expr="isnull", exclude=True)

    class Meta:
        model = BenchEntry
        fields: list[str] = []


class EntryViewSet(Pictured):
    """Notes and things to do of all jobs."""

    model = BenchEntry
    photo_subject = "log_entry"
    http_method_names = ["get", "head", "post", "patch", "delete"]
    delete_role = "bench"
    serializer_class = EntrySerializer
    change_serializer_class = EntryChangeSerializer
    filterset_class = EntryFilters
    search_texts = ("text", "note", "job__name")
    orderings = {"at": "at", "job": "job__name", "done": "done"}

    def get_queryset(self) -> QuerySet[BenchEntry]:
        return BenchEntry.objects.select_related("by", "done_by")

    def make(self, data: dict[str, Any]) -> BenchEntry:
        return BenchEntry.objects.create(by=self.person, **data)

    def change(self, row: BenchEntry, data: dict[str, Any]) -> None:
        done = data.pop("done", None)
        if data:
            claim(row, **data)
        if done is not None:
            benchlog.tick(row, by=self.person, done=done)

    def remove(self, row: BenchEntry) -> None:
        benchlog.strike(row)


# --- the time line


class JobLog(Conventions, GenericAPIView):  # type: ignore[type-arg]
    """Everything that happened to a job, oldest first."""

    serializer_class = LineSerializer
    pagination_class = Pages
    filter_backends = ()

    def known_parameters(self) -> tuple[set[str], set[str]]:
        return {"page", "page_size"}, set()

    @extend_schema(responses=LineSerializer(many=True), operation_id="jobs_log_list")
    def get(self, request: Request, pk: int) -> Response:
        job = get_object_or_404(Job.objects.select_related("board"), pk=pk)
        page = self.paginate_queryset(benchlog.time_line(job))
        return self.get_paginated_response(lines_as_json(page or (), request))


# --- closing

CLOSE = {"symptom": "trace runs flat at high water", "cause": "C24 leaky", "note": "not the converter"}
CLOSED = {
    "job": 4, "status": "done", "symptom": "trace runs flat at high water", "cause": "C24 leaky",
    "closed": "2026-11-23T21:00:00Z",
}  # fmt: skip


@extend_schema_serializer(examples=[OpenApiExample("Found and mended", CLOSE, request_only=True)])
class CloseSerializer(StrictSerializer):
    """What was wrong and why; what is said already may be left out."""

    symptom = serializers.CharField(required=False, allow_blank=True, max_length=4000)
    cause = serializers.CharField(required=False, allow_blank=True, max_length=4000)
    note = serializers.CharField(required=False, allow_blank=True, max_length=4000)


@extend_schema_serializer(examples=[OpenApiExample("Done", CLOSED, response_only=True)])
class ClosedSerializer(serializers.Serializer[Any]):
    job = serializers.IntegerField(source="pk")
    status = serializers.CharField()
    symptom = serializers.CharField()
    cause = serializers.CharField()
    closed = serializers.DateTimeField()


class JobClose(Conventions):
    @extend_schema(request=CloseSerializer, responses=ClosedSerializer, operation_id="jobs_close")
    def post(self, request: Request, pk: int) -> Response:
        """Finish a job with its symptom and cause.  Things left to do, or a piece still owed: 409."""
        job = get_object_or_404(Job, pk=pk)
        read = CloseSerializer(data=request.data)
        read.is_valid(raise_exception=True)
        return Response(ClosedSerializer(benchlog.close(job, by=self.person, **read.validated_data)).data)


# --- seen before

SEEN = {
    "job": 2, "name": "Harbour office Tern, flat trace", "board": 5, "board_name": "Tern A, harbour office",
    "design": "Tern TR6 main board A", "symptom": "Trace ran flat at high water.", "cause": "C24 leaky",
    "note": "", "closed": "2026-10-02T20:00:00Z",
}  # fmt: skip
WORDS = OpenApiParameter("q", str, description="Words that must all be in what was written about the job.")


@extend_schema_serializer(examples=[OpenApiExample("On an older revision", SEEN, response_only=True)])
class SeenBeforeSerializer(serializers.Serializer[Any]):
    job = serializers.IntegerField(source="pk")
    name = serializers.CharField()
    board = serializers.IntegerField(source="board_id")
    board_name = serializers.CharField(source="board.name")
    design = serializers.CharField(source="board.design")
    symptom = serializers.CharField()
    cause = serializers.CharField()
    note = serializers.CharField(allow_blank=True)
    closed = serializers.DateTimeField(allow_null=True)


ELSEWHERE = {
    "design": "Tern TR6 main board C", "symptom": "Trace fades as it warms up.", "cause": "C31 open",
    "on": "2025-02-11", "source": "Harbour radio club, CC BY 4.0",
}  # fmt: skip


@extend_schema_serializer(examples=[OpenApiExample("By a file of the design", ELSEWHERE, response_only=True)])
class SeenElsewhereSerializer(serializers.Serializer[Any]):
    """What another workshop saw on such a board: their word, not one of this bench's jobs."""

    design = serializers.CharField()
    symptom = serializers.CharField(allow_blank=True, source="facts.symptom")
    cause = serializers.CharField(source="facts.cause")
    on = serializers.CharField(allow_blank=True, source="facts.on", help_text="A day; blank: not known.")

    def get_fields(self) -> dict[str, Any]:
        # Not declared above: `source` is a field's own name for where it reads from.
        whose = serializers.CharField(source="credit", help_text="Whose word it is.")
        return {**super().get_fields(), "source": whose}


class _Seen(Conventions, GenericAPIView):  # type: ignore[type-arg]
    pagination_class = Pages
    filter_backends = ()
    query_parameters = (WORDS,)

    def known_parameters(self) -> tuple[set[str], set[str]]:
        return {"page", "page_size", "q"}, set()

    def answer(self, search: Callable[[Design, str], QuerySet[Any]], pk: int) -> Response:
        design = get_object_or_404(Design, pk=pk)
        words = self.request.query_params.get("q", "")
        if "\x00" in words or len(words) > LONGEST_SEARCH or len(words.split()) > MAX_WORDS:
            raise bad_query("q", f"at most {MAX_WORDS} words and {LONGEST_SEARCH} characters")
        page = self.paginate_queryset(search(design, words))
        return self.get_paginated_response(self.get_serializer(page, many=True).data)


class DesignSeen(_Seen):
    """What was wrong with boards of this design before, whatever their revision; newest first."""

    serializer_class = SeenBeforeSerializer

    @extend_schema(responses=SeenBeforeSerializer(many=True), operation_id="designs_seen_list")
    def get(self, request: Request, pk: int) -> Response:
        return self.answer(benchlog.seen_before, pk)


class DesignSeenElsewhere(_Seen):
    """What other workshops saw on boards of this design, by the files that came in; newest first."""

    serializer_class = SeenElsewhereSerializer

    @extend_schema(responses=SeenElsewhereSerializer(many=True), operation_id="designs_seen_elsewhere_list")
    def get(self, request: Request, pk: int) -> Response:
        return self.answer(benchlog.seen_elsewhere, pk)
