"""What answers about boards share: pieces where they sit, when they come off, and what to mind."""

from collections.abc import Iterable
from dataclasses import dataclass
from decimal import Decimal
from typing import Annotated, Any, NamedTuple

from pydantic import Field

from inventory.answers import Answer, AnswerColumn, AnswerTable, SpecOut, one_of
from inventory.models import Position
from inventory.spec import Spec
from repairs.answers.pieces import Fitting
from repairs.planning.lifting import LiftStage, Piece, stage_of
from repairs.proving.cautions import Caution

STAGE_WORDS = {
    "pull": "in a socket: pull it", "large": "large or tall: early", "small": "small: next",
    "chip": "soldered chip: last",
}  # fmt: skip
StageName = Annotated[str, one_of(stage.name.lower() for stage in LiftStage)]


@dataclass
class StepCaution(Answer):
    step: str
    text: str
    blocked: Annotated[bool, Field(description="true: the work is refused, not advised against.")]


@dataclass
class SittingPiece(Answer):
    """One piece on a board."""

    lot: int
    ref: Annotated[str, Field(description="Blank: loose on the board.")]
    spec: Annotated[SpecOut, Field(exclude=True)]
    spec_text: str
    condition: str
    socketed: bool
    stage: StageName

    @property
    def stage_words(self) -> str:
        return STAGE_WORDS[self.stage]


@dataclass
class JudgedPiece(SittingPiece, Fitting):
    """A piece on a board, and how it fits somewhere."""


class Sitting(NamedTuple):
    """One of the free pieces of a holding: the id of a piece."""

    holding: int
    lot: int
    number: int


class PositionOnBoard(NamedTuple):
    """What a design says of a position beside its Spec."""

    socketed: bool = False
    x: Decimal | None = None
    y: Decimal | None = None


def drawn(designs: Iterable[int | None]) -> dict[tuple[int | None, str], PositionOnBoard]:
    """(design, reference) -> what the design says of it."""
    rows = Position.objects.filter(design__in={design for design in designs if design is not None})
    return {
        (design, ref): PositionOnBoard(socketed, x, y)
        for design, ref, socketed, x, y in rows.values_list("design_id", "ref", "socketed", "x", "y")
    }


def sitting(piece: Piece) -> dict[str, Any]:
    """The fields of `SittingPiece`."""
    return {
        "lot": piece.id.lot, "ref": piece.ref, "spec": piece.spec, "spec_text": piece.spec.text,
        "condition": piece.condition, "socketed": piece.socketed, "stage": stage_of(piece).name.lower(),
    }  # fmt: skip


def caution(each: Caution) -> StepCaution:
    return StepCaution(each.step, each.text, each.blocked)


_FILM = Spec.from_dict({
    "kind": "capacitor", "value": "100n", "volts": "63", "dielectric": "film", "lead_style": "radial"
})  # fmt: skip
EXAMPLE_PIECE: dict[str, Any] = {
    "lot": 8, "ref": "C3", "spec": _FILM, "spec_text": _FILM.text, "condition": "untested",
    "socketed": False, "stage": "small",
}  # fmt: skip
EXAMPLE_CAUTION = StepCaution(
    "soldering",
    "Draw the fume away (rosin is an asthma sensitiser), wash hands after lead, "
    "shield the eyes when clipping.",
    False,
)
MIND = AnswerTable(
    "Mind",
    (
        AnswerColumn("Board", lambda board, _: board, 26),
        AnswerColumn("Step", lambda _, each: each.step.replace("_", " "), 16),
        AnswerColumn("Mind", lambda _, each: each.text, 100),
    ),
)
