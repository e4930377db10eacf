"""`boards/{id}/cautions/` and `boards/{id}/fitting/`: what to mind before a piece comes off, or goes in."""

from dataclasses import dataclass
from typing import Annotated, NoReturn, Self

from django.shortcuts import get_object_or_404
from drf_spectacular.utils import OpenApiParameter
from pydantic import Field
from rest_framework.request import Request
from rest_framework.response import Response

from inventory.answers import Reasons, WholeAnswer, answers, as_json
from inventory.api.lists import bad_query, number_asked
from inventory.models import Lot
from inventory.refs import UnreadableRefs, parse_refs
from inventory.refusals import Code
from inventory.spec import Reason
from repairs import hazards, readiness, substitutions
from repairs.answers.pieces import GradeName
from repairs.answers.trial_parts import Cautions
from repairs.api.of_board import OfBoard
from repairs.proving.cautions import DEFER, Caution

REFS = OpenApiParameter("refs", str, description="The positions that are to be lifted: `C1, R1-R4`.")
REF = OpenApiParameter("ref", str, required=True, description="The position.")
LOT = OpenApiParameter("lot", int, required=True, description="The lot that is to go in.")


@dataclass
class Mind(WholeAnswer):
    """What to mind before pieces come off."""

    board: int
    refs: list[str]
    blocked: Annotated[bool, Field(description="It is not done here at all: a lift answers 409.")]
    cautions: Cautions
    defer: str

    @classmethod
    def example(cls) -> Self:
        text = "Unplug first. Stored charge: discharge through a resistor, not a screwdriver."
        return cls(9, ["C7"], False, [Caution("high_voltage", text)], DEFER)


@dataclass
class FittingNotes(WholeAnswer):
    """How a lot does at a position, and what to look at when it goes in."""

    board: int
    ref: str
    lot: int
    grade: GradeName
    reasons: Reasons
    orientation: Annotated[str, Field(description="Which way it goes in; turned round or crossed.")] = ""
    links: Annotated[str, Field(description="Links to check.")] = ""
    substitution: Annotated[
        str, Field(description="What was recorded of this part in this place: evidence, legs, note.")
    ] = ""

    @classmethod
    def example(cls) -> Self:
        turned = Reason("pin_order", "E-B-C", "C-B-E", "turned round", "with_note")
        return cls(
            9, "TR2", 44, "with_note", (turned,),
            orientation="legs: as recorded for this substitute: turned round",
            substitution="seen working (robin); turned round",
        )  # fmt: skip


class BoardCautions(OfBoard):
    query_parameters = (REFS,)

    @answers(Mind, "High voltage", operation_id="boards_cautions")
    def get(self, request: Request, pk: int) -> Response:
        """What to mind before pieces come off this board."""
        text = request.query_params.get("refs")
        try:
            refs = parse_refs(text) if text is not None else []
        except UnreadableRefs as unread:
            raise bad_query("refs", str(unread)) from None
        found = hazards.before_lifting(self.board, refs)
        blocked = any(caution.blocked for caution in found)
        return Response(as_json(Mind(self.board.pk, refs, blocked, list(found), DEFER)))


class BoardFitting(OfBoard):
    query_parameters = (REF, LOT)

    @answers(FittingNotes, "Other pins", operation_id="boards_fitting")
    def get(self, request: Request, pk: int) -> Response:
        """Before a lot goes into a position: does it serve, which way round, and which links it asks for."""
        ref = request.query_params.get("ref") or _missing("ref", "say the position")
        lot = get_object_or_404(
            Lot.objects.select_related("part__spec"),
            pk=number_asked(request, "lot", 0) or _missing("lot", "say the lot"),
        )
        positions = self.board.design.positions.select_related("spec") if self.board.design else None
        position = positions.filter(ref=ref).first() if positions is not None and "\x00" not in ref else None
        if position is None:
            raise bad_query("ref", "the board's design has no such position", Code.UNKNOWN)
        fit = substitutions.judge_at(position.spec.spec, lot, (self.board.design_id, ref))
        notes = readiness.fitting_notes(self.board, ref, lot)
        return Response(as_json(FittingNotes(self.board.pk, ref, lot.pk, fit.grade, fit.reasons, **notes)))


def _missing(name: str, detail: str) -> NoReturn:
    raise bad_query(name, detail, Code.REQUIRED)
