"""`boards/{id}/memory/` and `boards/{id}/suspects/`: from wrong bits to positions, and what to try next."""

from dataclasses import dataclass, field
from typing import Annotated, Any, Self

from drf_spectacular.utils import OpenApiExample
from pydantic import Field
from rest_framework import serializers
from rest_framework.request import Request
from rest_framework.response import Response

from inventory.answers import Answer, WholeAnswer, answers, as_json
from inventory.api.fields import StrictSerializer, TrueOrFalse
from inventory.refusals import Code
from repairs import memory_tests
from repairs.answers.trial_parts import StillUnsettled, TrialReasons
from repairs.api.fields import wrong
from repairs.api.of_board import OfBoard
from repairs.proving.memory import LONGEST, UnreadableFault, read_faults
from repairs.proving.suspects import Attempt, Suspect


@dataclass
class Suspects(WholeAnswer):
    """Least disturbed first."""

    board: int
    suspects: list[Suspect]

    @classmethod
    def example(cls) -> Self:
        return cls(9, [_suspect()])


@dataclass
class Pointed(Answer):
    ref: str
    bits: tuple[int, ...]
    faults: Annotated[int, Field(description="At how many addresses.")]
    first: Annotated[str, Field(description="Hexadecimal.")]


@dataclass
class Found(WholeAnswer):
    """Positions that the faults point at, most faults first.  No part is condemned by them."""

    board: int
    trial: int
    passed: bool
    credible: bool
    suspect_a_rail: Annotated[bool, Field(description="All bits of a span fail at once.")] = False
    pointed: list[Pointed] = field(default_factory=list)
    unmapped: Annotated[list[str], Field(description="Addresses that no map of the drawing covers.")] = field(
        default_factory=list
    )
    reasons: TrialReasons = field(default_factory=list)
    unsettled: StillUnsettled = field(default_factory=list)
    acquitted: dict[str, int] = field(default_factory=dict)
    suspects: list[Suspect] = field(default_factory=list)

    @classmethod
    def example(cls) -> Self:
        reason = {"code": "points_to", "detail": _suspect().reason, "source": ""}
        return cls(
            9, 40, False, True, pointed=[Pointed("IC12", (2,), 1, "01C0")], reasons=[reason],
            suspects=[_suspect()],
        )  # fmt: skip


def _suspect() -> Suspect:
    tried = (Attempt("IC12", 31, "memory test", "faulty"),)
    why = "IC12: D2 wrong at 1 address, first 01C0"
    return Suspect("part", "IC12", 2, "swap it for a known good one", why, disturbed=1, tried=tried)


ASKED = (
    OpenApiExample("One fault", {"faults": "01C0: wrote 00, read 04"}, request_only=True),
    OpenApiExample("It passed", {"passed": True, "note": "two hours"}, request_only=True),
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
    @answers(
        Found, "One bit", ASKED, status=201, request=MemoryTestSerializer, operation_id="boards_memory_create"
    )
    def post(self, request: Request, pk: int) -> Response:
        """Write a memory test down: which bits were wrong, at which positions they live, and what to try
        next.
        """
        read = MemoryTestSerializer(data=request.data)
        read.is_valid(raise_exception=True)
        data = read.validated_data
        found = memory_tests.write_test(self.board, data["read"], by=self.person, note=data.get("note", ""))
        record = found.trial.record
        record.refresh_from_db()
        answer = Found(
            self.board.pk, found.trial.pk, passed=found.located is None, credible=record.credible,
            reasons=record.reasons, unsettled=record.unsettled, acquitted=record.acquitted,
            suspects=list(found.suspects),
        )  # fmt: skip
        if found.located is not None:
            answer.suspect_a_rail = found.located.suspect_a_rail
            answer.pointed = [
                Pointed(each.ref, each.bits, each.faults, f"{each.first:04X}")
                for each in found.located.pointed
            ]
            answer.unmapped = [f"{fault.address:04X}" for fault in found.located.unmapped]
        return Response(as_json(answer), status=201)


class BoardSuspects(OfBoard):
    @answers(Suspects, "One chip", operation_id="boards_suspects")
    def get(self, request: Request, pk: int) -> Response:
        """What may be at fault and what was tried on it, least disturbed first."""
        return Response(as_json(Suspects(self.board.pk, list(memory_tests.suspects(self.board)))))
