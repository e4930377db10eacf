"""`jobs/{id}/transfer/`: what of a donor goes where on the job's board."""

from typing import Any

from django.shortcuts import get_object_or_404
from drf_spectacular.utils import OpenApiExample, OpenApiParameter, extend_schema, extend_schema_serializer
from rest_framework import serializers
from rest_framework.request import Request
from rest_framework.response import Response

from inventory.api.lists import bad_query, whole_number
from inventory.api.viewsets import Conventions
from inventory.models import Board
from inventory.spec import Spec, fits
from repairs.api.fields import reasons
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
from repairs.models import Job
from repairs.planning.transfer import Move
from repairs.transfer import TransferPlan, transfer_plan

HOW = ("same", "moved", "substitute")
_FILM, _LOWER = (
    Spec.from_dict({"kind": "capacitor", "value": "100n", "volts": volts, "dielectric": "film"})
    for volts in ("63", "16")
)
ANSWERED = {
    "job": 4, "from": 3, "from_name": "Plover donor", "to": 9, "to_name": "Plover C bare",
    "totals": {
        "same": 0, "moved": 1, "substitute": 0, "missing": 1, "empty": 1, "left_over": 1, "filled": 3
    },
    "cautions": [CAUTION],
    "moves": [{**PIECE, "to_ref": "C7", "need": 32, "how": "moved", "grade": "same", "reasons": []}],
    "missing": [
        {
            "ref": "C9", "spec_text": _FILM.text, "need": 33,
            "refused": [{**PIECE, "lot": 9, "grade": "no", "reasons": reasons(fits(_FILM, _LOWER))}],
        }
    ],
    "empty": [{"ref": "C12", "spec_text": _FILM.text, "why": "left out on purpose"}],
    "left_over": [{**PIECE, "lot": 9, "ref": "C4"}],
    "filled": ["R1", "R2", "R3"],
}  # fmt: skip


class MoveSerializer(FitSerializer, PieceSerializer):
    """`substitute` where the piece is not just what is required, `moved` where it changes its reference."""

    to_ref = serializers.CharField()
    need = serializers.IntegerField(allow_null=True)
    how = one_of(HOW)


class NearMissSerializer(FitSerializer, PieceSerializer):
    """A piece of the donor that does not do, and why."""


class MissingSerializer(serializers.Serializer[Any]):
    """New on this board, or not to be had from the donor: must be found elsewhere."""

    ref = serializers.CharField()
    spec_text = serializers.CharField()
    need = serializers.IntegerField(allow_null=True)
    refused = NearMissSerializer(many=True)


class EmptySerializer(serializers.Serializer[Any]):
    ref = serializers.CharField()
    spec_text = serializers.CharField()
    why = serializers.CharField()


class TransferTotalsSerializer(serializers.Serializer[Any]):
    same = serializers.IntegerField()
    moved = serializers.IntegerField()
    substitute = serializers.IntegerField()
    missing = serializers.IntegerField()
    empty = serializers.IntegerField()
    left_over = serializers.IntegerField()
    filled = serializers.IntegerField()


@extend_schema_serializer(examples=[OpenApiExample("To revision C", ANSWERED, response_only=True)])
class TransferSerializer(serializers.Serializer[Any]):
    """The moves are a work list, in lifting order."""

    job = serializers.IntegerField()
    from_name = serializers.CharField()
    to = serializers.IntegerField()
    to_name = serializers.CharField()
    totals = TransferTotalsSerializer()
    cautions = CautionSerializer(many=True)
    moves = MoveSerializer(many=True)
    missing = MissingSerializer(many=True)
    empty = EmptySerializer(many=True)
    left_over = PieceSerializer(many=True)
    filled = serializers.ListField(child=serializers.CharField())

    def get_fields(self) -> dict[str, Any]:
        return {"from": serializers.IntegerField(), **super().get_fields()}


class JobTransfer(Conventions):
    query_parameters = (
        OpenApiParameter(
            "from", {"type": "integer", "minimum": 1}, required=True, description="The donor: a board's id."
        ),
    )

    @extend_schema(responses=TransferSerializer, operation_id="jobs_transfer")
    def get(self, request: Request, pk: int) -> Response:
        """What moves from the donor to which position, what must be found, and what is left over."""
        job = get_object_or_404(Job.objects.select_related("board__design", "board__place"), pk=pk)
        donor = Board.objects.select_related("design").filter(pk=whole_number(request, "from", 0)).first()
        if donor is None:
            raise bad_query("from", "want the id of a board", "does_not_exist")
        return Response(as_json(job, donor, transfer_plan(job, donor)))


def how(move: Move) -> str:
    return "substitute" if move.substitute else "same" if move.same_reference else "moved"


def as_json(job: Job, donor: Board, found: TransferPlan) -> dict[str, Any]:
    plan = found.plan
    told = [how(move) for move in plan.moves]
    assert job.board is not None  # else the plan is refused
    return {
        "job": job.pk, "from": donor.pk, "from_name": donor.name, "to": job.board.pk,
        "to_name": job.board.name,
        "totals": {
            **{name: told.count(name) for name in HOW}, "missing": len(plan.missing),
            "empty": len(plan.empty), "left_over": len(plan.left_over), "filled": len(found.filled),
        },
        "cautions": [caution(each) for each in found.cautions],
        "moves": [
            {
                **piece(move.piece), "to_ref": move.ref, "need": found.needs.get(move.ref), "how": how(move),
                **fit(move.fit),
            }
            for move in plan.moves
        ],
        "missing": [
            {
                "ref": each.ref, "spec_text": each.spec.text, "need": found.needs.get(each.ref),
                "refused": [{**piece(near), **fit(why)} for near, why in each.refused],
            }
            for each in plan.missing
        ],
        "empty": [{"ref": each.ref, "spec_text": each.spec.text, "why": each.empty} for each in plan.empty],
        "left_over": [piece(each) for each in plan.left_over],
        "filled": list(found.filled),
    }  # fmt: skip
