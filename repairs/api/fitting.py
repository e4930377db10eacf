"""`boards/{id}/cautions/` and `boards/{id}/fitting/`: what to mind before a piece comes off, or goes in."""

from typing import Any, NoReturn

from django.shortcuts import get_object_or_404
from drf_spectacular.utils import OpenApiExample, OpenApiParameter, extend_schema, extend_schema_serializer
from rest_framework import serializers
from rest_framework.request import Request
from rest_framework.response import Response

from inventory.api.designs import ReasonSerializer
from inventory.api.lists import bad_query, whole_number
from inventory.models import Lot
from inventory.refs import UnreadableRefs, parse_refs
from inventory.refusals import Code
from repairs import hazards, readiness, substitutions
from repairs.api.fields import reasons
from repairs.api.of_board import OfBoard, one_of
from repairs.api.trials import TrialCautionSerializer
from repairs.proving.cautions import DEFER

REFS = OpenApiParameter("refs", str, description="The positions that are to be lifted: `C1, R1-R4`.")
REF = OpenApiParameter("ref", str, required=True, description="The position.")
LOT = OpenApiParameter("lot", int, required=True, description="The lot that is to go in.")
MIND = {
    "board": 9, "refs": ["C7"], "blocked": False, "defer": DEFER,
    "cautions": [
        {
            "step": "high_voltage", "blocked": False,
            "text": "Unplug first. Stored charge: discharge through a resistor, not a screwdriver.",
        }
    ],
}  # fmt: skip
FITTING = {
    "board": 9, "ref": "TR2", "lot": 44, "grade": "with_note",
    "reasons": [
        {
            "property": "pin_order", "required": "E-B-C", "offered": "C-B-E", "rule": "turned round",
            "grade": "with_note", "settled_by": "",
        }
    ],
    "orientation": "legs: as recorded for this substitute: turned round", "links": "",
    "substitution": "seen working (robin); turned round",
}  # fmt: skip


@extend_schema_serializer(examples=[OpenApiExample("High voltage", MIND, response_only=True)])
class MindSerializer(serializers.Serializer[Any]):
    board = serializers.IntegerField()
    refs = serializers.ListField(child=serializers.CharField())
    blocked = serializers.BooleanField(help_text="It is not done here at all: a lift answers 409.")
    cautions = TrialCautionSerializer(many=True)
    defer = serializers.CharField()


@extend_schema_serializer(examples=[OpenApiExample("Other pins", FITTING, response_only=True)])
class FittingSerializer(serializers.Serializer[Any]):
    board = serializers.IntegerField()
    ref = serializers.CharField()
    lot = serializers.IntegerField()
    grade = one_of(("same", "drop_in", "with_note", "ask", "no"))
    reasons = ReasonSerializer(many=True)
    orientation = serializers.CharField(
        allow_blank=True, help_text="Which way it goes in; turned round or crossed."
    )
    links = serializers.CharField(allow_blank=True, help_text="Links to check.")
    substitution = serializers.CharField(
        allow_blank=True, help_text="What was recorded of this part in this place: evidence, legs, note."
    )


class BoardCautions(OfBoard):
    query_parameters = (REFS,)

    @extend_schema(responses=MindSerializer, operation_id="boards_cautions")
    def get(self, request: Request, pk: int) -> Response:
        """What to mind before pieces come off this board."""
        text = request.query_params.get("refs")
        try:
            refs = parse_refs(text) if text is not None else []
        except UnreadableRefs as unread:
            raise bad_query("refs", str(unread)) from None
        found = hazards.before_lifting(self.board, refs)
        body = {
            "board": self.board.pk,
            "refs": refs,
            "blocked": any(caution.blocked for caution in found),
            "cautions": [vars(caution) for caution in found],
            "defer": DEFER,
        }
        return Response(body)


class BoardFitting(OfBoard):
    query_parameters = (REF, LOT)

    @extend_schema(responses=FittingSerializer, operation_id="boards_fitting")
    def get(self, request: Request, pk: int) -> Response:
        """Before a lot goes into a position: does it serve, which way round, and which links it asks for."""
        ref = request.query_params.get("ref") or _missing("ref", "say the position")
        lot = get_object_or_404(
            Lot.objects.select_related("part__spec"),
            pk=whole_number(request, "lot", 0) or _missing("lot", "say the lot"),
        )
        positions = self.board.design.positions.select_related("spec") if self.board.design else None
        position = positions.filter(ref=ref).first() if positions is not None and "\x00" not in ref else None
        if position is None:
            raise bad_query("ref", "the board's design has no such position", Code.UNKNOWN)
        fit = substitutions.judge_at(position.spec.spec, lot, (self.board.design_id, ref))
        notes = readiness.fitting_notes(self.board, ref, lot)
        body = {
            "board": self.board.pk,
            "ref": ref,
            "lot": lot.pk,
            "grade": fit.grade,
            "reasons": reasons(fit),
        }
        return Response(
            body | {name: notes.get(name, "") for name in ("orientation", "links", "substitution")}
        )


def _missing(name: str, detail: str) -> NoReturn:
    raise bad_query(name, detail, Code.REQUIRED)
