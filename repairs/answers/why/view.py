"""`needs/{id}/why/`: why a need was given what it was given, and what would change it."""

from django.shortcuts import get_object_or_404
from rest_framework.request import Request
from rest_framework.response import Response

from inventory.answers import answers, as_json
from inventory.api.viewsets import Conventions
from repairs.answers.why.answer import Why
from repairs.answers.why.explaining import explain
from repairs.models import Need


class NeedWhy(Conventions):
    @answers(Why, "Another job is first", operation_id="needs_why")
    def get(self, request: Request, pk: int) -> Response:
        """What the plan gives this need and why, who has what it would have had, what would change it."""
        need = get_object_or_404(Need.objects.select_related("job__board", "spec"), pk=pk)
        return Response(as_json(explain(need)))
