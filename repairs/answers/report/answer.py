"""What the report of a repair says, as it is answered."""

from collections.abc import Callable
from dataclasses import dataclass
from datetime import UTC, datetime
from decimal import Decimal
from typing import Annotated, Any, Self

from pydantic import Field

from inventory.answers import Answer, AnswerColumn, AnswerTable, Cents, WholeAnswer, cents, one_of
from repairs import lenders
from repairs.answers.log_lines import LogLines
from repairs.benchlog import LogLine
from repairs.proving.rails import OPEN, STOP
from repairs.proving.ready import READY

Verdict = Annotated[str, one_of((READY, OPEN, STOP))]


@dataclass
class UsedPart(Answer):
    """A piece that was fitted: where, what it is, where it came from, and the note that goes with it."""

    ref: str
    wanted: str
    fitted: str
    origin: str
    salvaged: Annotated[bool, Field(description="It was not bought.")]
    price: Annotated[Cents | None, Field(description="For one piece, if anybody entered one.")]
    quantity: int
    note: str

    @property
    def price_text(self) -> str:
        return "" if self.price is None else cents(self.price)


@dataclass
class ReportReading(Answer):
    rail: str
    stage: str
    ref: str
    reading: str
    by: str


@dataclass
class ReportException(Answer):
    check: str
    subject: str
    why: str
    by: str


@dataclass
class ReportTrial(Answer):
    of: str
    method: str
    reading: str
    verdict: str


@dataclass
class ReportTask(Answer):
    text: str
    done: bool


@dataclass
class ReportLender(Answer):
    """A board from which a piece was borrowed, and its state, also in words."""

    board: str
    ref: str
    state: Annotated[str, one_of(lenders.STATES)]
    explanation: str


@dataclass
class RepairReport(WholeAnswer):
    """`spent`: what bought pieces cost; `saved`: what others would have; `unpriced` pieces are in neither."""

    job: int
    name: str
    board: str | None
    status: str
    symptom: str
    cause: str
    note: str
    parts: list[UsedPart]
    spent: Cents
    saved: Cents
    unpriced: int
    isolated: Annotated[
        list[str], Field(description="Proven with a borrowed part that is still in: not fixed.")
    ]
    lenders: list[ReportLender]
    verdict: Verdict | None
    accepted: Annotated[int, Field(description="Exceptions that the verdict rests on.")]
    accepted_by: Annotated[tuple[str, ...], Field(description="Who made them.")]
    verdict_text: Annotated[
        str, Field(description="With the exceptions that it rests on: `ready, 2 accepted by robin`.")
    ]
    readings: list[ReportReading]
    exceptions: list[ReportException]
    trials: list[ReportTrial]
    tasks: list[ReportTask]
    log: LogLines

    @property
    def costs(self) -> str:
        """What the parts cost and saved, in a line."""
        return (
            f"spent {cents(self.spent)}, saved by salvage {cents(self.saved)}, "
            f"pieces without a price: {self.unpriced}"
        )

    @classmethod
    def example(cls) -> Self:
        part = UsedPart(
            ref="C1", wanted="4700µ 25 V aluminium, axial", fitted="4700µ 40 V aluminium, radial",
            origin="Plover donor C1", salvaged=True, price=Decimal("1.20"), quantity=1,
            note="radial in an axial place, sleeved",
        )  # fmt: skip
        line = LogLine(
            datetime(2026, 11, 22, 9, 10, tzinfo=UTC), "fit", "ic 2716, dip: Tray 1 to Plover C bare IC10",
            "robin", 204,
        )  # fmt: skip
        return cls(
            job=4, name="Plover C rebuild", board="Plover C bare", status="done", symptom="no sound",
            cause="C1 dry", note="", parts=[part], spent=Decimal("3.40"), saved=Decimal("1.20"), unpriced=2,
            isolated=[], verdict="ready", accepted=1, accepted_by=("robin",),
            verdict_text="ready, 1 accepted by robin",
            lenders=[ReportLender("Plover that works", "U12", "proven", "U12 is back and the board passed")],
            readings=[ReportReading("+5V", "chips_out", "", "4.98 V", "robin")],
            exceptions=[ReportException("position", "IC29", "2 K will do", "robin")],
            trials=[ReportTrial("lot 5: 4700µ", "capacitance", "4950 µF", "good")],
            tasks=[ReportTask("make a heatsink for IC1", done=True)], log=[line],
        )  # fmt: skip


# --- at a terminal


def _column(heading: str, of: Callable[[Any], str], *, number: bool = False) -> AnswerColumn:
    return AnswerColumn(heading, of, narrow=heading.lower(), number=number)


PARTS = AnswerTable(
    "Parts used",
    (
        _column("Position", lambda part: part.ref or "loose"),
        _column("Fitted", lambda part: f"{part.quantity} x {part.fitted}"),
        _column("From", lambda part: part.origin),
        _column("Each", lambda part: part.price_text, number=True),
        _column("Note", lambda part: part.note),
    ),
)
_BY = _column("By", lambda row: row.by)
READINGS = AnswerTable(
    "Rails",
    (
        _column("Rail", lambda row: row.rail), _column("Stage", lambda row: row.stage),
        _column("Position", lambda row: row.ref), _column("Reading", lambda row: row.reading), _BY,
    ),
)  # fmt: skip
EXCEPTIONS = AnswerTable(
    "Exceptions",
    (
        _column("Check", lambda row: row.check), _column("Of", lambda row: row.subject),
        _column("Why", lambda row: row.why), _BY,
    ),
)  # fmt: skip
TRIALS = AnswerTable(
    "Trials",
    (
        _column("Of", lambda row: row.of), _column("Method", lambda row: row.method),
        _column("Reading", lambda row: row.reading), _column("Verdict", lambda row: row.verdict),
    ),
)  # fmt: skip
TASKS = AnswerTable(
    "Things done",
    (
        _column("State", lambda row: "done" if row.done else "to do"),
        _column("What", lambda row: row.text),
    ),
)
