"""What open jobs lack, as it is answered: the rows, their totals, the sheets and the table at a terminal."""

from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass
from typing import Annotated, Any, Self

from django.urls import reverse_lazy
from pydantic import Field

from inventory.answers import Answer, AnswerColumn, AnswerTable, SpecOut, WholeAnswer
from inventory.refs import write_refs
from inventory.sheets import SheetOut
from inventory.spec import Spec, fits
from repairs.answers.pieces import (
    ForJob,
    FriendMay,
    InQuestion,
    NotPlanned,
    OtherMay,
    Waiting,
    fitting,
    in_question,
    not_planned,
)
from repairs.planning.made_up import refused_place

COUNTS = (
    "needed", "fitted", "promised", "free", "on_donors", "on_order", "borrowed", "short", "ask", "at_others",
    "at_friends", "asked",
)  # fmt: skip


@dataclass
class Counts(Answer):
    """needed = fitted + promised + free + on_donors + on_order + short."""

    needed: Annotated[int, Field(description="Pieces of open needs, with those promised or fitted.")]
    fitted: int
    promised: int
    free: Annotated[int, Field(description="Taken from drawers and trays.")]
    on_donors: Annotated[int, Field(description="Taken off boards.")]
    on_order: Annotated[int, Field(description="Taken from what is on order.")]
    borrowed: Annotated[int, Field(description="The part of `on_donors` that comes off working boards.")]
    short: int
    ask: Annotated[
        int,
        Field(
            description="The part of `short` that only waits for a question: see `questions`. Others here or "
            "friends may have what serves without one: then it is part of `at_others` or `at_friends` too."
        ),
    ]
    at_others: Annotated[
        int,
        Field(description="The part of `short` that other people here could fill, once they say yes."),
    ]
    at_friends: Annotated[
        int,
        Field(description="The part of `short` that friends could fill beyond that, once they say yes."),
    ]
    asked: Annotated[
        int, Field(description="The part of `short` that friends were asked for and have not answered.")
    ]

    @property
    def to_find(self) -> int:
        """Pieces short whatever the answers to open questions."""
        return self.short - self.ask


@dataclass(slots=True)
class Take(ForJob):
    """Pieces that the plan takes for a job."""


@dataclass
class Row(Counts):
    """One requirement across jobs."""

    requirement: Annotated[int, Field(description="Names the requirement, as at made-up/.")]
    spec: SpecOut
    spec_text: str
    jobs: list[Waiting]
    take: list[Take]
    questions: Annotated[
        list[InQuestion],
        Field(description="Pieces at hand that would fill `ask` of what is short, once they are answered."),
    ]
    refused: Annotated[list[NotPlanned], Field(description="Nearest miss first.")]
    others: Annotated[
        list[OtherMay],
        Field(description="Who else here has what stays short, as a plan would draw on it; they are asked."),
    ]
    friends: Annotated[
        list[FriendMay],
        Field(description="Which friends have what stays short, the better first; they are asked."),
    ]
    made_up: Annotated[
        str | None,
        Field(description="Where to ask what free pieces make it up; null: nothing is short or none may."),
    ]

    @property
    def lacking(self) -> bool:
        """Whether a piece is neither fitted nor reserved."""
        return self.needed > self.fitted + self.promised

    @property
    def label(self) -> str:
        return self.spec.value_text or self.spec.number or self.spec.kind

    @property
    def waiting(self) -> list[Waiting]:
        """The jobs that still lack a piece."""
        return [job for job in self.jobs if job.lacking]

    @property
    def to_promise(self) -> int:
        """Pieces that the plan takes from where they can be reserved."""
        return sum(take.quantity for take in self.take if take.tier in ("drawer", "donor"))

    @property
    def jobs_that_wait(self) -> str:
        return "; ".join(job.name_and_refs for job in self.waiting)

    @property
    def where_from(self) -> str:
        """What the plan takes, by where it is: `2 in drawers; Tern donor 1 C4, C5; 1 on order`."""
        boards: dict[str, list[str]] = {}
        for take in self.take:
            if take.tier in ("donor", "borrow"):
                boards.setdefault(take.place_name, []).append(take.ref)
        places = [f"{board} {write_refs(refs)}".rstrip() for board, refs in boards.items()]
        if self.free:
            places.insert(0, f"{self.free} in drawers")
        if self.on_order:
            places.append(f"{self.on_order} on order")
        return "; ".join(places)

    @property
    def next_step(self) -> str:
        """What to do about what is short."""
        here = (f"ask {each.owner} for lot {each.lot}" for each in self.others)
        ask = (f"ask {each.friend_name}, who has {each.quantity}" for each in self.friends)
        return "; ".join(dict.fromkeys([*(each.question for each in self.questions), *here, *ask]))


@dataclass
class Totals(Counts):
    rows: int
    jobs: int


@dataclass
class JobDifference(Answer):
    job: int
    name: str
    short_now: int
    short_then: Annotated[int | None, Field(description="null: it is parked.")]


@dataclass
class Difference(Answer):
    """What the assumptions change, over all open jobs; `now` are the totals as they are."""

    assumed: list[str]
    now: Counts
    completed: Annotated[list[int], Field(description="Jobs that lack something now and nothing then.")]
    worse_off: Annotated[list[int], Field(description="Jobs that lack more.")]
    jobs: list[JobDifference]


@dataclass
class Shortages(WholeAnswer):
    """What open jobs still lack."""

    totals: Totals
    count: int
    next: str | None
    previous: str | None
    results: list[Row]
    difference: Annotated[
        Difference | None,
        Field(description="Only where something is assumed.", exclude_if=lambda each: each is None),
    ] = None

    @classmethod
    def of(cls, rows: list[Row], difference: Difference | None = None) -> Self:
        return cls(totals(rows), len(rows), None, None, rows, difference)

    @classmethod
    def example(cls) -> Self:
        film, higher, lower, unmarked = (
            Spec.from_dict({"kind": "capacitor", "value": "100n", "volts": volts, "dielectric": "film"})
            for volts in ("63", "100", "16", None)
        )
        waiting = Waiting(
            4,
            "Plover C rebuild",
            ("C7", "C8", "C9", "C12", "C13"),
            5,
            1,
            0,
            3,
            ("C8", "C9", "C12", "C13"),
            ("C9", "C12", "C13"),
        )
        donor: dict[str, Any] = {
            "lot": 8,
            "place": 40,
            "place_name": "Plover donor",
            "ref": "C3",
            "tier": "donor",
        }
        drawer: dict[str, Any] = {
            "lot": 9,
            "place": 12,
            "place_name": "Drawer 7",
            "ref": "",
            "tier": "drawer",
        }
        job: dict[str, Any] = {"job": 4, "job_name": "Plover C rebuild", "quantity": 1}
        row = Row(
            5, 1, 0, 0, 1, 0, 0, 3, 1, 1, 1, 0, 17, film, film.text, [waiting],
            [Take(**donor, spec_text=higher.text, **fitting(fits(film, higher)), **job)],
            [in_question({**drawer, "lot": 10, "spec_text": unmarked.text}, fits(film, unmarked), **job)],
            [not_planned({**drawer, "spec_text": lower.text}, fits(film, lower))],
            [
                OtherMay(
                    **{**drawer, "lot": 11}, spec_text=film.text, **fitting(fits(film, film)), **job,
                    owner="merle",
                )
            ],
            [FriendMay("same", (), [], 31, 3, "Lantern Street repair evening", 2, 1, film.text, "good")],
            "/api/v1/made-up/?requirement=17",
        )  # fmt: skip
        return cls.of([row])

    @classmethod
    def example_supposed(cls) -> Self:
        """The same under an assumption."""
        answer = cls.example()
        now = counts(answer.results)
        changed = JobDifference(4, "Plover C rebuild", 4, 3)
        answer.difference = Difference(["Tern C rebuild is parked"], now, [], [], [changed])
        return answer


def counts(rows: Iterable[Row]) -> Counts:
    """The sum of each count over the rows."""
    return Counts(**_sums(rows))


def totals(rows: Sequence[Row]) -> Totals:
    return Totals(**_sums(rows), rows=len(rows), jobs=len({job.job for row in rows for job in row.jobs}))


def _sums(rows: Iterable[Row]) -> dict[str, int]:
    sums = dict.fromkeys(COUNTS, 0)
    for row in rows:
        for name in COUNTS:
            sums[name] += getattr(row, name)
    return sums


def made_up_address(row: Row) -> str | None:
    """Where to ask what free pieces make it up."""
    if not row.short or refused_place(row.spec):
        return None
    return f"{_MADE_UP}?requirement={row.requirement}"


_MADE_UP = reverse_lazy("made-up")


# --- as sheets, and at a terminal


def _of(name: str) -> Callable[[Any], Any]:
    return lambda row: getattr(row, name)


REQUIREMENTS = AnswerTable(
    "Shortages",
    (
        AnswerColumn("Short", lambda row: row.short, 7, "short", number=True),
        AnswerColumn("Needs an answer", lambda row: row.ask, 10, "ask", number=True),
        AnswerColumn("Requirement", lambda row: row.spec_text, 44, "requirement"),
        AnswerColumn("Kind", lambda row: row.spec.kind, 11),
        AnswerColumn("Number", lambda row: row.spec.number, 12),
        AnswerColumn("Value", lambda row: row.spec.value_text, 9),
        *(
            AnswerColumn(name.replace("_", " ").capitalize(), _of(name), 10, narrow, number=True)
            for name, narrow in (
                ("needed", "needed"), ("fitted", None), ("promised", None), ("free", None),
                ("on_donors", None), ("on_order", None), ("borrowed", None), ("at_others", None),
                ("at_friends", None), ("asked", None),
            )
        ),
        AnswerColumn("Jobs that wait", lambda row: row.jobs_that_wait, 60, "jobs that wait"),
        AnswerColumn("Where from", lambda row: row.where_from, 40, "where from"),
        AnswerColumn("Next step", lambda row: row.next_step, 40, "next step"),
    ),
)  # fmt: skip
FROM = (
    AnswerColumn("From", lambda _, each: each.tier_words, 12),
    AnswerColumn("Place", lambda _, each: each.place_name, 30),
    AnswerColumn("Ref", lambda _, each: each.ref, 9),
    AnswerColumn("Lot", lambda _, each: each.lot, 8, number=True),
    AnswerColumn("Grade", lambda _, each: each.grade_words, 12),
    AnswerColumn("Why", lambda _, each: "; ".join(each.why), 70),
)
_REQUIREMENT = AnswerColumn("Requirement", lambda row, _: row.spec_text, 44)
_FOR_A_JOB = (
    _REQUIREMENT,
    AnswerColumn("Job", lambda _, each: each.job_name, 24),
    AnswerColumn("Quantity", lambda _, each: each.quantity, 9, number=True),
)
PIECES_TO_TAKE = AnswerTable("Pieces to take", (*_FOR_A_JOB, *FROM))
OPEN_QUESTIONS = AnswerTable(
    "Needs an answer", (*_FOR_A_JOB, AnswerColumn("Next step", lambda _, each: each.question, 40), *FROM)
)
NEAREST_MISSES = AnswerTable("Nearest misses", (_REQUIREMENT, *FROM))


def sheets(answer: Shortages) -> Sequence[SheetOut]:
    """The requirements, the pieces that the plan takes, open questions, and the nearest misses."""
    rows = answer.results
    return [
        REQUIREMENTS.sheet(rows),
        PIECES_TO_TAKE.sheet((row, each) for row in rows for each in row.take),
        OPEN_QUESTIONS.sheet((row, each) for row in rows for each in row.questions),
        NEAREST_MISSES.sheet((row, each) for row in rows for each in row.refused),
    ]
