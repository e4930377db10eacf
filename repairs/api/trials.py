"""`trials/`: tests of lots and boards.  A trial stays on record; a new one says otherwise."""

from typing import Any

from django.db.models import QuerySet
from django_filters import FilterSet, ModelChoiceFilter, MultipleChoiceFilter
from drf_spectacular.utils import OpenApiExample, extend_schema_serializer
from rest_framework import serializers
from rest_framework.exceptions import ErrorDetail, ValidationError

from inventory.api.fields import RefField, RowField, StrictSerializer
from inventory.api.lists import YesNoFilter
from inventory.api.viewsets import NounViewSet
from inventory.models import Board, Lot, Part, Place
from repairs import trials
from repairs.api.fields import PiecesField, spot_in, wrong
from repairs.models import Trial

SENT = {
    "lot": 5, "method": "capacitance", "in_circuit": False, "reading": "98 nF", "verdict": "good",
}  # fmt: skip
SOME = {
    "lot": 5, "quantity": 3, "place": 12, "method": "capacitance", "reading": "0.2 nF", "verdict": "faulty",
    "note": "dried out",
}  # fmt: skip
OF_A_BOARD = {
    "board": 9, "ref": "U12", "method": "soak", "in_circuit": True, "reading": "8 hours", "verdict": "good",
}  # fmt: skip
ANSWERED = {
    "id": 14, "lot": 5, "board": None, "ref": "", "method": "capacitance", "in_circuit": False,
    "reading": "98 nF", "verdict": "good", "note": "", "by": "robin",
    "at": "2026-11-20T20:15:00Z", "version": 1,
}  # fmt: skip


@extend_schema_serializer(
    examples=[
        OpenApiExample("A lot", SENT, request_only=True),
        OpenApiExample("Some pieces of a lot", SOME, request_only=True),
        OpenApiExample("A position of a board", OF_A_BOARD, request_only=True),
        OpenApiExample("A lot", ANSWERED, response_only=True),
    ]
)
class TrialSerializer(StrictSerializer):
    """Of a lot or of a board.  Out of circuit the verdict becomes the lot's condition.

    `quantity` pieces judged apart from the rest become a lot of their own, which is the `lot` of the answer.
    """

    id = serializers.IntegerField(read_only=True)
    lot = RowField(queryset=Lot.objects.select_related("part__spec"), required=False, allow_null=True)
    board = RowField(queryset=Board.objects.all(), required=False, allow_null=True)
    ref = RefField(required=False, help_text="The position that was tried, on a board.")
    method = serializers.CharField(max_length=120)
    in_circuit = serializers.BooleanField(default=False)
    reading = serializers.CharField(required=False, allow_blank=True, max_length=200)
    verdict = serializers.ChoiceField(Trial.Verdict.choices)
    note = serializers.CharField(required=False, allow_blank=True, max_length=4000)
    quantity = PiecesField(write_only=True, required=False, help_text="Of a lot: how many pieces; else all.")
    place = RowField(
        queryset=Place.objects.all(), write_only=True, required=False,
        help_text="With `quantity`: where they are; may be left out where the lot is in one place only.",
    )  # fmt: skip
    by = serializers.CharField(source="by.username", read_only=True, default=None, allow_null=True)
    at = serializers.DateTimeField(read_only=True)
    version = serializers.IntegerField(read_only=True)

    def validate(self, attrs: dict[str, Any]) -> dict[str, Any]:
        lot, board = attrs.get("lot"), attrs.get("board")
        if (lot is None) == (board is None):
            raise wrong("lot", "say either the lot or the board that was tried", "required")
        misplaced = {"quantity", "place"} if lot is None else {"ref"}
        if sent := sorted(misplaced & {name for name, told in attrs.items() if told != ""}):
            raise ValidationError(
                {
                    name: [ErrorDetail(f"not of a {'board' if lot is None else 'lot'}", "contradiction")]
                    for name in sent
                }
            )
        return attrs


class TrialFilters(FilterSet):  # type: ignore[misc]
    lot = ModelChoiceFilter(queryset=Lot.objects.all())
    part = ModelChoiceFilter(field_name="lot__part", queryset=Part.objects.all())
    board = ModelChoiceFilter(queryset=Board.objects.all())
    verdict = MultipleChoiceFilter(choices=Trial.Verdict.choices)
    in_circuit = YesNoFilter()

    class Meta:
        model = Trial
        fields: list[str] = []


class TrialViewSet(NounViewSet):
    """Tests, newest first."""

    model = Trial
    http_method_names = ["get", "head", "post"]
    serializer_class = TrialSerializer
    filterset_class = TrialFilters
    search_texts = ("method", "reading", "note", "lot__part__spec__text", "board__name", "ref")
    search_spec = "lot__part__spec__"
    orderings = {"at": "at", "method": "method", "verdict": "verdict"}
    default_ordering = ("-id",)

    def get_queryset(self) -> QuerySet[Trial]:
        return Trial.objects.select_related("by")

    def make(self, data: dict[str, Any]) -> Trial:
        lot, quantity = data.get("lot"), data.pop("quantity", None)
        at = spot_in(data, lot, "place", "ref") if lot is not None and quantity is not None else None
        data.pop("place", None)
        return trials.record(by=self.person, quantity=quantity, at=at, **data)
