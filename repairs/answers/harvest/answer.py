"""What to lift off which donor, as it is answered."""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from typing import Annotated, Any, Self

from pydantic import Field

from inventory.answers import Answer, AnswerColumn, AnswerTable, Reasons, WholeAnswer, one_of
from inventory.refs import write_refs
from inventory.sheets import SheetOut
from repairs import explanations
from repairs.answers.lifting import EXAMPLE_CAUTION, EXAMPLE_PIECE, MIND, SittingPiece, StepCaution
from repairs.answers.pieces import GradeName


@dataclass
class LiftedPiece(SittingPiece):
    """A piece to take off its board."""

    worth: Annotated[str, one_of(("worth", "usual", "contested", "no"))]
    why: Annotated[str, Field(description="What the trade says of salvaging such a piece.")]

    @property
    def purpose(self) -> str:
        """Whom it is for."""
        return "the drawers"

    @property
    def refs_words(self) -> str:
        return ""

    @property
    def grade_words(self) -> str:
        return ""

    @property
    def notes(self) -> Sequence[str]:
        """What to mind of it, in words."""
        return ()

    @property
    def why_words(self) -> str:
        return "; ".join(filter(None, (*self.notes, self.why)))


@dataclass
class SuggestedLift(LiftedPiece):
    """A piece that is suggested because the drawers lack its like."""

    because: Annotated[str, one_of(("reorder", "popular"))]
    because_text: str

    @property
    def notes(self) -> Sequence[str]:
        return (self.because_text,)


@dataclass
class PlannedLift(LiftedPiece):
    """A piece to lift for a job, and the references that want one like it."""

    job: int
    job_name: str
    refs: tuple[str, ...]
    grade: GradeName
    reasons: Reasons
    fit_notes: Annotated[list[str], Field(exclude=True)]

    @property
    def purpose(self) -> str:
        return self.job_name

    @property
    def refs_words(self) -> str:
        return write_refs(self.refs)

    @property
    def grade_words(self) -> str:
        return explanations.GRADE_LABELS[self.grade]

    @property
    def notes(self) -> Sequence[str]:
        return self.fit_notes


@dataclass
class DonorWork(Answer):
    """The work at one board, in lifting order; cautions first."""

    board: int
    name: str
    place: int
    works: Annotated[
        str,
        Field(description="That the board works, where that is known: think twice before stripping it."),
    ]
    cautions: list[StepCaution]
    lifts: list[PlannedLift]
    extras: Annotated[
        list[SuggestedLift],
        Field(
            description="Worth taking while the iron is hot: `reorder`, the drawers are below the reorder "
            "level; `popular`, the drawings often ask for its like and the drawers lack it."
        ),
    ]

    @property
    def steps(self) -> Iterator[tuple[str, int, LiftedPiece]]:
        """The rows of LIFTS."""
        return ((self.name, step, lift) for step, lift in enumerate((*self.lifts, *self.extras), 1))


@dataclass
class BlockedPiece(SittingPiece):
    board: int
    name: str
    caution: StepCaution


@dataclass
class OutOfReach(Answer):
    spec_text: str
    quantity: int


@dataclass
class HarvestTotals(Answer):
    boards: int
    lifts: int
    extras: int


@dataclass
class HarvestPlan(WholeAnswer):
    """Boards by the first in line that they serve; what must not be lifted; what no board can give."""

    totals: HarvestTotals
    boards: list[DonorWork]
    blocked: list[BlockedPiece]
    out_of_reach: list[OutOfReach]

    @classmethod
    def of(cls, boards: list[DonorWork], blocked: list[BlockedPiece], out_of_reach: list[OutOfReach]) -> Self:
        totals = HarvestTotals(
            len(boards), sum(len(work.lifts) for work in boards), sum(len(work.extras) for work in boards)
        )
        return cls(totals, boards, blocked, out_of_reach)

    @classmethod
    def example(cls) -> Self:
        worth: dict[str, Any] = {"worth": "contested", "why": "a small ceramic costs less than the time"}
        lift = PlannedLift(
            **EXAMPLE_PIECE, **worth, job=4, job_name="Plover C rebuild", refs=("C7", "C8"), grade="same",
            reasons=(), fit_notes=[],
        )  # fmt: skip
        extra = SuggestedLift(
            **{**EXAMPLE_PIECE, **worth, "lot": 9, "ref": "C4"}, because="popular",
            because_text="drawings ask for its like at 12 positions, 1 left in the drawers",
        )  # fmt: skip
        return cls.of([DonorWork(3, "Plover donor", 40, "", [EXAMPLE_CAUTION], [lift], [extra])], [], [])


# --- as sheets, and at a terminal

LIFTS = AnswerTable(
    "Harvest",
    (
        AnswerColumn("Board", lambda name, *_: name, 26),
        AnswerColumn("Order", lambda _, step, each: step, 7, "step", number=True),
        AnswerColumn("Ref", lambda *row: row[-1].ref, 9, "lift"),
        AnswerColumn("What", lambda *row: row[-1].spec_text, 44, "what"),
        AnswerColumn("Lot", lambda *row: row[-1].lot, 8, "lot", number=True),
        AnswerColumn("Condition", lambda *row: row[-1].condition, 10, "condition"),
        AnswerColumn("Stage", lambda *row: row[-1].stage, 8, "stage"),
        AnswerColumn("For job", lambda *row: row[-1].purpose, 26, "for"),
        AnswerColumn("Wanted at", lambda *row: row[-1].refs_words, 24, "wanted at"),
        AnswerColumn("Grade", lambda *row: row[-1].grade_words, 12, "grade"),
        AnswerColumn("Worth it", lambda *row: row[-1].worth, 10, "worth it"),
        AnswerColumn("Why", lambda *row: row[-1].why_words, 60, "why"),
    ),
)


def sheets(answer: HarvestPlan) -> Sequence[SheetOut]:
    """The lifts board by board in lifting order, then what to mind at each board."""
    return [
        LIFTS.sheet(row for work in answer.boards for row in work.steps),
        MIND.sheet((work.name, each) for work in answer.boards for each in work.cautions),
    ]
