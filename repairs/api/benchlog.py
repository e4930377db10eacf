"""`log-entries/`, `jobs/{id}/log/`, `jobs/{id}/close/`, `jobs/{id}/report/` and `designs/{id}/seen/`."""

from collections.abc import Iterable
from typing import Any

from django.db.models import QuerySet
from django.http import HttpResponse
from django.shortcuts import get_object_or_404
from django.template.loader import render_to_string
from django_filters import ChoiceFilter, ModelChoiceFilter
from drf_spectacular.utils import (
    OpenApiExample,
    OpenApiParameter,
    OpenApiResponse,
    extend_schema,
    extend_schema_serializer,
)
from rest_framework import serializers
from rest_framework.generics import GenericAPIView
from rest_framework.request import Request
from rest_framework.response import Response

from inventory.api.fields import RowField, StrictSerializer
from inventory.api.lists import LONGEST_SEARCH, MOST_WORDS, AskedFilters, Pages, YesNoFilter, bad_query
from inventory.api.versions import claim
from inventory.api.viewsets import Conventions
from inventory.models import Design
from repairs import benchlog, lenders
from repairs.api.of_board import one_of
from repairs.api.pictures import Pictured, PictureSerializer, PicturesField, pictures
from repairs.benchlog import Line
from repairs.models import Job
from repairs.proving_models import BenchEntry
from repairs.report import Report, UsedPart, report

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

LINE = {
    "at": "2026-11-22T09:10:00Z", "kind": "fit", "text": "ic 2716, dip: Tray 1 to Plover C bare IC10",
    "by": "robin", "row": 204, "note": "", "photos": [],
}  # fmt: skip


@extend_schema_serializer(examples=[OpenApiExample("A piece was fitted", LINE, response_only=True)])
class LineSerializer(serializers.Serializer[Any]):
    """`picture`: of the job, or of its board; those of a note, a trial or a confirmation are on its line."""

    at = serializers.DateTimeField()
    kind = serializers.CharField(help_text="A movement's kind, or note, task, done, trial, link, rail …")
    text = serializers.CharField()
    by = serializers.CharField(allow_blank=True)
    row = serializers.IntegerField(help_text="The id of what says more.")
    note = serializers.CharField(allow_blank=True)
    photos = PictureSerializer(many=True)


def lines_as_json(lines: Iterable[Line], request: Request | None) -> list[dict[str, Any]]:
    """Lines of a time line as the API answers them."""
    told = [{**vars(line), "photos": pictures(line.photos, request)} for line in lines]
    return [dict(each) for each in LineSerializer(told, many=True).data]


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
WORDS = OpenApiParameter("q", str, description="Words, each of which stands in what was written of the job.")


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


class DesignSeen(Conventions, GenericAPIView):  # type: ignore[type-arg]
    """What was wrong with boards of this design before, whatever their revision; newest first."""

    serializer_class = SeenBeforeSerializer
    pagination_class = Pages
    filter_backends = ()
    query_parameters = (WORDS,)

    def known_parameters(self) -> tuple[set[str], set[str]]:
        return {"page", "page_size", "q"}, set()

    @extend_schema(responses=SeenBeforeSerializer(many=True), operation_id="designs_seen_list")
    def get(self, request: Request, pk: int) -> Response:
        design = get_object_or_404(Design, pk=pk)
        words = request.query_params.get("q", "")
        if "\x00" in words or len(words) > LONGEST_SEARCH or len(words.split()) > MOST_WORDS:
            raise bad_query("q", f"at most {MOST_WORDS} words and {LONGEST_SEARCH} characters")
        page = self.paginate_queryset(benchlog.seen_before(design, words))
        return self.get_paginated_response(SeenBeforeSerializer(page, many=True).data)


# --- the report

PART = {
    "ref": "C1", "wanted": "4700µ 25 V aluminium, axial", "fitted": "4700µ 40 V aluminium, radial",
    "origin": "Plover donor C1", "salvaged": True, "price": "1.20", "quantity": 1,
    "note": "radial in an axial place, sleeved",
}  # fmt: skip
REPORT = {
    "job": 4, "name": "Plover C rebuild", "board": "Plover C bare", "status": "done", "symptom": "no sound",
    "cause": "C1 dry", "note": "", "parts": [PART], "spent": "3.40", "saved": "1.20", "unpriced": 2,
    "isolated": [], "verdict": "ready",
    "lenders": [
        {
            "board": "Plover that works", "ref": "U12", "state": "proven",
            "told": "U12 is back and the board passed",
        }
    ],
    "readings": [{"rail": "+5V", "stage": "chips_out", "ref": "", "reading": "4.98 V", "by": "robin"}],
    "exceptions": [
        {"check": "position", "subject": "IC29", "why": "2 K will do", "by": "robin"}
    ],
    "trials": [{"of": "lot 5: 4700µ", "method": "capacitance", "reading": "4950 µF", "verdict": "good"}],
    "tasks": [{"text": "make a heatsink for IC1", "done": True}], "log": [LINE],
}  # fmt: skip


class UsedPartSerializer(serializers.Serializer[Any]):
    ref = serializers.CharField(allow_blank=True)
    wanted = serializers.CharField()
    fitted = serializers.CharField()
    origin = serializers.CharField()
    salvaged = serializers.BooleanField(help_text="It was not bought.")
    price = serializers.CharField(allow_null=True, help_text="For one piece, if anybody entered one.")
    quantity = serializers.IntegerField()
    note = serializers.CharField(allow_blank=True)


class ReportReadingSerializer(serializers.Serializer[Any]):
    rail = serializers.CharField()
    stage = serializers.CharField()
    ref = serializers.CharField(allow_blank=True)
    reading = serializers.CharField()
    by = serializers.CharField()


class ReportExceptionSerializer(serializers.Serializer[Any]):
    subject = serializers.CharField(allow_blank=True)
    why = serializers.CharField()
    by = serializers.CharField()

    def get_fields(self) -> dict[str, Any]:
        return {"check": serializers.CharField(), **super().get_fields()}


class ReportTrialSerializer(serializers.Serializer[Any]):
    of = serializers.CharField()
    method = serializers.CharField()
    reading = serializers.CharField(allow_blank=True)
    verdict = serializers.CharField()


class ReportTaskSerializer(serializers.Serializer[Any]):
    text = serializers.CharField()
    done = serializers.BooleanField()


class ReportLenderSerializer(serializers.Serializer[Any]):
    board = serializers.CharField()
    ref = serializers.CharField(allow_blank=True)
    state = one_of(lenders.STATES)
    told = serializers.CharField()


@extend_schema_serializer(examples=[OpenApiExample("A rebuild", REPORT, response_only=True)])
class RepairReportSerializer(serializers.Serializer[Any]):
    """`spent`: what bought pieces cost; `saved`: what others would have; `unpriced` pieces are in
    neither.
    """

    job = serializers.IntegerField()
    name = serializers.CharField()
    board = serializers.CharField(allow_null=True)
    status = serializers.CharField()
    symptom = serializers.CharField(allow_blank=True)
    cause = serializers.CharField(allow_blank=True)
    note = serializers.CharField(allow_blank=True)
    parts = UsedPartSerializer(many=True)
    spent = serializers.CharField()
    saved = serializers.CharField()
    unpriced = serializers.IntegerField()
    isolated = serializers.ListField(
        child=serializers.CharField(), help_text="Proven with a borrowed part that is still in: not fixed."
    )
    lenders = ReportLenderSerializer(many=True)
    verdict = one_of(("ready", "open", "stop"), allow_null=True)
    readings = ReportReadingSerializer(many=True)
    exceptions = ReportExceptionSerializer(many=True)
    trials = ReportTrialSerializer(many=True)
    tasks = ReportTaskSerializer(many=True)
    log = LineSerializer(many=True)


def as_json(told: Report, request: Request | None = None) -> dict[str, Any]:
    """The report as the API answers it."""
    job = told.job
    return {
        "job": job.pk,
        **{name: getattr(job, name) for name in ("name", "status", "symptom", "cause", "note")},
        "board": job.board.name if job.board else None,
        "parts": [_part(part) for part in told.parts],
        "spent": f"{told.spent:.2f}",
        "saved": f"{told.saved:.2f}",
        "unpriced": told.unpriced,
        "isolated": list(told.isolated),
        "lenders": [dict(zip(("board", "ref", "state", "told"), row, strict=True)) for row in told.lenders],
        "verdict": told.readiness.verdict if told.readiness else None,
        "readings": [
            {"rail": row.rail, "stage": row.stage, "ref": row.ref, "reading": row.said, "by": row.person}
            for row in told.readings
        ],
        "exceptions": [
            {"check": row.item, "subject": row.subject, "why": row.why, "by": row.person}
            for row in told.exceptions
        ],
        "trials": [
            {
                "of": f"{row.lot}" if row.lot is not None else f"{row.board} {row.ref}".rstrip(),
                **{name: getattr(row, name) for name in ("method", "reading", "verdict")},
            }
            for row in told.trials
        ],
        "tasks": [{"text": row.text, "done": row.done is not None} for row in told.tasks],
        "log": lines_as_json(told.lines, request),
    }


def as_page(told: dict[str, Any]) -> str:
    """The report to print, from what `as_json` tells."""
    return render_to_string("repair-report.html", {"report": told})


def _part(part: UsedPart) -> dict[str, Any]:
    price = None if part.price is None else f"{part.price:.2f}"
    return {**vars(part), "price": price}


class JobReport(Conventions):
    @extend_schema(responses=RepairReportSerializer, operation_id="jobs_report")
    def get(self, request: Request, pk: int) -> Response:
        """What was done, parts used with their origins, costs and savings, readings, exceptions and notes."""
        job = get_object_or_404(Job.objects.select_related("board__design"), pk=pk)
        return Response(as_json(report(job), request))


class JobReportPage(Conventions):
    @extend_schema(
        responses={(200, "text/html"): OpenApiResponse(str, "The report, to print.")},
        operation_id="jobs_report_page",
    )
    def get(self, request: Request, pk: int) -> HttpResponse:
        """The same report as a page to print: no script, no outside address."""
        job = get_object_or_404(Job.objects.select_related("board__design"), pk=pk)
        # The page is also saved as a file, so its styles are in it; nothing else may be.
        policy = "default-src 'none'; style-src 'unsafe-inline'; img-src 'self'"
        return HttpResponse(as_page(as_json(report(job))), headers={"Content-Security-Policy": policy})
