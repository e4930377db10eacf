"""`boards/{id}/links/{id}/` and its like: what was written down of a board by mistake, taken back."""

from django.db.models import QuerySet
from django.shortcuts import get_object_or_404
from drf_spectacular.utils import extend_schema
from rest_framework.request import Request
from rest_framework.response import Response

from inventory.models import Board
from repairs import bringing_up
from repairs.api.of_board import OfBoard
from repairs.proving_models import Confirmation, Exemption, LinkSetting, Observed, RailReading


class _TakenBack(OfBoard):
    delete_role = "bench"

    def rows(self, board: Board) -> "QuerySet[Observed]":
        raise NotImplementedError

    def take_back(self, fact: int) -> Response:
        bringing_up.take_back([get_object_or_404(self.rows(self.board), pk=fact)])
        return Response(status=204)


class LinkTakenBack(_TakenBack):
    def rows(self, board: Board) -> "QuerySet[LinkSetting]":
        return board.link_settings.all()

    @extend_schema(responses={204: None}, operation_id="boards_links_destroy")
    def delete(self, request: Request, pk: int, fact: int) -> Response:
        """Take back how a link was said to stand; it stays on record.  What was said before holds again."""
        return self.take_back(fact)


class RailTakenBack(_TakenBack):
    def rows(self, board: Board) -> "QuerySet[RailReading]":
        return board.rail_readings.all()

    @extend_schema(responses={204: None}, operation_id="boards_rails_destroy")
    def delete(self, request: Request, pk: int, fact: int) -> Response:
        """Take a reading back; it stays on record.  What was read before holds again."""
        return self.take_back(fact)


class OrientationTakenBack(_TakenBack):
    def rows(self, board: Board) -> "QuerySet[Confirmation]":
        return board.confirmations.filter(item="orientation")

    @extend_schema(responses={204: None}, operation_id="boards_orientation_destroy")
    def delete(self, request: Request, pk: int, fact: int) -> Response:
        """Take back which way round a part was said to be; it stays on record."""
        return self.take_back(fact)


class CheckTakenBack(_TakenBack):
    def rows(self, board: Board) -> "QuerySet[Confirmation]":
        return board.confirmations.exclude(item="orientation")

    @extend_schema(responses={204: None}, operation_id="boards_checks_destroy")
    def delete(self, request: Request, pk: int, fact: int) -> Response:
        """Take back what was confirmed of the whole board; it stays on record."""
        return self.take_back(fact)


class ExceptionTakenBack(_TakenBack):
    def rows(self, board: Board) -> "QuerySet[Exemption]":
        return board.exemptions.all()

    @extend_schema(responses={204: None}, operation_id="boards_exceptions_destroy")
    def delete(self, request: Request, pk: int, fact: int) -> Response:
        """Withdraw an exception; it stays on record."""
        return self.take_back(fact)
