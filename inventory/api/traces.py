"""Traces as they are answered, of a lot and of a board: by the API and by the command."""

from collections.abc import Mapping
from typing import Any

from drf_spectacular.utils import OpenApiExample, extend_schema_serializer
from rest_framework import serializers

from inventory.api.movement_lines import LINE, MovementLineSerializer
from inventory.api.origins import OriginField
from inventory.models import Board, Holding, Lot, Place
from inventory.traces import PositionTrace, trace_board, trace_lot

FILM = "100n 63 V film, radial"


class PlacedSerializer(serializers.Serializer[Any]):
    """Pieces that are somewhere now."""

    lot = serializers.IntegerField()
    place = serializers.IntegerField()
    place_name = serializers.CharField()
    type = serializers.ChoiceField(Place.Type.choices)
    ref = serializers.CharField(allow_blank=True)
    quantity = serializers.IntegerField()
    promised = serializers.IntegerField()


class WhereaboutsSerializer(PlacedSerializer):
    mixed = serializers.BooleanField(
        help_text="They are in a lot that they joined; others can be among them."
    )


class HandOverSerializer(serializers.Serializer[Any]):
    """That the pieces became somebody's; a blank name is everybody."""

    before = serializers.CharField(allow_blank=True)
    after = serializers.CharField(allow_blank=True)
    by = serializers.CharField(source="by.username", default=None, allow_null=True)
    at = serializers.DateTimeField()


HANDED_OVER = {"before": "", "after": "robin", "by": "robin", "at": "2026-11-20T18:02:00Z"}
SALVAGED = {"source": "board", "board": 3, "board_name": "Plover donor", "ref": "C7", "from": ""}
WHERE = {
    "lot": 5, "place": 12, "place_name": "Tray 1", "type": "tray", "ref": "", "quantity": 1, "promised": 0,
    "mixed": False,
}  # fmt: skip


@extend_schema_serializer(
    examples=[
        OpenApiExample(
            "A salvaged piece",
            {
                "lot": 5, "spec_text": FILM, "condition": "good", "split_from": None,
                "origin": SALVAGED, "movements": [LINE], "now": [WHERE],
                "hand_overs": [HANDED_OVER],
            },
            response_only=True,
        )
    ]
)  # fmt: skip
class LotTraceSerializer(serializers.Serializer[Any]):
    """Where the pieces came from, every movement since, oldest first, and where each is now."""

    lot = serializers.IntegerField()
    spec_text = serializers.CharField()
    condition = serializers.ChoiceField(Lot.Condition.choices)
    split_from = serializers.IntegerField(allow_null=True)
    origin = OriginField()
    movements = MovementLineSerializer(many=True)
    now = WhereaboutsSerializer(many=True)
    hand_overs = HandOverSerializer(many=True)


class CameOffSerializer(serializers.Serializer[Any]):
    lot = serializers.IntegerField()
    spec_text = serializers.CharField()
    condition = serializers.ChoiceField(Lot.Condition.choices)
    now = PlacedSerializer(many=True)


class FittedSerializer(serializers.Serializer[Any]):
    lot = serializers.IntegerField()
    spec_text = serializers.CharField()
    condition = serializers.ChoiceField(Lot.Condition.choices)
    quantity = serializers.IntegerField()
    promised = serializers.IntegerField()
    original = serializers.BooleanField(help_text="It came with the board, at this position.")
    origin = OriginField()


class PositionTraceSerializer(serializers.Serializer[Any]):
    ref = serializers.CharField(allow_blank=True, help_text="Blank: loose on the board.")
    spec_text = serializers.CharField(allow_blank=True, help_text="What the design wants there.")
    came_off = CameOffSerializer(many=True)
    fitted = FittedSerializer(many=True)


TRACE = {
    "board": 3, "name": "Plover donor",
    "positions": [
        {
            "ref": "C7", "spec_text": FILM,
            "came_off": [
                {
                    "lot": 5, "spec_text": FILM, "condition": "good",
                    "now": [{name: label for name, label in WHERE.items() if name != "mixed"}],
                }
            ],
            "fitted": [
                {
                    "lot": 9, "spec_text": "100n 100 V film, radial", "condition": "good", "quantity": 1,
                    "promised": 0, "original": False,
                    "origin": {"source": "bought", "board": None, "board_name": "", "ref": "", "from": ""},
                }
            ],
        }
    ],
}  # fmt: skip


@extend_schema_serializer(examples=[OpenApiExample("A donor", TRACE, response_only=True)])
class BoardTraceSerializer(serializers.Serializer[Any]):
    """For each position: what came off it and where that is now, what is in it and where that came from."""

    board = serializers.IntegerField()
    name = serializers.CharField()
    positions = PositionTraceSerializer(many=True)


def lot_trace(lot: Lot, paths: Mapping[int, str]) -> dict[str, Any]:
    """Where the pieces of a lot came from, every movement since, and where each is now."""
    trace = trace_lot(lot)
    handed = lot.hand_overs.select_related("by").order_by("id")
    return {
        "lot": lot.pk,
        "spec_text": lot.part.spec.text,
        "condition": lot.condition,
        "split_from": lot.split_from_id,
        "origin": OriginField().to_representation(lot),
        "movements": MovementLineSerializer(trace.movements, many=True).data,
        "hand_overs": HandOverSerializer(handed, many=True).data,
        "now": [{**where(there.holding, paths), "mixed": there.mixed} for there in trace.now],
    }


def board_trace(board: Board, paths: Mapping[int, str]) -> dict[str, Any]:
    """What came off each position and where it is now; what is fitted and where it came from."""
    positions = [_position(board, trace, paths) for trace in trace_board(board)]
    return {"board": board.pk, "name": board.name, "positions": positions}


def _position(board: Board, trace: PositionTrace, paths: Mapping[int, str]) -> dict[str, Any]:
    return {
        "ref": trace.ref,
        "spec_text": trace.spec.text if trace.spec is not None else "",
        "came_off": [
            {
                "lot": lot.pk,
                "spec_text": lot.part.spec.text,
                "condition": lot.condition,
                "now": [where(holding, paths) for holding in held],
            }
            for lot, held in trace.came_off
        ],
        "fitted": [_fitted(board, holding) for holding in trace.fitted],
    }


def _fitted(board: Board, holding: Holding) -> dict[str, Any]:
    lot = holding.lot
    return {
        "lot": lot.pk,
        "spec_text": lot.part.spec.text,
        "condition": lot.condition,
        "quantity": holding.quantity,
        "promised": holding.promised,
        "original": (lot.origin_board_id, lot.origin_ref) == (board.pk, holding.ref),
        "origin": OriginField().to_representation(lot),
    }


def where(holding: Holding, paths: Mapping[int, str]) -> dict[str, Any]:
    """A holding as a trace tells it; its place is loaded."""
    return {
        "lot": holding.lot_id,
        "place": holding.place_id,
        "place_name": paths[holding.place_id],
        "type": holding.place.type,
        "ref": holding.ref,
        "quantity": holding.quantity,
        "promised": holding.promised,
    }
