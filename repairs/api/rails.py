"""`boards/{id}/rails/`: the supply rails in the order of proving, and readings on them."""

from typing import Any

from drf_spectacular.utils import OpenApiExample, extend_schema, extend_schema_serializer
from rest_framework import serializers
from rest_framework.request import Request
from rest_framework.response import Response

from inventory.api.fields import StrictSerializer
from inventory.refusals import Code
from repairs import bringing_up, readiness
from repairs.api.fields import RefsField, wrong
from repairs.api.of_board import FactSerializer, OfBoard, one_of
from repairs.proving import ready
from repairs.proving.items import STATES
from repairs.proving.meter import UnreadableReading
from repairs.proving.rails import AT_PINS, CHIPS_IN, CHIPS_OUT, OHMS, STAGES, STEPS, reading_at
from repairs.proving_models import RailReading

STEP = {
    "stage": "chips_out", "state": "stop", "refs": ["IC10", "IC11"],
    "reason": "0.1 V, expected -5.25 to -4.75 V; must not be fitted before it is good: "
              "IC10, IC11, take them out",
    "caution": "Current-limited supply, hand on the switch, eyes covered; power off "
               "before each chip goes in.",
}  # fmt: skip
READING = {
    "id": 7, "rail": "-5V", "stage": "chips_out", "ref": "", "reading": "-5.02 V", "filled": [],
    "note": "dummy load on +5", "by": "robin", "at": "2026-11-21T19:02:00Z",
}  # fmt: skip
RAIL = {
    "rail": "-5V", "nominal": "-5", "low": "-5.25", "high": "-4.75", "ohms_low": None,
    "ohms_high": None, "order": 1,
    "at": "IC10 pin 21 with LK1 at 1-2", "protects": ["IC10", "IC11"], "steps": [STEP], "readings": [READING],
}  # fmt: skip
SENT = {"rail": "-5V", "stage": "chips_out", "reading": "-5.02 V", "note": "dummy load on +5"}
AT_THE_PINS = {"rail": "-5V", "stage": "at_pins", "reading": "-5.01 V", "refs": ["IC10"]}
OHMS_SENT = {"rail": "-5V", "stage": "ohms", "reading": "1k2"}


class ReadingSerializer(FactSerializer):
    rail = serializers.CharField()
    stage = one_of(STAGES)
    ref = serializers.CharField(allow_blank=True)
    reading = serializers.CharField(source="text")
    filled = serializers.ListField(
        child=serializers.CharField(), help_text="Positions it protects that held a chip when it was taken."
    )


class StepSerializer(serializers.Serializer[Any]):
    stage = one_of(STEPS)
    state = one_of(STATES)
    reason = serializers.CharField()
    refs = serializers.ListField(child=serializers.CharField())
    caution = serializers.CharField(allow_blank=True)


class RailSerializer(serializers.Serializer[Any]):
    rail = serializers.CharField(source="name")
    nominal = serializers.CharField()
    low = serializers.CharField()
    high = serializers.CharField()
    ohms_low = serializers.CharField(allow_null=True, help_text="Least ohms to ground of a sound board.")
    ohms_high = serializers.CharField(allow_null=True, help_text="Most ohms to ground of a sound board.")
    order = serializers.IntegerField()
    at = serializers.CharField(allow_blank=True)
    protects = serializers.ListField(child=serializers.CharField(), help_text="Stay empty until it is good.")
    steps = StepSerializer(many=True)
    readings = ReadingSerializer(many=True)


@extend_schema_serializer(
    examples=[OpenApiExample("A missing rail", {"board": 9, "rails": [RAIL]}, response_only=True)]
)
class RailsSerializer(serializers.Serializer[Any]):
    """In the order of proving: ohms of all, volts with the chips out, ohms with them in, volts at pins."""

    board = serializers.IntegerField()
    rails = RailSerializer(many=True)


@extend_schema_serializer(
    examples=[
        OpenApiExample("Ohms to ground", OHMS_SENT, request_only=True),
        OpenApiExample("Chips out", SENT, request_only=True),
        OpenApiExample("At the pins", AT_THE_PINS, request_only=True),
    ]
)
class TakenSerializer(StrictSerializer):
    """A reading: ohms to ground, volts with the chips out, or volts at the pins of `refs`."""

    rail = serializers.CharField(max_length=120)
    stage = serializers.ChoiceField(STAGES)
    reading = serializers.CharField(max_length=80, help_text="As on the meter: `1k2`, `OL`, `-5.02 V`.")
    refs = RefsField(required=False)
    note = serializers.CharField(required=False, allow_blank=True, max_length=400)

    def validate(self, attrs: dict[str, Any]) -> dict[str, Any]:
        stage, refs = attrs["stage"], attrs.get("refs", [])
        if bool(refs) != (stage == AT_PINS):
            message = "say the positions whose pins were measured" if stage == AT_PINS else "only at the pins"
            raise wrong("refs", message, Code.REQUIRED if stage == AT_PINS else Code.CONTRADICTION)
        try:
            return {**attrs, "amount": reading_at(stage, attrs["reading"]).amount}
        except UnreadableReading as refused:
            raise wrong("reading", str(refused), Code.UNREADABLE) from None


_CHECK = {"ohms": OHMS, "rail": CHIPS_OUT, "ohms_in": CHIPS_IN, "pins": AT_PINS}


class BoardRails(OfBoard):
    @extend_schema(responses=RailsSerializer, operation_id="boards_rails_list")
    def get(self, request: Request, pk: int) -> Response:
        """Each rail with its window, the steps of proving it, and the readings taken."""
        return Response(self.answer())

    @extend_schema(
        request=TakenSerializer, responses={201: RailsSerializer}, operation_id="boards_rails_create"
    )
    def post(self, request: Request, pk: int) -> Response:
        """Write a reading down; answered with what it means for every rail."""
        read = TakenSerializer(data=request.data)
        read.is_valid(raise_exception=True)
        data = read.validated_data
        bringing_up.read_rail(
            self.board, data["rail"], data["stage"], data["amount"],
            by=self.person, refs=data.get("refs", ()), note=data.get("note", ""), seen=self.seen,
        )  # fmt: skip
        return Response(self.answer(), status=201)

    def answer(self) -> dict[str, Any]:
        facts = readiness.facts_of(self.board)
        steps: dict[str, list[dict[str, Any]]] = {}
        for found in ready.findings(facts):
            if found.check in _CHECK:
                step = {name: getattr(found, name) for name in ("state", "reason", "refs", "caution")}
                steps.setdefault(found.subject, []).append({"stage": _CHECK[found.check], **step})
        readings: dict[str, list[RailReading]] = {}
        for row in self.board.rail_readings.filter(withdrawn=None).select_related("by").order_by("id"):
            readings.setdefault(row.rail, []).append(row)
        rails = [
            {**vars(rail), "steps": steps.get(rail.name, []), "readings": readings.get(rail.name, [])}
            for rail in (facts.design.rails if facts.design else ())
        ]
        return {"board": self.board.pk, "rails": RailSerializer(rails, many=True).data}
