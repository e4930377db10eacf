"""How pieces to be lifted are told: what they are, when they come off, and what to mind."""

from typing import Any

from rest_framework import serializers

from inventory.api.designs import ReasonSerializer
from inventory.spec import Fit
from repairs.api.fields import reasons
from repairs.api.of_board import one_of
from repairs.planning.lifting import Piece, Stage, stage_of
from repairs.proving.cautions import Caution

STAGES = tuple(stage.name.lower() for stage in Stage)
PIECE = {
    "lot": 8, "ref": "C3", "spec_text": "100n 63 V film, radial", "condition": "untested", "socketed": False,
    "stage": "small",
}  # fmt: skip
CAUTION = {
    "step": "soldering", "blocked": False,
    "text": "Draw the fume away (rosin is an asthma sensitiser), wash hands after lead, "
            "shield the eyes when clipping.",
}  # fmt: skip


class CautionSerializer(serializers.Serializer[Any]):
    step = serializers.CharField()
    text = serializers.CharField()
    blocked = serializers.BooleanField(help_text="true: the work is refused, not advised against.")


class PieceSerializer(serializers.Serializer[Any]):
    lot = serializers.IntegerField()
    ref = serializers.CharField(allow_blank=True, help_text="Blank: loose on the board.")
    spec_text = serializers.CharField()
    condition = serializers.CharField()
    socketed = serializers.BooleanField()
    stage = one_of(STAGES)


class FitSerializer(serializers.Serializer[Any]):
    grade = serializers.CharField(help_text="same, drop_in, with_note, ask or no.")
    reasons = ReasonSerializer(many=True)


def piece(told: Piece) -> dict[str, Any]:
    return {
        "lot": told.id.lot, "ref": told.ref, "spec_text": told.spec.text, "condition": told.condition,
        "socketed": told.socketed, "stage": stage_of(told).name.lower(),
    }  # fmt: skip


def fit(told: Fit) -> dict[str, Any]:
    return {"grade": told.grade, "reasons": reasons(told)}


def caution(told: Caution) -> dict[str, Any]:
    return {"step": told.step, "text": told.text, "blocked": told.blocked}
