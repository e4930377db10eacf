"""`boards/{id}/links/{id}/` and its like: what was written down of a board by mistake, taken back."""

from collections.abc import Callable

from django.db.models import QuerySet
from django.shortcuts import get_object_or_404
from drf_spectacular.utils import extend_schema
from rest_framework.request import Request
from rest_framework.response import Response

from inventory.models import Board
from repairs import bringing_up
from repairs.api.of_board import OfBoard
from repairs.proving_models import Observed

Rows = Callable[[Board], "QuerySet[Observed]"]
FACTS: dict[str, tuple[Rows, str]] = {
    "links": (
        lambda board: board.link_settings.all(),
        "Take back how a link was said to stand; it stays on record.  What was said before holds again.",
    ),
    "rails": (
        lambda board: board.rail_readings.all(),
        "Take a reading back; it stays on record.  What was read before holds again.",
    ),
    "orientation": (
        lambda board: board.confirmations.filter(item="orientation"),
        "Take back which way round a part was said to be; it stays on record.",
    ),
    "checks": (
        lambda board: board.confirmations.exclude(item="orientation"),
        "Take back what was confirmed of the whole board; it stays on record.",
    ),
    "exceptions": (lambda board: board.exceptions.all(), "Withdraw an exception; it stays on record."),
}
"""What may be taken back: the rows of a board, and what is said of it in the schema."""


def taken_back(name: str) -> type[OfBoard]:
    """The view that takes back one fact of this sort."""
    rows, description = FACTS[name]

    class TakenBack(OfBoard):
        delete_role = "bench"

        @extend_schema(responses={204: None}, operation_id=f"boards_{name}_destroy", description=description)
        def delete(self, request: Request, pk: int, fact: int) -> Response:
            bringing_up.take_back([get_object_or_404(rows(self.board), pk=fact)])
            return Response(status=204)

    return TakenBack
