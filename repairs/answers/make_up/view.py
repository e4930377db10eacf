"""`made-up/` and `needs/{id}/made-up/`: what free pieces can stand in for a missing value."""

from django.shortcuts import get_object_or_404
from rest_framework.request import Request
from rest_framework.response import Response

from inventory.answers import answers, as_json
from inventory.api.fields import by_member
from inventory.api.problems import BadQuery
from inventory.api.viewsets import Conventions
from inventory.spec import SpecError
from repairs.answers.make_up.answer import MadeUpValue, MadeUpValues
from repairs.answers.make_up.plan import made_up_for_need
from repairs.answers.make_up.question import COUNT, MADE_UP
from repairs.answers.parameters import PlanQuestion
from repairs.models import Need


class MadeUpView(Conventions):
    query_parameters = MADE_UP.described

    @answers(MadeUpValues, "750 Ω", operation_id="made_up")
    def get(self, request: Request) -> Response:
        """What two or three free pieces make: all that is short, one row of it, or any wanted Spec."""
        try:
            answer = MADE_UP.of_request(request)
        except SpecError as refused:
            wrong = by_member(refused.problems)
            if isinstance(of_traits := wrong.pop("traits", None), dict):
                wrong |= of_traits
            raise BadQuery(wrong) from None
        return Response(as_json(answer))


class NeedMadeUp(Conventions):
    query_parameters = (COUNT.described,)

    @answers(MadeUpValue, "750 Ω", operation_id="needs_made_up")
    def get(self, request: Request, pk: int) -> Response:
        """What two or three free pieces can stand in for what this need requires."""
        need = get_object_or_404(Need.objects.select_related("spec"), pk=pk)
        ask: PlanQuestion[MadeUpValue] = PlanQuestion(
            (COUNT,), lambda count: made_up_for_need(need, count=count)
        )
        return Response(as_json(ask.of_request(request)))
