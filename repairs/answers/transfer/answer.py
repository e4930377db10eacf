"""What of a donor goes where on the board of a job, as it is answered."""

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Annotated, Any, Self

from pydantic import Field

from inventory.answers import Answer, AnswerColumn, AnswerTable, SpecOut, WholeAnswer, one_of
from inventory.sheets import SheetOut
from inventory.spec import Spec, fits
from repairs.answers.lifting import (
    EXAMPLE_CAUTION,
    EXAMPLE_PIECE,
    MIND,
    JudgedPiece,
    SittingPiece,
    StepCaution,
)
from repairs.answers.pieces import fitting

HOW = ("same", "moved", "substitute")
NeedId = Annotated[int | None, Field(description="The open need there.")]


@dataclass
class PlannedMove(JudgedPiece):
    """`substitute` where the piece is not just what is required, `moved` where it changes its reference."""

    to_ref: str
    need: NeedId
    how: Annotated[str, one_of(HOW)]

    @property
    def how_words(self) -> str:
        place = "the same place" if self.ref == self.to_ref else "another place"
        return f"a substitute, {place}" if self.how == "substitute" else place


@dataclass
class MissingPosition(Answer):
    """New on this board, or not to be had from the donor: must be found elsewhere."""

    ref: str
    spec: Annotated[SpecOut, Field(exclude=True)]
    spec_text: str
    need: NeedId
    went: Annotated[
        str, Field(description="Where the piece of the donor at this reference is, or who has it.")
    ]
    refused: Annotated[list[JudgedPiece], Field(description="Pieces of the donor that do not do, and why.")]

    @property
    def why(self) -> str:
        """Where it went and what just does not do, in words."""
        near = "; ".join(f"{each.ref} not: {', '.join(each.why)}" for each in self.refused)
        return "; ".join(filter(None, (self.went, near)))


@dataclass
class EmptyPosition(Answer):
    ref: str
    spec_text: str
    why: str


@dataclass
class TransferTotals(Answer):
    same: int
    moved: int
    substitute: int
    missing: int
    empty: int
    left_over: int
    filled: int


@dataclass
class Transfer(WholeAnswer):
    """The moves are a work list, in lifting order."""

    job: int
    from_board: Annotated[int, Field(serialization_alias="from")]
    from_name: str
    to: int
    to_name: str
    notice: Annotated[str, Field(description="What to know of the donor before: that it works.")]
    totals: TransferTotals
    cautions: list[StepCaution]
    moves: list[PlannedMove]
    missing: list[MissingPosition]
    empty: list[EmptyPosition]
    left_over: list[SittingPiece]
    filled: list[str]

    @classmethod
    def example(cls) -> Self:
        film, lower = (
            Spec.from_dict({"kind": "capacitor", "value": "100n", "volts": volts, "dielectric": "film"})
            for volts in ("63", "16")
        )
        other: dict[str, Any] = {**EXAMPLE_PIECE, "lot": 9, "ref": "C4"}
        return cls(
            4, 3, "Plover donor", 9, "Plover C bare", "", TransferTotals(0, 1, 0, 1, 1, 1, 3),
            [EXAMPLE_CAUTION],
            [PlannedMove(**EXAMPLE_PIECE, **fitting(fits(film, film)), to_ref="C7", need=32, how="moved")],
            [
                MissingPosition(
                    "C9", film, film.text, 33, "the plan gives it to Tern rebuild",
                    [JudgedPiece(**other, **fitting(fits(film, lower)))],
                )
            ],
            [EmptyPosition("C12", film.text, "left out on purpose")],
            [SittingPiece(**other)],
            ["R1", "R2", "R3"],
        )  # fmt: skip


# --- as sheets, and at a terminal

MOVES = AnswerTable(
    "Transfer",
    (
        AnswerColumn("Order", lambda order, each: order, 7, "step", number=True),
        AnswerColumn("From ref", lambda _, each: each.ref, 9, "lift"),
        AnswerColumn("To ref", lambda _, each: each.to_ref, 9, "to"),
        AnswerColumn("What", lambda _, each: each.spec_text, 44, "what"),
        AnswerColumn("How", lambda _, each: each.how, 18, "how"),
        AnswerColumn("Lot", lambda _, each: each.lot, 8, "lot", number=True),
        AnswerColumn("Condition", lambda _, each: each.condition, 10, "condition"),
        AnswerColumn("Stage", lambda _, each: each.stage, 8, "stage"),
        AnswerColumn("Grade", lambda _, each: each.grade_words, 12, "grade"),
        AnswerColumn("Why", lambda _, each: "; ".join(each.why), 60, "why"),
    ),
)
MISSING = AnswerTable(
    "Must be found elsewhere",
    (
        AnswerColumn("At", lambda each: each.ref, 9, "at"),
        AnswerColumn("What", lambda each: each.spec_text, 44, "what"),
        AnswerColumn("Of the donor", lambda each: each.why, 70, "of the donor"),
    ),
)
EMPTY = AnswerTable(
    "Stays empty",
    (
        AnswerColumn("At", lambda each: each.ref, 9, "at"),
        AnswerColumn("What", lambda each: each.spec_text, 44, "what"),
        AnswerColumn("Why", lambda each: each.why, 60, "why"),
    ),
)


def sheets(answer: Transfer) -> Sequence[SheetOut]:
    """The moves in lifting order; what must be found, stays empty or is left over; what to mind."""
    return [
        MOVES.sheet(enumerate(answer.moves, 1)),
        MISSING.sheet(answer.missing),
        EMPTY.sheet(answer.empty),
        LEFT_OVER.sheet(answer.left_over),
        MIND.sheet((answer.from_name, each) for each in answer.cautions),
    ]


LEFT_OVER = AnswerTable(
    "Left over",
    (
        AnswerColumn("Ref", lambda each: each.ref, 9),
        AnswerColumn("What", lambda each: each.spec_text, 44),
        AnswerColumn("Lot", lambda each: each.lot, 8, number=True),
        AnswerColumn("Condition", lambda each: each.condition, 10),
    ),
)
