"""What was done lately, and the figures of the workshop over time."""

from typing import Any

from drf_spectacular.utils import OpenApiExample, OpenApiParameter, extend_schema, extend_schema_serializer
from rest_framework import serializers
from rest_framework.request import Request
from rest_framework.response import Response

from inventory.api.lists import number_asked
from inventory.api.viewsets import Conventions
from repairs import benchlog
from repairs.answers.log_lines import LINE, LineSerializer, lines_as_json
from repairs.plots import Period, Plots, plots

DEFAULT_LINES, MAX_LINES = 100, 500
FIGURES = {
    "step": "week",
    "moved": [{"begins": "2026-03-09", "came_in": 40, "went_out": 12}],
    "money": [{"begins": "2026-03-09", "spent": "3.50", "saved": "11.20"}],
    "unpriced": 3,
    "short": [{"job": 4, "name": "Plover C rebuild", "pieces": 6}],
}


@extend_schema_serializer(examples=[OpenApiExample("Of a bench", {"lines": [LINE]}, response_only=True)])
class LatelySerializer(serializers.Serializer[Any]):
    lines = LineSerializer(many=True, help_text="Newest first.  `row` of a note or task: its job.")


class LatelyView(Conventions):
    """The last things that were done: what moved, was noted, tried, set and measured, by whom."""

    query_parameters = (
        OpenApiParameter("most", int, description=f"So many lines, 1 to {MAX_LINES} ({DEFAULT_LINES})."),
    )

    @extend_schema(
        responses=LatelySerializer, parameters=list(query_parameters), operation_id="lately_retrieve"
    )
    def get(self, request: Request) -> Response:
        most = number_asked(request, "most", DEFAULT_LINES, MAX_LINES)
        return Response({"lines": lines_as_json(benchlog.lately(most), request)})


class MovedSerializer(serializers.Serializer[Any]):
    begins = serializers.DateField()
    came_in = serializers.IntegerField(help_text="Pieces that came into the drawers.")
    went_out = serializers.IntegerField(help_text="Pieces that left them.")


class MoneySerializer(serializers.Serializer[Any]):
    begins = serializers.DateField()
    spent = serializers.DecimalField(12, 2, help_text="What received purchases cost.")
    saved = serializers.DecimalField(
        12, 2, help_text="What fitted pieces that nobody bought would have cost, where a price is known."
    )


class ShortSerializer(serializers.Serializer[Any]):
    job = serializers.IntegerField()
    name = serializers.CharField()
    pieces = serializers.IntegerField()


@extend_schema_serializer(examples=[OpenApiExample("Of a bench", FIGURES, response_only=True)])
class FiguresSerializer(serializers.Serializer[Any]):
    step = serializers.ChoiceField(["day", "week", "month"], help_text="How long each span is.")
    moved = MovedSerializer(many=True)
    money = MoneySerializer(many=True)
    unpriced = serializers.IntegerField(help_text="Fitted pieces with no known price.")
    short = ShortSerializer(many=True, help_text="The jobs that are short of most.")


def figures_as_json(found: Plots) -> dict[str, Any]:
    def spans(periods: tuple[Period, ...], first: str, second: str) -> list[dict[str, Any]]:
        return [{"begins": each.begins, first: each.first, second: each.second} for each in periods]

    rows = {
        **vars(found),
        "moved": spans(found.moved, "came_in", "went_out"),
        "money": spans(found.money, "spent", "saved"),
    }
    return dict(FiguresSerializer(rows).data)


class FiguresView(Conventions):
    """Pieces in and out, money spent and saved, by day, week or month; what each job is short of."""

    @extend_schema(responses=FiguresSerializer, operation_id="figures_retrieve")
    def get(self, request: Request) -> Response:
        return Response(figures_as_json(plots()))
