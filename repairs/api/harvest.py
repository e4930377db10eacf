"""`boards/harvest/`: what to lift off which donor, in which order."""

from typing import Any

from drf_spectacular.utils import OpenApiExample, OpenApiParameter, extend_schema, extend_schema_serializer
from rest_framework import serializers
from rest_framework.request import Request
from rest_framework.response import Response

from inventory.api.viewsets import Conventions
from repairs.api.fields import open_jobs
from repairs.api.lifting import (
    CAUTION,
    PIECE,
    CautionSerializer,
    FitSerializer,
    PieceSerializer,
    caution,
    fit,
    piece,
)
from repairs.api.of_board import one_of
from repairs.harvest import HarvestPlan, harvest_plan
from repairs.planning.harvest import Lift

WORTH = ("worth", "usual", "contested", "no")
BECAUSE = ("reorder", "popular")
_WORTH = {"worth": "contested", "why": "a small ceramic costs less than the time"}
ANSWERED = {
    "totals": {"boards": 1, "lifts": 1, "extras": 1},
    "boards": [
        {
            "board": 3, "name": "Plover donor", "place": 40, "cautions": [CAUTION],
            "lifts": [
                {
                    **PIECE, **_WORTH, "job": 4, "job_name": "Plover C rebuild", "refs": ["C7", "C8"],
                    "grade": "same", "reasons": [],
                }
            ],
            "extras": [
                {
                    **PIECE, **_WORTH, "lot": 9, "ref": "C4", "because": "popular",
                    "because_text": "drawings ask for its like at 12 positions, 1 left in the drawers",
                }
            ],
        }
    ],
    "blocked": [], "out_of_reach": [],
}  # fmt: skip


class WorthSerializer(PieceSerializer):
    worth = one_of(WORTH)
    why = serializers.CharField(allow_blank=True)


class ExtraSerializer(WorthSerializer):
    """A piece that is suggested because the drawers lack its like."""

    because = one_of(BECAUSE)
    because_text = serializers.CharField()


class LiftSerializer(FitSerializer, WorthSerializer):
    """A piece to lift for a job, and the references that want one like it."""

    job = serializers.IntegerField()
    job_name = serializers.CharField()
    refs = serializers.ListField(child=serializers.CharField())


class BoardWorkSerializer(serializers.Serializer[Any]):
    """The work at one board, in lifting order; cautions first."""

    board = serializers.IntegerField()
    name = serializers.CharField()
    place = serializers.IntegerField()
    cautions = CautionSerializer(many=True)
    lifts = LiftSerializer(many=True)
    extras = ExtraSerializer(
        many=True,
        help_text="Worth taking while the iron is hot: `reorder`, the drawers are below the reorder level; "
        "`popular`, the drawings often ask for its like and the drawers lack it.",
    )


class BlockedPieceSerializer(PieceSerializer):
    board = serializers.IntegerField()
    name = serializers.CharField()
    caution = CautionSerializer()


class OutOfReachSerializer(serializers.Serializer[Any]):
    spec_text = serializers.CharField()
    quantity = serializers.IntegerField()


class HarvestTotalsSerializer(serializers.Serializer[Any]):
    boards = serializers.IntegerField()
    lifts = serializers.IntegerField()
    extras = serializers.IntegerField()


@extend_schema_serializer(examples=[OpenApiExample("One donor", ANSWERED, response_only=True)])
class HarvestSerializer(serializers.Serializer[Any]):
    """Boards by the first in line that they serve; what must not be lifted; what no board can give."""

    totals = HarvestTotalsSerializer()
    boards = BoardWorkSerializer(many=True)
    blocked = BlockedPieceSerializer(many=True)
    out_of_reach = OutOfReachSerializer(many=True)


class HarvestView(Conventions):
    query_parameters = (
        OpenApiParameter("job", int, many=True, description="Only for these jobs. May be repeated."),
    )

    @extend_schema(responses=HarvestSerializer, operation_id="boards_harvest")
    def get(self, request: Request) -> Response:
        """The fewest lifts that close what donors can close, board by board in lifting order."""
        return Response(as_json(harvest_plan(open_jobs(request))))


def as_json(found: HarvestPlan) -> dict[str, Any]:
    work = found.plan.boards
    return {
        "totals": {
            "boards": len(work),
            "lifts": sum(len(at.lifts) for at in work),
            "extras": sum(len(at.extras) for at in work),
        },
        "boards": [
            {
                "board": at.board,
                "name": found.boards[at.board].name,
                "place": found.boards[at.board].place_id,
                "cautions": [caution(each) for each in at.cautions],
                "lifts": [_lift(found, each) for each in at.lifts],
                "extras": [_extra(each) for each in at.extras],
            }
            for at in work
        ],
        "blocked": [
            {
                "board": each.board,
                "name": found.boards[each.board].name,
                **piece(each),
                "caution": caution(why),
            }
            for each, why in found.plan.blocked
        ],
        "out_of_reach": [
            {"spec_text": found.specs[alike].text, "quantity": pieces}
            for alike, pieces in found.plan.out_of_reach.items()
        ],
    }


def _worth(lift: Lift) -> dict[str, Any]:
    return {**piece(lift.piece), "worth": lift.worth.verdict, "why": lift.worth.why}


def _extra(lift: Lift) -> dict[str, Any]:
    assert lift.wish is not None  # every extra fills one
    return {**_worth(lift), "because": lift.wish.because, "because_text": lift.wish.text}


def _lift(found: HarvestPlan, lift: Lift) -> dict[str, Any]:
    job = found.lines[lift.demand]
    assert lift.fit is not None  # only extras are for no demand
    return {**_worth(lift), "job": job.job, "job_name": job.name, "refs": job.refs, **fit(lift.fit)}
