"""`boards/{id}/chips/`: chips out of their sockets while the rails are measured, and back again."""

from typing import Any

from drf_spectacular.utils import OpenApiExample, extend_schema, extend_schema_serializer
from rest_framework import serializers
from rest_framework.request import Request
from rest_framework.response import Response

from inventory.api.fields import StrictSerializer
from inventory.models import Movement
from repairs import chips
from repairs.api.of_board import OfBoard

OUT, BACK = "out", "back"
ANSWERED = {
    "board": 9, "in_sockets": [],
    "out": [
        {
            "ref": "IC7", "lot": 31, "place": 44, "place_name": "Chips of Tern C", "movement": 120,
        }
    ],
}  # fmt: skip


@extend_schema_serializer(
    examples=[OpenApiExample("Out of their sockets", {"chips": OUT}, request_only=True)]
)
class MoveChipsSerializer(StrictSerializer):
    """`out`: every chip that a rail protects, to a tray of the board's own; `back`: each into its socket."""

    chips = serializers.ChoiceField([OUT, BACK])


class ChipOutSerializer(serializers.Serializer[Any]):
    ref = serializers.CharField()
    lot = serializers.IntegerField()
    place = serializers.IntegerField()
    place_name = serializers.CharField()
    movement = serializers.IntegerField(help_text="The line by which it came out.")


@extend_schema_serializer(examples=[OpenApiExample("One is out", ANSWERED, response_only=True)])
class ChipsSerializer(serializers.Serializer[Any]):
    """What is to be out while the rails are measured and sits in a socket still, and what is out."""

    board = serializers.IntegerField()
    in_sockets = serializers.ListField(child=serializers.CharField())
    out = ChipOutSerializer(many=True)


class BoardChips(OfBoard):
    @extend_schema(responses=ChipsSerializer, operation_id="boards_chips")
    def get(self, request: Request, pk: int) -> Response:
        """Which chips are to come out before the rails are measured, and which are out."""
        return Response(self.answer())

    @extend_schema(
        request=MoveChipsSerializer, responses={201: ChipsSerializer}, operation_id="boards_chips_create"
    )
    def post(self, request: Request, pk: int) -> Response:
        """Take them all out, or put them all back, as one step.  409 where there is none to move."""
        read = MoveChipsSerializer(data=request.data)
        read.is_valid(raise_exception=True)
        move = chips.take_out if read.validated_data["chips"] == OUT else chips.put_back
        move(self.board, by=self.person)
        return Response(self.answer(), status=201)

    def answer(self) -> dict[str, Any]:
        return {
            "board": self.board.pk,
            "in_sockets": chips.in_sockets(self.board),
            "out": [_out(line) for line in chips.taken_out(self.board)],
        }


def _out(line: Movement) -> dict[str, Any]:
    return {
        "ref": line.from_ref, "lot": line.lot_id, "place": line.to_place_id,
        "place_name": line.to_place.name, "movement": line.pk,
    }  # fmt: skip
