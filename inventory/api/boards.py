"""`boards/`: physical boards, surveyed or not, and what came off each and what is on it."""

from collections.abc import Mapping
from functools import cached_property
from typing import Any

from django.db.models import Exists, OuterRef, QuerySet
from django.shortcuts import get_object_or_404
from django_filters import ModelChoiceFilter
from drf_spectacular.utils import OpenApiExample, extend_schema, extend_schema_serializer
from rest_framework import serializers
from rest_framework.decorators import action
from rest_framework.request import Request
from rest_framework.response import Response

from inventory import boards, ledger, ownership
from inventory.api.fields import RowField, StrictSerializer
from inventory.api.lists import AnyOfFilter, AskedFilters
from inventory.api.owners import OwnerField, OwnerFilter
from inventory.api.traces import BoardTraceSerializer, board_trace
from inventory.api.versions import claim
from inventory.api.viewsets import NounViewSet
from inventory.models import Board, Design
from inventory.places import paths

SENT = {"name": "Plover donor", "design": 4, "purpose": "donor", "survey": True, "note": "no sound, corroded"}
ANSWERED = {
    "id": 3, "name": "Plover donor", "design": 4, "design_name": "Plover timer B", "purpose": "donor",
    "place": 40, "incomplete": False, "note": "no sound, corroded", "owner": "robin",
    "version": 1,
}  # fmt: skip


@extend_schema_serializer(
    examples=[
        OpenApiExample("A donor, surveyed", SENT, request_only=True),
        OpenApiExample("A donor", ANSWERED, response_only=True),
    ]
)
class BoardSerializer(StrictSerializer):
    id = serializers.IntegerField(read_only=True)
    name = serializers.CharField(max_length=120)
    design = RowField(queryset=Design.objects.all(), required=False, allow_null=True)
    design_name = serializers.CharField(source="design", read_only=True, allow_null=True)
    purpose = serializers.ChoiceField(Board.Purpose.choices)
    place = serializers.IntegerField(
        source="place_id", read_only=True, help_text="The place its pieces are at."
    )
    incomplete = serializers.BooleanField(read_only=True, help_text="A piece of it is out on loan.")
    survey = serializers.BooleanField(
        required=False, write_only=True, help_text="Enter one untested piece at every position not known yet."
    )
    note = serializers.CharField(required=False, allow_blank=True, max_length=4000)
    owner = OwnerField(help_text="Whose it is, and so what comes off it, by name. null: everybody's.")
    version = serializers.IntegerField(read_only=True)


class BoardFilters(AskedFilters):
    purpose = AnyOfFilter(choices=Board.Purpose.choices)
    design = ModelChoiceFilter(queryset=Design.objects.all())
    owner = OwnerFilter()

    class Meta:
        model = Board
        fields: list[str] = []


class BoardViewSet(NounViewSet):
    """Physical boards."""

    model = Board
    serializer_class = BoardSerializer
    filterset_class = BoardFilters
    search_texts = ("name", "note", "design__name", "design__revision")
    orderings = {"name": "name", "purpose": "purpose", "design": "design__name"}

    @cached_property
    def paths(self) -> Mapping[int, str]:
        return paths()

    def get_queryset(self) -> QuerySet[Board]:
        lent = ledger.open_loans().filter(borrow=True, from_place=OuterRef("place"))
        return Board.objects.select_related("design", "owner").annotate(incomplete=Exists(lent))

    def make(self, data: dict[str, Any]) -> Board:
        return boards.register(by=self.person, surveyed=data.pop("survey", False), **data)

    def change(self, row: Board, data: dict[str, Any]) -> None:
        survey = data.pop("survey", False)
        if "owner" in data:
            ownership.give_board(row, data.pop("owner"), by=self.person)
            row.refresh_from_db(fields=["version", "owner"])
        claim(row, **data)
        boards.carry_out(row, data, surveyed=survey, by=self.person)

    def remove(self, row: Board) -> None:
        boards.forget(row)

    @extend_schema(responses=BoardTraceSerializer)
    @action(detail=True)
    def trace(self, request: Request, pk: str) -> Response:
        """What came off each position and where it is now; what is fitted and where it came from."""
        board = get_object_or_404(Board, pk=pk)
        return Response(board_trace(board, self.paths))
