"""What to buy, as it is answered: the lines, what only needs an answer, and what completes which job."""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from decimal import Decimal
from typing import Annotated, Any, Self

from pydantic import Field

from inventory.refs import write_refs
from inventory.spec import Spec, fits
from repairs.answers.model import Answer, AnswerColumn, AnswerTable, Money, SpecOut, WholeAnswer
from repairs.answers.pieces import Fitting, InQuestion, in_question
from repairs.buy_table import OPEN_QUESTIONS, SETS
from repairs.explanations import money

Names = Annotated[Sequence[str], Field(exclude=True)]
"""What jobs are called, for people."""


@dataclass
class ServedJob(Fitting):
    """A job that a line serves; `spec_text` is what it requires."""

    job: int
    name: str
    refs: list[str]
    quantity: int
    spec_text: str

    @property
    def refs_words(self) -> str:
        return write_refs(self.refs)

    @property
    def name_and_refs(self) -> str:
        return f"{self.name} {self.refs_words}".rstrip()


@dataclass
class LineToBuy(Answer):
    """One thing to buy.  Money is a plain decimal in the bench's currency; null where it is not known."""

    part: Annotated[int | None, Field(description="null: the bench has no such part yet.")]
    name: str
    spec: SpecOut
    spec_text: str
    needed: Annotated[int, Field(description="Pieces that jobs lack.")]
    packs: int
    pack_size: int
    pieces: Annotated[int, Field(description="In whole packs.")]
    for_stock: Annotated[int, Field(description="Pieces beyond the need.")]
    wanted: Annotated[int, Field(description="Pieces that purchases in state wanted ask for.")]
    restock: Annotated[int, Field(description="Pieces that the drawers lack to the part's reorder level.")]
    price_each: Annotated[Money | None, Field(description="The guess for one piece.")]
    price: Annotated[Money | None, Field(description="For all packs.")]
    postage: Annotated[Money | None, Field(description="The line's share.")]
    bought_from: Annotated[str, Field(serialization_alias="from", description="Who it was bought from last.")]
    completes: Annotated[
        list[int], Field(description="Jobs that lack nothing once this line alone has come.")
    ]
    completes_names: Names
    jobs: list[ServedJob]
    restock_text: Annotated[str, Field(description="Why the drawers are to hold more of it.")] = ""

    @property
    def jobs_served(self) -> str:
        return "; ".join(filter(None, (*(job.name_and_refs for job in self.jobs), self.restock_text)))

    @property
    def cost(self) -> str:
        """The price of all packs and the share of postage: `1.50 + 0.35`."""
        return " + ".join(filter(None, (money(self.price), money(self.postage))))


@dataclass
class Completion(Answer):
    """A smallest set of lines that completes jobs: places in `results`, from 0."""

    lines: list[int]
    price: Money | None
    jobs: list[int]
    names: Names


@dataclass
class BuyTotals(Answer):
    lines: int
    pieces: int
    price: Annotated[Money | None, Field(description="null where that of a line is not known.")]
    known_price: Annotated[Money, Field(description="Of the lines whose price is known.")]
    postage: Money | None
    completes: Annotated[int, Field(description="Jobs that lack nothing once all of it has come.")]
    ask: Annotated[int, Field(description="Pieces short that only wait for an answer, and are not bought.")]


@dataclass
class Buy(WholeAnswer):
    """Lines by how soon they complete a job; the sets by number of lines, price and the jobs' rank."""

    totals: BuyTotals
    results: list[LineToBuy]
    questions: Annotated[
        list[InQuestion], Field(description="Pieces at hand or on order that would serve, once answered.")
    ]
    completions: list[Completion]
    of_jobs: Annotated[bool, Field(exclude=True)] = False
    """Whether only what named jobs lack is on the list."""

    @classmethod
    def of(
        cls,
        lines: list[LineToBuy],
        questions: list[InQuestion],
        completions: list[Completion],
        price: Decimal | None,
        postage: Decimal | None,
    ) -> Self:
        totals = BuyTotals(
            len(lines), sum(line.pieces for line in lines), price,
            sum((line.price for line in lines if line.price is not None), Decimal(0)), postage,
            len({job for each in completions for job in each.jobs}), sum(each.quantity for each in questions),
        )  # fmt: skip
        return cls(totals, lines, questions, completions)

    def names_of(self, completion: Completion) -> str:
        """What its lines are called."""
        return "; ".join(self.results[line].name for line in completion.lines)

    @classmethod
    def example(cls) -> Self:
        facts: dict[str, Any] = {"kind": "capacitor", "value": "100u", "volts": "50"}
        can = Spec.from_dict({**facts, "dielectric": "aluminium"})
        unmarked = Spec.from_dict({"kind": "capacitor", "value": "100u", "dielectric": "aluminium"})
        job = ServedJob("same", (), [], 4, "Plover C rebuild", ["C7", "C8", "C9"], 3, can.text)
        line = LineToBuy(
            12, can.text, can, can.text, 3, 1, 5, 5, 2, 0, 0, Decimal("0.3"), Decimal("1.5"), Decimal("2.5"),
            "Harbour Radio", [4], [job.name], [job],
        )  # fmt: skip
        drawer: dict[str, Any] = {
            "lot": 12,
            "place": 7,
            "place_name": "Drawer 7",
            "ref": "",
            "tier": "drawer",
        }
        question = in_question(
            {**drawer, "spec_text": unmarked.text}, fits(can, unmarked), job=4, job_name=job.name, quantity=1
        )
        done = Completion([0], Decimal("1.5"), [4], [job.name])
        return cls.of([line], [question], [done], Decimal("1.5"), Decimal("2.5"))


# --- at a terminal, and the sets in a sheet; the list itself is a sheet that comes back in: see buy_sheet

LINES = AnswerTable(
    "To buy",
    (
        AnswerColumn("Part", lambda line: line.part, narrow="part", number=True),
        AnswerColumn("What", lambda line: line.name, narrow="what"),
        AnswerColumn("Needed", lambda line: line.needed, narrow="needed", number=True),
        AnswerColumn("Pieces", lambda line: line.pieces, narrow="pieces", number=True),
        AnswerColumn(
            "Packs",
            lambda line: f"{line.packs} of {line.pack_size}" if line.pack_size > 1 else "",
            narrow="packs",
        ),
        AnswerColumn("Price", lambda line: line.cost, narrow="price"),
        AnswerColumn("From", lambda line: line.bought_from, narrow="from"),
        AnswerColumn("Completes", lambda line: ", ".join(line.completes_names), narrow="completes"),
        AnswerColumn("For", lambda line: line.jobs_served, narrow="for"),
    ),
)
COMPLETIONS = AnswerTable(
    SETS,
    (
        AnswerColumn("Lines", lambda _, each: len(each.lines), 8, number=True),
        AnswerColumn("Buy", lambda answer, each: answer.names_of(each), 90, "buy"),
        AnswerColumn("Price", lambda _, each: each.price, 10, "price", number=True),
        AnswerColumn("Completes", lambda _, each: ", ".join(each.names), 60, "completes"),
    ),
)
QUESTIONS = AnswerTable(
    OPEN_QUESTIONS,
    (
        AnswerColumn("Pieces", lambda each: each.quantity, 9, "pieces", number=True),
        AnswerColumn("What", lambda each: each.spec_text, 34, "what"),
        AnswerColumn("Where", lambda each: each.where or each.tier_words, 30, "where"),
        AnswerColumn("For", lambda each: each.job_name, 24, "for"),
        AnswerColumn("Next step", lambda each: each.question, 40, "next step"),
    ),
)


def of_completions(answer: Buy) -> Iterable[tuple[Buy, Completion]]:
    """The rows of COMPLETIONS."""
    return ((answer, each) for each in answer.completions)
