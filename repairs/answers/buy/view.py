"""`buy/`: what is left to buy for the open jobs."""

from rest_framework.request import Request
from rest_framework.response import Response

from inventory.answers import answers, as_json
from inventory.api.viewsets import Conventions
from repairs.answers.buy.answer import Buy
from repairs.answers.buy.question import BUY_LIST


class BuyView(Conventions):
    query_parameters = BUY_LIST.described

    @answers(Buy, "One line", operation_id="buy_list")
    def get(self, request: Request) -> Response:
        """What is left to buy after the best use of everything free: merged across jobs, in whole packs."""
        return Response(as_json(BUY_LIST.of_request(request)))
