"""`boards/harvest/`: what to lift off which donor, in which order."""

from rest_framework.request import Request
from rest_framework.response import Response

from inventory.answers import answers, as_json
from inventory.api.viewsets import Conventions
from repairs.answers.harvest.answer import HarvestPlan
from repairs.answers.harvest.question import HARVEST


class HarvestView(Conventions):
    query_parameters = HARVEST.described

    @answers(HarvestPlan, "One donor", operation_id="boards_harvest")
    def get(self, request: Request) -> Response:
        """The fewest lifts that close what donors can close, board by board in lifting order."""
        return Response(as_json(HARVEST.of_request(request)))
