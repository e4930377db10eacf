"""`swaps/`: chips tried one by one in a socket of a known good board, between baselines."""

from typing import Any

from django.db.models import Prefetch, QuerySet
from django.shortcuts import get_object_or_404
from django_filters import ModelChoiceFilter
from drf_spectacular.utils import OpenApiExample, extend_schema, extend_schema_serializer
from rest_framework import serializers
from rest_framework.decorators import action
from rest_framework.request import Request
from rest_framework.response import Response

from inventory.api.fields import RefField, RowField, StrictSerializer, TrueOrFalse
from inventory.api.lists import AskedFilters, YesNoFilter
from inventory.api.viewsets import NounViewSet
from inventory.ledger import spot_of
from inventory.models import Board, Lot, Place
from inventory.refusals import Code
from repairs import swaps
from repairs.answers.trial_parts import TrialReasonSerializer
from repairs.api.fields import wrong
from repairs.models import Job, Trial
from repairs.proving import swaps as rules
from repairs.proving_models import SwapStep, SwapTest

SENT = {"board": 4, "ref": "IC12", "to": 12, "job": 7, "note": "the six from donor 1"}
STEP = {
    "id": 3, "what": "suspect", "passed": False, "lot": 31, "reading": "01C0: wrote 00, read 04", "trial": 44,
    "note": "", "by": "robin", "at": "2026-11-22T10:20:00Z",
}  # fmt: skip
RESULT = {
    "lot": 31, "verdict": "faulty", "settled": True,
    "reasons": [
        {"code": "failed", "detail": "01C0: wrote 00, read 04", "source": ""},
        {
            "code": "baselines_pass", "detail": "the board passed with its own part before and after",
            "source": "common practice, no source",
        },
    ],
}  # fmt: skip
ANSWERED = {
    "id": 2, "board": 4, "board_name": "Plover that works", "ref": "IC12", "job": 7, "loan": 9, "open": True,
    "steps": [STEP], "results": [RESULT], "note": "the six from donor 1", "by": "robin",
    "at": "2026-11-22T10:00:00Z", "closed": None, "version": 4,
}  # fmt: skip
BASELINE = {"what": "baseline", "passed": True, "reading": "no fault in 20 min"}
SUSPECT = {"what": "suspect", "lot": 31, "passed": False, "reading": "01C0: wrote 00, read 04"}


@extend_schema_serializer(
    examples=[
        OpenApiExample("A baseline", BASELINE, request_only=True),
        OpenApiExample("A suspect", SUSPECT, request_only=True),
    ]
)
class SwapStepSerializer(StrictSerializer):
    """A baseline with the board's own part, or a suspect in its place."""

    id = serializers.IntegerField(read_only=True)
    what = serializers.ChoiceField([rules.BASELINE, rules.SUSPECT_IN])
    passed = TrueOrFalse()
    lot = RowField(queryset=Lot.objects.select_related("part__spec"), required=False, allow_null=True)
    reading = serializers.CharField(required=False, allow_blank=True, max_length=200)
    trial = serializers.IntegerField(
        source="trial_id", read_only=True, allow_null=True, help_text="Once the baseline after it is in."
    )
    note = serializers.CharField(required=False, allow_blank=True, max_length=400)
    by = serializers.CharField(source="by.username", read_only=True, default=None, allow_null=True)
    at = serializers.DateTimeField(read_only=True)

    def validate(self, attrs: dict[str, Any]) -> dict[str, Any]:
        suspect = attrs["what"] == rules.SUSPECT_IN
        if suspect != (attrs.get("lot") is not None):
            message = "say which lot was tried" if suspect else "a baseline is with the board's own part"
            raise wrong("lot", message, Code.REQUIRED if suspect else Code.CONTRADICTION)
        return attrs


class SwapRowSerializer(serializers.Serializer[Any]):
    lot = serializers.IntegerField()
    verdict = serializers.ChoiceField(Trial.Verdict.choices)
    settled = serializers.BooleanField(help_text="The baseline after it was taken.")
    reasons = TrialReasonSerializer(many=True)


@extend_schema_serializer(
    examples=[
        OpenApiExample("A row of memories", SENT, request_only=True),
        OpenApiExample("A row of memories", ANSWERED, response_only=True),
    ]
)
class SwapTestSerializer(StrictSerializer):
    """The board's own part goes `to` a place on loan, and comes back when the test is closed."""

    id = serializers.IntegerField(read_only=True)
    board = RowField(queryset=Board.objects.select_related("design", "place"))
    board_name = serializers.CharField(source="board.name", read_only=True)
    ref = RefField(allow_blank=False)
    to = RowField(queryset=Place.objects.all(), write_only=True)
    job = RowField(queryset=Job.objects.all(), required=False, allow_null=True)
    due = serializers.DateField(required=False, write_only=True, allow_null=True)
    loan = serializers.IntegerField(source="loan_id", read_only=True, allow_null=True)
    open = serializers.SerializerMethodField()
    steps = SwapStepSerializer(many=True, read_only=True)
    results = serializers.SerializerMethodField()
    note = serializers.CharField(required=False, allow_blank=True, max_length=400)
    by = serializers.CharField(source="by.username", read_only=True, default=None, allow_null=True)
    at = serializers.DateTimeField(read_only=True)
    closed = serializers.DateTimeField(read_only=True, allow_null=True)
    version = serializers.IntegerField(read_only=True)

    def get_open(self, test: SwapTest) -> bool:
        return test.closed is None

    def get_results(self, test: SwapTest) -> list[dict[str, Any]]:
        steps = [rules.TriedStep(row.what, row.passed, row.lot_id, row.reading) for row in test.steps.all()]
        return [dict(SwapRowSerializer(row).data) for row in rules.results(steps)]

    get_results.__annotations__["return"] = SwapRowSerializer(many=True)


class SwapTestFilters(AskedFilters):
    board = ModelChoiceFilter(queryset=Board.objects.all())
    job = ModelChoiceFilter(queryset=Job.objects.all())
    lot = ModelChoiceFilter(field_name="steps__lot", queryset=Lot.objects.all(), distinct=True)
    open = YesNoFilter(field_name="closed", lookup_expr="isnull")

    class Meta:
        model = SwapTest
        fields: list[str] = []


class SwapTestViewSet(NounViewSet):
    """Swap tests, newest first."""

    model = SwapTest
    http_method_names = ["get", "head", "post"]
    delete_role = "bench"  # nobody deletes: the answer is that the method is not there
    serializer_class = SwapTestSerializer
    filterset_class = SwapTestFilters
    search_texts = ("board__name", "ref", "note", "steps__lot__part__spec__text")
    orderings = {"at": "at", "board": "board__name"}
    default_ordering = ("-id",)

    def get_queryset(self) -> QuerySet[SwapTest]:
        steps = Prefetch("steps", SwapStep.objects.select_related("by").order_by("id"))
        return SwapTest.objects.select_related("board", "by").prefetch_related(steps).distinct()

    def make(self, data: dict[str, Any]) -> SwapTest:
        to = spot_of(data.pop("to"))
        return swaps.open_test(data.pop("board"), data.pop("ref"), to, by=self.person, **data)

    @extend_schema(
        request=SwapStepSerializer,
        responses={201: SwapTestSerializer},
        operation_id="swaps_steps_create",
    )
    @action(detail=True, methods=["post"])
    def steps(self, request: Request, pk: str) -> Response:
        """A baseline, or a suspect tried.  Out of turn, or where it may be shorted: 409."""
        test = get_object_or_404(SwapTest, pk=pk)
        read = SwapStepSerializer(data=request.data)
        read.is_valid(raise_exception=True)
        swaps.add_step(test, by=self.person, **read.validated_data)
        return self.answer(self.get_queryset().get(pk=test.pk), 201)

    @extend_schema(request=None, responses=SwapTestSerializer, operation_id="swaps_close")
    @action(detail=True, methods=["post"])
    def close(self, request: Request, pk: str) -> Response:
        """The board's own part is back in its socket: the loan is returned."""
        test = swaps.close_test(get_object_or_404(SwapTest, pk=pk), by=self.person)
        return self.answer(self.get_queryset().get(pk=test.pk))
