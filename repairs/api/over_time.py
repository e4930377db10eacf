"""What was done lately, and the figures of the workshop over time."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date
from decimal import Decimal
from typing import Annotated, Self

from drf_spectacular.utils import OpenApiParameter
from pydantic import Field
from rest_framework.request import Request
from rest_framework.response import Response

from inventory.answers import Answer, Cents, WholeAnswer, answers, as_json, one_of
from inventory.api.lists import number_asked
from inventory.api.viewsets import Conventions
from repairs import benchlog
from repairs.answers.log_lines import EXAMPLE_LINE, LogLines
from repairs.plots import Plots, Short, plots

DEFAULT_LINES, MAX_LINES = 100, 500


@dataclass
class Lately(WholeAnswer):
    """Newest first.  `row` of a note or task: its job."""

    lines: LogLines

    @classmethod
    def example(cls) -> Self:
        return cls([EXAMPLE_LINE])


class LatelyView(Conventions):
    """The last things that were done: what moved, was noted, tried, set and measured, by whom."""

    query_parameters = (
        OpenApiParameter("most", int, description=f"So many lines, 1 to {MAX_LINES} ({DEFAULT_LINES})."),
    )

    @answers(Lately, "Of a bench", parameters=list(query_parameters), operation_id="lately_retrieve")
    def get(self, request: Request) -> Response:
        most = number_asked(request, "most", DEFAULT_LINES, MAX_LINES)
        return Response(as_json(Lately(benchlog.lately(most)), request))


@dataclass
class PiecesMoved(Answer):
    begins: date
    came_in: Annotated[int, Field(description="Pieces that came into the drawers.")]
    went_out: Annotated[int, Field(description="Pieces that left them.")]


@dataclass
class MoneyOverTime(Answer):
    begins: date
    spent: Annotated[Cents, Field(description="What received purchases cost.")]
    saved: Annotated[
        Cents,
        Field(description="What fitted pieces that nobody bought would have cost, where a price is known."),
    ]


@dataclass
class Figures(WholeAnswer):
    step: Annotated[str, one_of(("day", "week", "month"), "How long each span is.")]
    moved: list[PiecesMoved]
    money: list[MoneyOverTime]
    unpriced: Annotated[int, Field(description="Fitted pieces with no known price.")]
    short: Annotated[Sequence[Short], Field(description="The jobs that are short of most.")]

    @classmethod
    def example(cls) -> Self:
        begins = date(2026, 3, 9)
        return cls(
            "week",
            [PiecesMoved(begins, 40, 12)],
            [MoneyOverTime(begins, Decimal("3.50"), Decimal("11.20"))],
            3,
            [Short(4, "Plover C rebuild", 6)],
        )

    @classmethod
    def of(cls, found: Plots) -> Self:
        return cls(
            found.step,
            [PiecesMoved(each.begins, int(each.first), int(each.second)) for each in found.moved],
            [MoneyOverTime(each.begins, each.first, each.second) for each in found.money],
            found.unpriced,
            found.short,
        )


class FiguresView(Conventions):
    """Pieces in and out, money spent and saved, by day, week or month; what each job is short of."""

    @answers(Figures, "Of a bench", operation_id="figures_retrieve")
    def get(self, request: Request) -> Response:
        return Response(as_json(Figures.of(plots())))
