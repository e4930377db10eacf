"""`boards/{id}/chips/`: chips out of their sockets while the rails are measured, and back again."""

from dataclasses import dataclass
from typing import Annotated, Self

from drf_spectacular.utils import OpenApiExample
from pydantic import Field
from rest_framework import serializers
from rest_framework.request import Request
from rest_framework.response import Response

from inventory.answers import Answer, WholeAnswer, answers, as_json
from inventory.api.fields import StrictSerializer
from repairs import chips
from repairs.api.of_board import OfBoard

OUT, BACK = "out", "back"


class MoveChipsSerializer(StrictSerializer):
    """`out`: every chip that a rail protects, to a tray of the board's own; `back`: each into its socket."""

    chips = serializers.ChoiceField([OUT, BACK])


@dataclass
class ChipOut(Answer):
    ref: str
    lot: int
    place: int
    place_name: str
    movement: Annotated[int, Field(description="The line by which it came out.")]


@dataclass
class Chips(WholeAnswer):
    """What is to be out while the rails are measured and sits in a socket still, and what is out."""

    board: int
    in_sockets: list[str]
    out: list[ChipOut]

    @classmethod
    def example(cls) -> Self:
        return cls(9, [], [ChipOut("IC7", 31, 44, "Chips of Tern C", 120)])


class BoardChips(OfBoard):
    @answers(Chips, "One is out", operation_id="boards_chips")
    def get(self, request: Request, pk: int) -> Response:
        """Which chips are to come out before the rails are measured, and which are out."""
        return Response(as_json(self.answer()))

    @answers(
        Chips,
        "One is out",
        [OpenApiExample("Out of their sockets", {"chips": OUT}, request_only=True)],
        status=201,
        request=MoveChipsSerializer,
        operation_id="boards_chips_create",
    )
    def post(self, request: Request, pk: int) -> Response:
        """Take them all out, or put them all back, as one step.  409 where there is none to move."""
        read = MoveChipsSerializer(data=request.data)
        read.is_valid(raise_exception=True)
        move = chips.take_out if read.validated_data["chips"] == OUT else chips.put_back
        move(self.board, by=self.person)
        return Response(as_json(self.answer()), status=201)

    def answer(self) -> Chips:
        out = [
            ChipOut(line.from_ref, line.lot_id, line.to_place_id, line.to_place.name, line.pk)
            for line in chips.taken_out(self.board)
        ]
        return Chips(self.board.pk, chips.in_sockets(self.board), out)
