"""What to buy, as it is answered: the lines, what only needs an answer, and what completes which job."""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field
from decimal import Decimal
from typing import Annotated, Any, Self

from pydantic import Field

from inventory.answers import Answer, AnswerColumn, AnswerTable, Money, SpecOut, WholeAnswer, one_of
from inventory.refs import write_refs
from inventory.spec import Spec, fits
from repairs.answers.pieces import Fitting, FriendMay, InQuestion, OtherMay, in_question
from repairs.buy_table import ASK_FRIENDS, OPEN_QUESTIONS, SETS
from repairs.explanations import money

FIRST, ANYWAY, COST = "first", "anyway", "cost"
FRIENDS = (FIRST, ANYWAY, COST)
"""What is done about what friends have: asked of them first, bought all the same, or as costs less."""

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
    requirement: Annotated[int, Field(description="A row of shortages/.")]

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
    friends: Annotated[
        list[FriendMay], Field(description="Who has what would do; nothing of it is promised.")
    ] = field(default_factory=list)
    others: Annotated[
        list[OtherMay], Field(description="Who else here has what would do: asked before it is bought.")
    ] = field(default_factory=list)
    asked: Annotated[
        int, Field(description="Pieces of `needed` that friends were asked for and have not answered.")
    ] = 0

    @property
    def jobs_served(self) -> str:
        return "; ".join(filter(None, (*(job.name_and_refs for job in self.jobs), self.restock_text)))

    @property
    def friends_words(self) -> str:
        """`merle here has 2: same; Lantern Street has 2: drop-in; 1 asked for`."""
        waits = [f"{self.asked} asked for"] if self.asked else []
        here = dict.fromkeys(each.label for each in self.others)
        return "; ".join([*here, *(each.label for each in self.friends), *waits])

    @property
    def cost(self) -> str:
        """The price of all packs and the share of postage: `1.50 + 0.35`."""
        return " + ".join(filter(None, (money(self.price), money(self.postage))))


@dataclass
class AskFriend(Fitting):
    """Pieces to ask a friend for; they are neither promised nor on their way before the friend says yes."""

    line: Annotated[int, Field(description="By which it is asked for, at friends/asks/.")]
    friend: int
    friend_name: str
    quantity: int
    spec_text: str
    condition: Annotated[str, one_of(("good", "untested"), "By the friend's list.")]
    requirement: int
    for_text: str
    job: int
    job_name: str


@dataclass
class OtherToAsk(OtherMay):
    """Pieces to ask another at this bench for, who comes before friends; theirs until they say yes."""

    requirement: int
    for_text: str


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
    from_others: Annotated[
        int, Field(description="Pieces left off the list, to be asked of others here (`ask_others`).")
    ] = 0
    from_friends: Annotated[
        int, Field(description="Pieces left off the list, to be asked of friends (`ask_friends`).")
    ] = 0
    asked: Annotated[
        int,
        Field(
            description="Pieces left off the list that were asked for, here or of friends, and not answered."
        ),
    ] = 0
    saved: Annotated[
        Money | None,
        Field(description="By asking friends, all postage paid; null: nothing is left off, or no price."),
    ] = None
    truncated: Annotated[
        bool, Field(description="The search by cost was cut short: a better answer may exist.")
    ] = False


@dataclass
class Buy(WholeAnswer):
    """Lines by how soon they complete a job; the sets by number of lines, price and the jobs' rank."""

    totals: BuyTotals
    results: list[LineToBuy]
    questions: Annotated[
        list[InQuestion], Field(description="Pieces at hand or on order that would serve, once answered.")
    ]
    completions: list[Completion]
    friends: Annotated[str, one_of(FRIENDS, "What was done about what friends have, as it was asked.")] = (
        ANYWAY
    )
    ask_friends: Annotated[
        list[AskFriend],
        Field(description="What friends could give: left off the list but where `friends` is anyway."),
    ] = field(default_factory=list)
    ask_others: Annotated[
        list[OtherToAsk],
        Field(description="What others here could give: left off the list but where `friends` is anyway."),
    ] = field(default_factory=list)
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
        job = ServedJob("same", (), [], 4, "Plover C rebuild", ["C7", "C8", "C9"], 3, can.text, 17)
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
        answer = cls.of([line], [question], [done], Decimal("1.5"), Decimal("2.5"))
        name = "Lantern Street repair evening"
        line.friends = [FriendMay("same", (), [], 31, 3, name, 2, 2, can.text, "good")]
        ask = AskFriend("same", (), [], 31, 3, name, 2, can.text, "good", 17, can.text, 4, job.name)
        answer.ask_friends = [ask]
        return answer


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
        AnswerColumn("Friends", lambda line: line.friends_words, narrow="friends"),
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
        AnswerColumn("What", lambda each: each.spec_text, 44, "what"),
        AnswerColumn("Where", lambda each: each.where or each.tier_words, 30, "where"),
        AnswerColumn("For", lambda each: each.job_name, 24, "for"),
        AnswerColumn("Next step", lambda each: each.question, 40, "next step"),
    ),
)
ASKS = AnswerTable(
    ASK_FRIENDS,
    (
        AnswerColumn("Line", lambda each: each.line, 8, "line", number=True),
        AnswerColumn("Who", lambda each: each.friend_name, 30, "who"),
        AnswerColumn("Pieces", lambda each: each.quantity, 9, "pieces", number=True),
        AnswerColumn("What", lambda each: each.spec_text, 34, "what"),
        AnswerColumn("For", lambda each: f"{each.job_name}: {each.for_text}", 44, "for"),
        AnswerColumn("Fit", lambda each: each.grade_words, 12, "fit"),
        AnswerColumn("Why", lambda each: "; ".join(each.why), 60),
    ),
)


def of_completions(answer: Buy) -> Iterable[tuple[Buy, Completion]]:
    """The rows of COMPLETIONS."""
    return ((answer, each) for each in answer.completions)
