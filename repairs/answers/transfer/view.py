"""`jobs/{id}/transfer/`: what of a donor goes where on the job's board."""

from django.shortcuts import get_object_or_404
from rest_framework.request import Request
from rest_framework.response import Response

from inventory.answers import answers, as_json
from inventory.api.viewsets import Conventions
from repairs.answers.parameters import PlanQuestion
from repairs.answers.transfer.answer import Transfer
from repairs.answers.transfer.plan import transfer_plan
from repairs.answers.transfer.question import FROM
from repairs.models import Job


class JobTransfer(Conventions):
    query_parameters = (FROM.described,)

    @answers(Transfer, "To revision C", operation_id="jobs_transfer")
    def get(self, request: Request, pk: int) -> Response:
        """What moves from the donor to which position, what must be found, and what is left over."""
        job = get_object_or_404(Job.objects.select_related("board__design", "board__place"), pk=pk)
        ask: PlanQuestion[Transfer] = PlanQuestion((FROM,), lambda donor: transfer_plan(job, donor))
        return Response(as_json(ask.of_request(request)))
