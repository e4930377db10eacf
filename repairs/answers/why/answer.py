"""Why a need was given what it was given, as it is answered, and in sentences."""

from collections.abc import Iterator
from dataclasses import dataclass, field
from typing import Annotated, Any, Self

from pydantic import Field

from inventory.answers import AnswerColumn, AnswerTable, WholeAnswer
from inventory.refs import write_refs
from inventory.spec import Spec, fits
from repairs.answers.pieces import Fitting, InQuestion, NotPlanned, OtherMay, Where, fitting, in_question
from repairs.explanations import pieces


@dataclass
class GivenPieces(Where, Fitting):
    """The first of like pieces that the plan takes."""

    quantity: int
    works: Annotated[str, Field(description="That the board it sits on works, where that is known.")]


@dataclass
class GoneElsewhere(Where):
    """Pieces that it would have had by itself, and who has them."""

    quantity: int
    job: int
    job_name: str
    refs: tuple[str, ...]
    first_in_line: Annotated[
        bool, Field(description="The other comes first; else the whole plan is better so.")
    ]

    @property
    def job_and_refs(self) -> str:
        return f"{self.job_name} ({write_refs(self.refs)})" if self.refs else self.job_name


@dataclass
class HeldPieces(Where, Fitting):
    """Pieces that would do and are reserved for another job."""

    quantity: int
    job: int
    job_name: str
    for_ref: str


@dataclass
class Why(WholeAnswer):
    """The plan is made for all needs of the job with this requirement together: counts are theirs."""

    need: int
    job: int
    ref: str
    spec_text: str
    quantity: int
    fitted: int
    promised: int
    planned: Annotated[bool, Field(description="false: it lacks nothing, or waits for nothing.")]
    given: list[GivenPieces]
    short: int
    elsewhere: list[GoneElsewhere]
    held: Annotated[list[HeldPieces], Field(description="What would do, and is reserved for another job.")]
    questions: Annotated[list[InQuestion], Field(description="What would do, once a question is answered.")]
    refused: list[NotPlanned]
    if_first: Annotated[int, Field(description="Pieces short if its job came first.")]
    if_borrowing: Annotated[int, Field(description="Pieces short if working boards were drawn on.")]
    sentences: Annotated[list[str], Field(description="The same as sentences, in order.")]
    job_name: Annotated[str, Field(exclude=True)]
    lacking: Annotated[int, Field(exclude=True)]
    refs: Annotated[tuple[str, ...], Field(exclude=True)]
    """What its job lacks of the requirement, and where."""
    others: Annotated[
        list[OtherMay], Field(description="Who else here has what would do; they are asked.")
    ] = field(default_factory=list)

    @classmethod
    def example(cls) -> Self:
        film, unmarked = (
            Spec.from_dict({"kind": "capacitor", "value": "100n", "volts": volts, "dielectric": "film"})
            for volts in ("63", None)
        )
        donor: dict[str, Any] = {
            "lot": 8, "place": 40, "place_name": "Plover donor", "ref": "C3", "tier": "donor",
            "spec_text": film.text,
        }  # fmt: skip
        drawer = {**donor, "lot": 12, "place": 7, "place_name": "Drawer 7", "ref": "", "tier": "drawer"}
        answer = cls(
            32, 4, "C7", film.text, 1, 0, 0, True, [], 1,
            [
                GoneElsewhere(
                    **donor, quantity=1, job=2, job_name="Tern rebuild", refs=("C1",), first_in_line=True
                )
            ],
            [
                HeldPieces(
                    **{**drawer, "lot": 9}, **fitting(fits(film, film)), quantity=1, job=2,
                    job_name="Tern rebuild", for_ref="C2",
                )
            ],
            [in_question(drawer, fits(film, unmarked), job=4, job_name="East pier lamp", quantity=1)],
            [], 0, 1, [], "East pier lamp", 1, ("C7",),
        )  # fmt: skip
        answer.sentences = [*sentences(answer)]
        return answer


def sentences(answer: Why) -> Iterator[str]:
    """The chain of reasons as a person reads it: given, gone elsewhere, held, short, what would change it."""
    if not answer.planned:
        return
    if answer.lacking > 1:
        refs = f": {write_refs(answer.refs)}" if answer.refs else ""
        yield f"{answer.job_name} lacks {pieces(answer.lacking)} of it, planned together{refs}."
    for take in answer.given:
        notes = f" ({'; '.join(take.why)})" if take.why else ""
        first = "first " if take.quantity > 1 else ""
        yield f"The plan takes {pieces(take.quantity)}, {first}{take.name}: {take.grade_words}{notes}."
        if take.works:
            yield f"{take.works}: it is seldom worth its parts."
    for each in answer.elsewhere:
        reason = "which is first in line" if each.first_in_line else "for the whole plan is better so"
        goes = "that goes" if each.quantity == 1 else "those go"
        yield (
            f"By itself it would have had {pieces(each.quantity)}, {each.name}; {goes} to "
            f"{each.job_and_refs}, {reason}."
        )
    if not answer.short:
        return
    yield f"{pieces(answer.short)} short."
    for held in answer.held:
        at = f" ({held.for_ref})" if held.for_ref else ""
        yield f"Reserved for {held.job_name}{at}: {pieces(held.quantity)}, {held.name}, would do."
    for other in answer.others:
        has = f"{other.owner} has {pieces(other.quantity)}, {other.name}"
        yield f"{has}: {other.grade_words}; ask {other.owner}."
    for left, condition in (
        (answer.if_first, f"If {answer.job_name} came first"),
        (answer.if_borrowing, "If working boards were borrowed from"),
    ):
        if left < answer.short:
            yield f"{condition}, {pieces(left) if left else 'nothing'} would be short."
    if min(answer.if_first, answer.if_borrowing) == answer.short:
        yield "Neither another place in line nor borrowing from working boards would change that."
    for question in answer.questions:
        where = question.where or question.tier_words
        yield f"To find out: {question.question}, {where} ({'; '.join(question.why)})."
    asked = {(question.lot, question.place) for question in answer.questions}
    for miss in answer.refused:
        if (miss.lot, miss.place) in asked:
            continue
        verdict = "In question" if miss.grade == "ask" else "Refused"
        yield " ".join(filter(None, (f"{verdict}, {miss.name}: {miss.why[0]}.", miss.settled)))


# --- at a terminal

_QUANTITY = AnswerColumn("Pieces", lambda each: each.quantity, narrow="pieces", number=True)
_NAME = AnswerColumn("From", lambda each: each.name, narrow="from")
_WHY = AnswerColumn("Why", lambda each: "; ".join(each.why), narrow="why")
_GRADE = AnswerColumn("Grade", lambda each: each.grade_words, narrow="grade")
GIVEN = AnswerTable(
    "The plan gives it",
    (_QUANTITY, _NAME, AnswerColumn("Where", lambda each: each.tier_words, narrow="where"), _GRADE, _WHY),
)
ELSEWHERE = AnswerTable(
    "By itself it would have had",
    (
        _QUANTITY,
        _NAME,
        AnswerColumn("Went to", lambda each: each.job_and_refs, narrow="went to"),
        AnswerColumn(
            "Because",
            lambda each: "comes first" if each.first_in_line else "the whole plan is better so",
            narrow="because",
        ),
    ),
)
HELD = AnswerTable(
    "Reserved for others",
    (
        _QUANTITY,
        _NAME,
        AnswerColumn("To", lambda each: f"{each.job_name} {each.for_ref}".rstrip(), narrow="to"),
        _GRADE,
        _WHY,
    ),
)
QUESTIONS = AnswerTable(
    "Needs an answer",
    (_QUANTITY, _NAME, AnswerColumn("Next step", lambda each: each.question, narrow="next step")),
)
REFUSED = AnswerTable(
    "Refused",
    (_NAME, _GRADE, _WHY, AnswerColumn("Settled", lambda each: each.settled, narrow="what would settle it")),
)
