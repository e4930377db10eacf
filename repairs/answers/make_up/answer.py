"""What two or three free pieces make of a missing value, as it is answered."""

from collections.abc import Mapping
from dataclasses import dataclass, field
from fractions import Fraction
from typing import Annotated, Self

from pydantic import Field

from inventory.answers import Answer, AnswerColumn, AnswerTable, SpecOut, WholeAnswer
from inventory.spec import Spec
from repairs.answers.lifting import EXAMPLE_CAUTION, StepCaution
from repairs.answers.pieces import FriendMay, OtherMay, Where

_UNITS = {"watts": "W", "volts": "V", "amps": "A"}


@dataclass
class MadeUpPart(Where):
    """A free piece that no job needs, and how much of each load of the whole it stands."""

    condition: str
    measured: Annotated[str | None, Field(description="Its reading, where there is one.")]
    share_percent: dict[str, str]


@dataclass
class WayToMake(Answer):
    """Percent are of the required value; null where a part's tolerance or rating is not known."""

    arrangement: Annotated[str, Field(description="+ is in series, ∥ in parallel.")]
    value: Annotated[str, Field(description="Rounded to the smallest unit that is kept.")]
    value_text: str
    error_percent: str
    low_percent: Annotated[str | None, Field(description="At worst, by the parts' tolerances.")]
    high_percent: str | None
    stands: Annotated[Mapping[str, str | None], Field(description="What the whole carries at most.")]
    parts: list[MadeUpPart]
    notes: list[str]
    steps: list[str]
    cautions: list[StepCaution]

    @property
    def spread(self) -> str:
        """`-5 to 5 %`; blank where it is not known."""
        known = self.low_percent is not None and self.high_percent is not None
        return f"{self.low_percent} to {self.high_percent} %" if known else ""

    @property
    def stands_words(self) -> str:
        """`0.5 W, 350 V`: what is known of it."""
        return ", ".join(f"{most} {_UNITS[name]}" for name, most in self.stands.items() if most is not None)


@dataclass
class MadeUpValue(WholeAnswer):
    """Ways to make one requirement, best first; `refused` says why nothing may be made up there.

    What is allowed is how far below and above the required value is accepted.
    """

    spec: SpecOut
    spec_text: str
    short: int
    jobs: Annotated[list[int], Field(description="That require it.")]
    refused: str
    allowed_low_percent: str | None
    allowed_high_percent: str | None
    ways: list[WayToMake]
    waiting: Annotated[list[str], Field(exclude=True)]
    """The jobs with their references, for people."""
    friends: Annotated[
        list[FriendMay], Field(description="Which friends have what would do as it is; they are asked.")
    ] = field(default_factory=list)
    others: Annotated[
        list[OtherMay], Field(description="Who else here has what would do as it is; they are asked.")
    ] = field(default_factory=list)

    @classmethod
    def example(cls) -> Self:
        spec = Spec.from_dict({"kind": "resistor", "value": "750", "tolerance_percent": "5", "watts": "0.25"})
        piece = MadeUpPart(
            8, 12, "Drawer 3", "", "drawer", "1k5 5 % 0.25 W resistor", "good", None,
            {"watts": "50", "volts": "100"},
        )  # fmt: skip
        take = f"take {piece.spec_text} from {piece.place_name}"
        way = WayToMake(
            "1k5 ∥ 1k5", "750", "750R", "0", "-5", "5", {"watts": "0.5", "volts": None}, [piece, piece],
            ["2 parts where one was: check the room"],
            [take, take, "join 1k5 and 1k5 in parallel", "measure the whole: expect 712R5 to 787R5"],
            [EXAMPLE_CAUTION],
        )  # fmt: skip
        return cls(spec, spec.text, 1, [4], "", "5", "5", [way], ["Plover C rebuild R11"])


@dataclass
class MadeUpValues(WholeAnswer):
    """Each requirement is answered by itself: two answers may count on the same pieces."""

    results: list[MadeUpValue]

    @classmethod
    def example(cls) -> Self:
        return cls([MadeUpValue.example()])


def figure(exact: Fraction, places: int = 2) -> str:
    """A plain decimal, rounded, without needless zeros.

    >>> figure(Fraction(-4, 15)), figure(Fraction(5))
    ('-0.27', '5')
    """
    rounded = round(exact * 10**places)
    whole, rest = divmod(abs(rounded), 10**places)
    decimals = f"{rest:0{places}}".rstrip("0")
    return f"{'-' if rounded < 0 else ''}{whole}{f'.{decimals}' if decimals else ''}"


# --- at a terminal

WAYS = AnswerTable(
    "Made up",
    (
        AnswerColumn("Way", lambda number, way: number, narrow="way", number=True),
        AnswerColumn("Arrangement", lambda _, way: way.arrangement, narrow="arrangement"),
        AnswerColumn("Value", lambda _, way: way.value_text, narrow="value"),
        AnswerColumn("Off by", lambda _, way: f"{way.error_percent} %", narrow="off by"),
        AnswerColumn("At worst", lambda _, way: way.spread or "not known", narrow="at worst"),
        AnswerColumn("Stands", lambda _, way: way.stands_words, narrow="stands"),
        AnswerColumn("Of", lambda _, way: "; ".join(part.name for part in way.parts), narrow="of"),
    ),
)
