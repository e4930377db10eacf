"""`boards/{id}/orientation/`: which way round each part goes, and who saw that it does."""

from typing import Any

from drf_spectacular.utils import OpenApiExample, extend_schema, extend_schema_serializer
from rest_framework import serializers
from rest_framework.request import Request
from rest_framework.response import Response

from inventory.api.fields import RowField, StrictSerializer, TrueOrFalse
from inventory.api.photo_links import PICTURE
from inventory.models import Photo
from inventory.pictures import photos
from inventory.spec.recorded import AS_DRAWN, WAYS
from repairs import bringing_up, readiness
from repairs.api.fields import RefsField
from repairs.api.of_board import FactSerializer, OfBoard, one_of
from repairs.api.pictured import PicturesField
from repairs.proving import confirmations, ready
from repairs.proving.items import STATES
from repairs.proving_models import Confirmation

PLACE = {
    "ref": "C9", "lot": 44, "mark": "plus",
    "expected": "plus to 0 V, whatever the print says (a minus rail); a bead's stripe or cross marks plus",
    "way": "as_drawn", "state": "open",
    "reason": "plus: plus to 0 V, whatever the print says (a minus rail); a bead's "
              "stripe or cross marks plus",
    "confirmation": None,
}  # fmt: skip
CONFIRMED = {
    "id": 30, "right": True, "way": "as_drawn", "note": "lens, both ends", "by": "robin",
    "at": "2026-11-21T18:20:00Z", "photos": [PICTURE],
}  # fmt: skip
SENT = {"refs": ["C7-C10"], "right": True, "note": "lens, both ends", "photo": 6}


class ConfirmedSerializer(FactSerializer):
    right = serializers.BooleanField()
    way = one_of(WAYS)
    photos = PicturesField()


class OrientedSerializer(serializers.Serializer[Any]):
    ref = serializers.CharField()
    lot = serializers.IntegerField()
    mark = serializers.CharField(help_text="What to look for: pin 1, band, plus, flat, legs.")
    expected = serializers.CharField()
    way = serializers.ChoiceField(
        WAYS, allow_null=True, help_text="How this piece goes in; null: look its pin order up first."
    )
    state = one_of(STATES)
    reason = serializers.CharField()
    confirmation = ConfirmedSerializer(
        allow_null=True, help_text="The last time that somebody looked; `state` says whether it holds."
    )


@extend_schema_serializer(
    examples=[
        OpenApiExample("A bead on a minus rail", {"board": 9, "positions": [PLACE]}, response_only=True),
        OpenApiExample(
            "Confirmed with a picture",
            {"board": 9, "positions": [{**PLACE, "state": "pass", "confirmation": CONFIRMED}]},
            response_only=True,
        ),
    ]
)
class OrientationsSerializer(serializers.Serializer[Any]):
    """Every filled position whose part has a way round."""

    board = serializers.IntegerField()
    positions = OrientedSerializer(many=True)


@extend_schema_serializer(examples=[OpenApiExample("Four seen", SENT, request_only=True)])
class SeenSerializer(StrictSerializer):
    """What was seen; it holds for the piece that is there now."""

    refs = RefsField()
    right = TrueOrFalse(help_text="false: the wrong way round, which is a stop.")
    way = serializers.ChoiceField(
        WAYS, default=AS_DRAWN, help_text="How it was put in, where its legs differ from the drawing's."
    )
    note = serializers.CharField(required=False, allow_blank=True, max_length=400)
    photo = RowField(
        queryset=Photo.objects.all(), required=False, allow_null=True,
        help_text="A picture that shows it; it becomes one of each confirmation too.",
    )  # fmt: skip


class BoardOrientation(OfBoard):
    @extend_schema(responses=OrientationsSerializer, operation_id="boards_orientation_list")
    def get(self, request: Request, pk: int) -> Response:
        """What to look for at each part that has a way round, and whether somebody did."""
        return Response(self.answer())

    @extend_schema(
        request=SeenSerializer,
        responses={201: OrientationsSerializer},
        operation_id="boards_orientation_create",
    )
    def post(self, request: Request, pk: int) -> Response:
        """Confirm which way round parts are, or that they are wrong.  A refit opens it again."""
        read = SeenSerializer(data=request.data)
        read.is_valid(raise_exception=True)
        data = read.validated_data
        bringing_up.confirm_orientation(
            self.board, data["refs"],
            by=self.person, right=data["right"], way=data["way"], note=data.get("note", ""),
            photo=data.get("photo"), seen=self.seen,
        )  # fmt: skip
        return Response(self.answer(), status=201)

    def answer(self) -> dict[str, Any]:
        facts = readiness.facts_of(self.board)
        wanted = confirmations.expectations(facts)
        states = {item.subject: item for item in ready.findings(facts) if item.check == "orientation"}
        seen = Confirmation.objects.filter(
            board=self.board, item="orientation", withdrawn=None
        ).select_related("by")
        latest = {row.ref: row for row in seen.order_by("id")}
        positions = [
            {
                "ref": position.ref,
                "lot": position.piece.lot,
                "mark": wanted[position.ref].mark,
                "expected": wanted[position.ref].text,
                "way": wanted[position.ref].way,
                "state": states[position.ref].state,
                "reason": states[position.ref].reason,
                "confirmation": latest.get(position.ref),
            }
            for position in facts.positions
            if position.piece is not None and position.ref in wanted
        ]
        found = photos.shown("confirmation", [row.pk for row in latest.values()])
        context = {"request": self.request, "pictures": found}
        return {
            "board": self.board.pk,
            "positions": OrientedSerializer(positions, many=True, context=context).data,
        }
