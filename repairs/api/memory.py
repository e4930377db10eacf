"""`boards/{id}/memory/` and `boards/{id}/suspects/`: from wrong bits to positions, and what to try next."""

from typing import Any

from drf_spectacular.utils import OpenApiExample, extend_schema, extend_schema_serializer
from rest_framework import serializers
from rest_framework.request import Request
from rest_framework.response import Response

from inventory.api.fields import StrictSerializer, TrueOrFalse
from inventory.refusals import Code
from repairs import memory_tests
from repairs.api.fields import wrong
from repairs.api.of_board import OfBoard
from repairs.api.trials import TrialReasonSerializer, UnsettledSerializer
from repairs.proving.memory import LONGEST, Located, UnreadableFault, read_faults
from repairs.proving.suspects import Suspect

SUSPECT = {
    "kind": "part", "subject": "IC12", "doing": "swap it for a known good one", "effort": 2, "rank": 0,
    "disturbed": 1, "reason": "IC12: D2 wrong at 1 address, first 01C0",
    "tried": [
        {
            "ref": "IC12", "lot": 31, "method": "memory test", "verdict": "faulty", "credible": True,
            "acquitted": False, "known_good": False,
        }
    ],
}  # fmt: skip
FOUND = {
    "board": 9, "trial": 40, "passed": False, "suspect_a_rail": False,
    "pointed": [{"ref": "IC12", "bits": [2], "faults": 1, "first": "01C0"}], "unmapped": [],
    "reasons": [{"code": "points_to", "detail": "IC12: D2 wrong at 1 address, first 01C0", "source": ""}],
    "credible": True, "unsettled": [], "acquitted": {}, "suspects": [SUSPECT],
}  # fmt: skip


class AttemptSerializer(serializers.Serializer[Any]):
    ref = serializers.CharField()
    lot = serializers.IntegerField()
    method = serializers.CharField()
    verdict = serializers.CharField()
    credible = serializers.BooleanField()
    acquitted = serializers.BooleanField(help_text="A known good part failed there too.")
    known_good = serializers.BooleanField(help_text="The part was known good when it was tried.")


class SuspectSerializer(serializers.Serializer[Any]):
    kind = serializers.CharField(
        help_text="link, bank, orientation, ohms, rail, pins, position, part, or retest; of a board that "
        "failed as a whole also supply, clock, rom and memory"
    )
    subject = serializers.CharField()
    doing = serializers.CharField()
    effort = serializers.IntegerField(help_text="0: nothing is disturbed; 4: solder.")
    rank = serializers.IntegerField(help_text="Its turn in the fault order, of those of the same effort.")
    disturbed = serializers.IntegerField(help_text="How often something was moved there.")
    reason = serializers.CharField()
    tried = AttemptSerializer(many=True)


@extend_schema_serializer(
    examples=[OpenApiExample("One chip", {"board": 9, "suspects": [SUSPECT]}, response_only=True)]
)
class SuspectsSerializer(serializers.Serializer[Any]):
    """Least disturbed first."""

    board = serializers.IntegerField()
    suspects = SuspectSerializer(many=True)


class PointedSerializer(serializers.Serializer[Any]):
    ref = serializers.CharField()
    bits = serializers.ListField(child=serializers.IntegerField())
    faults = serializers.IntegerField(help_text="At how many addresses.")
    first = serializers.CharField(help_text="Hexadecimal.")


@extend_schema_serializer(examples=[OpenApiExample("One bit", FOUND, response_only=True)])
class FoundSerializer(serializers.Serializer[Any]):
    """Positions that the faults point at, most faults first.  No part is condemned by them."""

    board = serializers.IntegerField()
    trial = serializers.IntegerField()
    passed = serializers.BooleanField()
    suspect_a_rail = serializers.BooleanField(help_text="All bits of a span fail at once.")
    pointed = PointedSerializer(many=True)
    unmapped = serializers.ListField(
        child=serializers.CharField(), help_text="Addresses that no map of the drawing covers."
    )
    reasons = TrialReasonSerializer(many=True)
    credible = serializers.BooleanField()
    unsettled = UnsettledSerializer(many=True)
    acquitted = serializers.DictField(child=serializers.IntegerField())
    suspects = SuspectSerializer(many=True)


@extend_schema_serializer(
    examples=[
        OpenApiExample("One fault", {"faults": "01C0: wrote 00, read 04"}, request_only=True),
        OpenApiExample("It passed", {"passed": True, "note": "two hours"}, request_only=True),
    ]
)
class MemoryTestSerializer(StrictSerializer):
    """The faults as the tester printed them, one a line; or that it passed."""

    faults = serializers.CharField(required=False, allow_blank=True, max_length=LONGEST)
    passed = TrueOrFalse(required=False)
    note = serializers.CharField(required=False, allow_blank=True, max_length=400)

    def validate(self, attrs: dict[str, Any]) -> dict[str, Any]:
        text, passed = attrs.get("faults", ""), attrs.get("passed")
        if bool(text.strip()) == bool(passed):
            raise wrong("faults", "say the faults, or that it passed", Code.REQUIRED)
        try:
            return {**attrs, "read": read_faults(text) if text.strip() else ()}
        except UnreadableFault as unread:
            raise wrong("faults", str(unread), Code.UNREADABLE) from None


class BoardMemory(OfBoard):
    @extend_schema(
        request=MemoryTestSerializer, responses={201: FoundSerializer}, operation_id="boards_memory_create"
    )
    def post(self, request: Request, pk: int) -> Response:
        """Write a memory test down: which bits were wrong, at which positions they live, and what to try
        next.
        """
        read = MemoryTestSerializer(data=request.data)
        read.is_valid(raise_exception=True)
        data = read.validated_data
        found = memory_tests.write_test(self.board, data["read"], by=self.person, note=data.get("note", ""))
        body = {"board": self.board.pk, "trial": found.trial.pk, "passed": found.located is None}
        record = found.trial.record
        record.refresh_from_db()
        standing = {name: getattr(record, name) for name in ("reasons", "credible", "unsettled", "acquitted")}
        suspects = [_suspect(suspect) for suspect in found.suspects]
        where = _located(found.located)
        return Response({**body, **where, **standing, "suspects": suspects}, status=201)


def _located(located: Located | None) -> dict[str, Any]:
    if located is None:
        return {"suspect_a_rail": False, "pointed": [], "unmapped": []}
    return {
        "suspect_a_rail": located.suspect_a_rail,
        "pointed": [
            {"ref": each.ref, "bits": list(each.bits), "faults": each.faults, "first": f"{each.first:04X}"}
            for each in located.pointed
        ],
        "unmapped": [f"{fault.address:04X}" for fault in located.unmapped],
    }


def _suspect(suspect: Suspect) -> dict[str, Any]:
    return {**vars(suspect), "tried": [vars(attempt) for attempt in suspect.tried]}


class BoardSuspects(OfBoard):
    @extend_schema(responses=SuspectsSerializer, operation_id="boards_suspects")
    def get(self, request: Request, pk: int) -> Response:
        """What may be at fault and what was tried on it, least disturbed first."""
        found = [_suspect(suspect) for suspect in memory_tests.suspects(self.board)]
        return Response({"board": self.board.pk, "suspects": found})
