"""`trials/`: tests of lots and boards.  A trial stays on record; a new one says otherwise."""

from decimal import Decimal, localcontext
from typing import Any, NoReturn

from django.db.models import QuerySet
from django.shortcuts import get_object_or_404
from django_filters import ModelChoiceFilter
from drf_spectacular.utils import (
    OpenApiExample,
    OpenApiParameter,
    extend_schema,
    extend_schema_field,
    extend_schema_serializer,
)
from rest_framework import serializers
from rest_framework.decorators import action
from rest_framework.exceptions import ErrorDetail, ValidationError
from rest_framework.request import Request
from rest_framework.response import Response

from inventory.api.fields import RefField, RowField, StrictSerializer
from inventory.api.lists import AnyOfFilter, AskedFilters, YesNoFilter, bad_query, number_asked
from inventory.api.lots import MeterErrorField
from inventory.api.photo_links import PICTURE
from inventory.models import Board, Lot, Part, Place
from inventory.refusals import Code
from repairs import trials
from repairs.answers.trial_parts import TrialCautionSerializer, TrialReasonSerializer, UnsettledSerializer
from repairs.api.fields import PiecesField, spot_in, wrong
from repairs.api.pictured import Pictured, PicturesField
from repairs.friends.findings import tried_elsewhere
from repairs.models import Trial
from repairs.proving import methods
from repairs.proving.cautions import DEFER
from repairs.proving.meter import UnreadableReading
from repairs.proving.windows import Window

SENT = {"lot": 5, "method": "capacitance", "in_circuit": False, "reading": "98 nF"}
FINELY = {"lot": 5, "method": "ohms", "reading": "4.703 k", "measured_tolerance": "0.1"}
SOME = {
    "lot": 5, "quantity": 3, "place": 12, "method": "capacitance", "reading": "0.2 nF", "verdict": "faulty",
    "note": "dried out",
}  # fmt: skip
OF_A_BOARD = {
    "board": 9, "ref": "U12", "method": "soak", "in_circuit": True, "reading": "8 hours", "verdict": "good",
}  # fmt: skip
IN_A_BOARD = {
    "lot": 17, "method": "checksum", "reading": "sum 9C41", "expected": "sum 9C41", "fixture": 4,
    "fixture_ref": "IC10",
}  # fmt: skip
ANSWERED: dict[str, Any] = {
    "id": 14, "lot": 5, "board": None, "ref": "", "method": "capacitance", "in_circuit": False,
    "reading": "98 nF", "verdict": "good", "note": "",
    "measured_tolerance": None, "expected": "", "fixture": None, "computed": True,
    "windows": ["60 nF to 140 nF"],
    "reasons": [
        {
            "code": "inside", "detail": "98 nF is inside 60 nF to 140 nF",
            "source": "twice the marked tolerance after long storage; common practice, no source",
        }
    ],
    "stage": "after_removal", "known_good": False, "tried": {}, "credible": True, "unsettled": [],
    "acquitted": {}, "photos": [PICTURE], "by": "robin", "at": "2026-11-20T20:15:00Z", "version": 1,
}  # fmt: skip


@extend_schema_serializer(
    examples=[
        OpenApiExample("A lot, judged by its window", SENT, request_only=True),
        OpenApiExample("Read with a better meter", FINELY, request_only=True),
        OpenApiExample("Some pieces of a lot", SOME, request_only=True),
        OpenApiExample("A position of a board", OF_A_BOARD, request_only=True),
        OpenApiExample("A ROM read in a known board", IN_A_BOARD, request_only=True),
        OpenApiExample("A lot", ANSWERED, response_only=True),
    ]
)
class TrialSerializer(StrictSerializer):
    """Of a lot or of a board.  Out of circuit the verdict becomes the lot's condition.

    One reading judges one piece, or as many as `quantity` says; judged apart from the rest they become a lot
    of their own, which is the `lot` of the answer.  A reading of the value is kept as the lot's `measured`,
    with `measured_tolerance`, which the judge counts against it; a trial `pin order` states the legs of the
    lot, with its source as the note.  Without a verdict the reading
    is judged by the window of its method, see `trials/methods/`.
    """

    id = serializers.IntegerField(read_only=True)
    lot = RowField(queryset=Lot.objects.select_related("part__spec"), required=False, allow_null=True)
    board = RowField(
        queryset=Board.objects.select_related("design", "place"), required=False, allow_null=True
    )
    ref = RefField(required=False, help_text="The position that was tried, on a board.")
    method = serializers.CharField(max_length=120)
    in_circuit = serializers.BooleanField(default=False)
    reading = serializers.CharField(required=False, allow_blank=True, max_length=200)
    verdict = serializers.ChoiceField(
        Trial.Verdict.choices, required=False, help_text="Left out: computed from the reading."
    )
    measured_tolerance = MeterErrorField(source="record.measured_tolerance", default=None)
    expected = serializers.CharField(
        required=False, allow_blank=True, max_length=400, default="", source="record.expected",
        help_text="The checksum on the label or in the list.",
    )  # fmt: skip
    fixture = RowField(
        queryset=Board.objects.select_related("design", "place"), required=False, allow_null=True,
        source="record.board", default=None, help_text="The board in which a lot was tried.",
    )  # fmt: skip
    fixture_ref = RefField(
        required=False, write_only=True, help_text="With `fixture`: the position it was in."
    )
    note = serializers.CharField(required=False, allow_blank=True, max_length=4000)
    quantity = PiecesField(write_only=True, required=False, help_text="Of a lot: how many pieces; else one.")
    place = RowField(
        queryset=Place.objects.all(), write_only=True, required=False,
        help_text="Of a lot: where they are; may be left out where the lot is in one place only.",
    )  # fmt: skip
    computed = serializers.BooleanField(source="record.computed", read_only=True, default=False)
    windows = serializers.ListField(
        child=serializers.CharField(), source="record.windows", read_only=True, default=list
    )
    reasons = TrialReasonSerializer(many=True, source="record.reasons", read_only=True, default=list)
    stage = serializers.CharField(
        source="record.stage", read_only=True, default="",
        help_text="before_removal or after_removal of a salvaged piece; else blank.",
    )  # fmt: skip
    known_good = serializers.BooleanField(
        source="record.known_good", read_only=True, default=False, help_text="It was good before this trial."
    )
    tried = serializers.DictField(
        child=serializers.IntegerField(), source="record.tried", read_only=True, default=dict,
        help_text="Position -> lot, on the board where it was seen.",
    )  # fmt: skip
    credible = serializers.BooleanField(
        source="record.credible", read_only=True, default=True,
        help_text="false: something on the board was open or in conflict; it condemns no part.",
    )  # fmt: skip
    unsettled = UnsettledSerializer(many=True, source="record.unsettled", read_only=True, default=list)
    acquitted = serializers.DictField(
        child=serializers.IntegerField(), source="record.acquitted", read_only=True, default=dict,
        help_text="Position -> the trial in which a known good part failed there too.",
    )  # fmt: skip
    photos = PicturesField()
    by = serializers.CharField(source="by.username", read_only=True, default=None, allow_null=True)
    at = serializers.DateTimeField(read_only=True)
    version = serializers.IntegerField(read_only=True)

    def validate(self, attrs: dict[str, Any]) -> dict[str, Any]:
        record = attrs.pop("record", {})
        attrs |= {
            "expected": record.get("expected", ""), "fixture": record.get("board"),
            "measured_tolerance": record.get("measured_tolerance"),
        }  # fmt: skip
        lot, board = attrs.get("lot"), attrs.get("board")
        if (lot is None) == (board is None):
            raise wrong("lot", "say either the lot or the board that was tried", Code.REQUIRED)
        misplaced = (
            {"quantity", "place", "fixture", "fixture_ref", "measured_tolerance"} if lot is None else {"ref"}
        )
        if sent := sorted(misplaced & {name for name, value in attrs.items() if value not in ("", None)}):
            raise ValidationError(
                {
                    name: [ErrorDetail(f"not of a {'board' if lot is None else 'lot'}", Code.CONTRADICTION)]
                    for name in sent
                }
            )
        if attrs.get("fixture_ref") and attrs["fixture"] is None:
            raise wrong("fixture", "say the board that has this position", Code.REQUIRED)
        if attrs["fixture"] is not None and attrs["in_circuit"]:
            raise wrong(
                "in_circuit", "what is tried in a known board is out of its own circuit", Code.CONTRADICTION
            )
        return attrs


METHOD = {
    "name": "ohms",
    "connect": "One leg free. Short the leads first and take their ohms off below 10 Ω.",
    "expect": "Inside the tolerance. Old carbon composition reads high, 10 to 20 % is usual.",
    "write": "4.68 k, or OL",
    "windows": [
        {
            "quantity": "ohms", "low": "4465", "high": "4935", "text": "4.465 kΩ to 4.935 kΩ", "assumed": "",
            "source": "the marked tolerance",
        }
    ],
    "cautions": [],
    "elsewhere": [
        {
            "reading": "4.71 k", "limits": ["4.465 kΩ to 4.935 kΩ"], "verdict": "good", "in_circuit": False,
            "source": "Fenland Repair Evening",
        }
    ],
}  # fmt: skip
METHODS = {"lot": 5, "spec_text": "4k7 5 % resistor", "methods": [METHOD], "caution": DEFER}
LOT = OpenApiParameter("lot", int, required=True, description="The lot that is to be tried.")


class WindowSerializer(serializers.Serializer[Any]):
    """In Ω, F, H, Hz, V, or as a bare gain."""

    quantity = serializers.CharField()
    low = serializers.SerializerMethodField()
    high = serializers.SerializerMethodField()
    text = serializers.CharField()
    assumed = serializers.CharField(allow_blank=True, help_text="The tolerance taken where none is marked.")

    def get_fields(self) -> dict[str, Any]:
        return {**super().get_fields(), "source": serializers.CharField()}

    @extend_schema_field({"type": ["string", "null"]})
    def get_low(self, window: Window) -> str | None:
        return None if window.low is None else _plainly(window.low)

    @extend_schema_field({"type": ["string", "null"]})
    def get_high(self, window: Window) -> str | None:
        return None if window.high is None else _plainly(window.high)


def _plainly(amount: Decimal) -> str:
    """At most nine figures, without an exponent."""
    with localcontext(prec=9):
        return f"{(+amount).normalize():f}"


class TriedElsewhereSerializer(serializers.Serializer[Any]):
    """What another workshop read of such a part; it judges nothing here."""

    reading = serializers.CharField(allow_blank=True)
    limits = serializers.ListField(child=serializers.CharField())
    verdict = serializers.ChoiceField(Trial.Verdict.choices)
    in_circuit = serializers.BooleanField()

    def get_fields(self) -> dict[str, Any]:
        return {**super().get_fields(), "source": serializers.CharField(help_text="Whose word it is.")}


class MethodSerializer(serializers.Serializer[Any]):
    name = serializers.CharField()
    connect = serializers.CharField()
    expect = serializers.CharField()
    write = serializers.CharField(help_text="How the reading is written down.")
    windows = WindowSerializer(many=True)
    cautions = TrialCautionSerializer(many=True)
    elsewhere = serializers.SerializerMethodField(help_text="Newest file first.")

    @extend_schema_field(TriedElsewhereSerializer(many=True))
    def get_elsewhere(self, method: methods.Method) -> list[dict[str, Any]]:
        return [each._asdict() for each in self.context["elsewhere"].get(method.name, ())]


@extend_schema_serializer(examples=[OpenApiExample("A resistor", METHODS, response_only=True)])
class MethodsSerializer(serializers.Serializer[Any]):
    """Most telling first."""

    lot = serializers.IntegerField()
    spec_text = serializers.CharField()
    methods = MethodSerializer(many=True)
    caution = serializers.CharField()


class TrialFilters(AskedFilters):
    lot = ModelChoiceFilter(queryset=Lot.objects.all())
    part = ModelChoiceFilter(field_name="lot__part", queryset=Part.objects.all())
    board = ModelChoiceFilter(queryset=Board.objects.all())
    verdict = AnyOfFilter(choices=Trial.Verdict.choices)
    in_circuit = YesNoFilter()

    class Meta:
        model = Trial
        fields: list[str] = []


class TrialViewSet(Pictured):
    """Tests, newest first."""

    model = Trial
    photo_subject = "trial"
    http_method_names = ["get", "head", "post"]
    serializer_class = TrialSerializer
    filterset_class = TrialFilters
    search_texts = ("method", "reading", "note", "lot__part__spec__text", "board__name", "ref")
    search_spec = "lot__part__spec__"
    orderings = {"at": "at", "method": "method", "verdict": "verdict"}
    default_ordering = ("-id",)

    def get_queryset(self) -> QuerySet[Trial]:
        return Trial.objects.select_related("by", "board", "record__board")

    def make(self, data: dict[str, Any]) -> Trial:
        lot, quantity = data.get("lot"), data.pop("quantity", None)
        named = quantity is not None or data.get("place") is not None
        at = spot_in(data, lot, "place", "ref") if lot is not None and named else None
        data.pop("place", None)
        try:
            return trials.record(by=self.person, quantity=quantity, at=at, **data)
        except methods.NotJudged as unjudged:
            raise wrong("verdict", str(unjudged), Code.REQUIRED) from None
        except UnreadableReading as unread:
            raise wrong("reading", str(unread), Code.UNREADABLE) from None

    @extend_schema(
        responses=MethodsSerializer, operation_id="trials_methods", parameters=[LOT], filters=False
    )
    @action(detail=False, query_parameters=[LOT], pagination_class=None)
    def methods(self, request: Request) -> Response:
        """The trials that a lot can have: what to connect, what to expect, and the pass windows."""
        lot = get_object_or_404(
            Lot.objects.select_related("part__spec"), pk=number_asked(request, "lot", 0) or _which_lot()
        )
        spec = lot.part.spec.spec
        known = {"elsewhere": tried_elsewhere(lot.part.spec)}
        offered = MethodSerializer(methods.methods_for(spec), many=True, context=known).data
        return Response({"lot": lot.pk, "spec_text": spec.text, "methods": offered, "caution": DEFER})


def _which_lot() -> NoReturn:
    raise bad_query("lot", "say the lot that is to be tried", Code.REQUIRED)
