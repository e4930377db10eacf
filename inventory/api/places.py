"""`places/`: the tree of drawers and trays, people, and the places that the bench itself keeps."""

from collections.abc import Mapping
from functools import cached_property
from typing import Any

from django.db.models import QuerySet
from django_filters import ModelChoiceFilter
from drf_spectacular.utils import OpenApiExample, extend_schema, extend_schema_serializer
from rest_framework import serializers
from rest_framework.decorators import action
from rest_framework.exceptions import ErrorDetail, ValidationError
from rest_framework.request import Request
from rest_framework.response import Response

from inventory.api.fields import RowField, StrictSerializer
from inventory.api.lists import AnyOfFilter, AskedFilters, YesNoFilter
from inventory.api.problems import Refusal
from inventory.api.versions import claim
from inventory.api.viewsets import NounViewSet
from inventory.models import Place
from inventory.places import DEEPEST, paths, put_within, tree, within
from inventory.refusals import Code
from inventory.stock import Held, held_within

KEPT = (Place.Type.DRAWER, Place.Type.TRAY)
MADE_HERE = (*KEPT, Place.Type.PERSON)

SENT = {"name": "Drawer 7", "within": 3, "type": "drawer", "note": "small film capacitors"}
ANSWERED = {
    "id": 12, **SENT, "path": "Cabinet A / Row 2 / Drawer 7", "board": None, "lots": 9, "pieces": 140,
    "version": 1,
}  # fmt: skip
ANSWERED_AS_TREE = {
    "id": 3, "name": "Row 2", "type": "drawer", "lots": 31, "pieces": 512,
    "contents": [{"id": 12, "name": "Drawer 7", "type": "drawer", "lots": 9, "pieces": 140, "contents": []}],
}  # fmt: skip


@extend_schema_serializer(
    examples=[
        OpenApiExample("A drawer", SENT, request_only=True),
        OpenApiExample("A drawer", ANSWERED, response_only=True),
    ]
)
class PlaceSerializer(StrictSerializer):
    id = serializers.IntegerField(read_only=True)
    name = serializers.CharField(max_length=120)
    within = RowField(queryset=Place.objects.all(), required=False, allow_null=True)
    type = serializers.ChoiceField(Place.Type.choices, required=False)
    note = serializers.CharField(required=False, allow_blank=True, max_length=4000)
    path = serializers.SerializerMethodField(help_text="From the top: `Cabinet A / Row 2 / Drawer 7`.")
    board = serializers.IntegerField(source="board.pk", read_only=True, allow_null=True, default=None)
    lots = serializers.SerializerMethodField(help_text="Lots here and in everything within.")
    pieces = serializers.SerializerMethodField(help_text="Pieces here and in everything within.")
    version = serializers.IntegerField(read_only=True)

    def get_path(self, place: Place) -> str:
        return str(self.context["view"].paths[place.pk])

    def get_lots(self, place: Place) -> int:
        return self._held(place).lots

    def get_pieces(self, place: Place) -> int:
        return self._held(place).pieces

    def _held(self, place: Place) -> Held:
        held: Held = self.context["view"].held[place.pk]
        return held


@extend_schema_serializer(examples=[OpenApiExample("A row of drawers", ANSWERED_AS_TREE, response_only=True)])
class BranchSerializer(serializers.Serializer[Any]):
    """A place with what lies within it; totals count everything within."""

    id = serializers.IntegerField()
    name = serializers.CharField()
    type = serializers.ChoiceField(Place.Type.choices)
    lots = serializers.IntegerField()
    pieces = serializers.IntegerField()
    contents = serializers.ListField(child=serializers.DictField(), help_text="Places of the same shape.")


class PlaceFilters(AskedFilters):
    type = AnyOfFilter(choices=Place.Type.choices)
    within = ModelChoiceFilter(queryset=Place.objects.all(), help_text="Directly within this place.")
    top = YesNoFilter(field_name="within", lookup_expr="isnull", help_text="Only places within no other.")

    class Meta:
        model = Place
        fields: list[str] = []


class PlaceViewSet(NounViewSet):
    """Anywhere a piece can be."""

    model = Place
    serializer_class = PlaceSerializer
    filterset_class = PlaceFilters
    search_texts = ("name", "note")
    orderings = {"name": "name", "type": "type"}

    @cached_property
    def paths(self) -> Mapping[int, str]:
        return paths()

    @cached_property
    def held(self) -> dict[int, Held]:
        return held_within()

    def get_queryset(self) -> QuerySet[Place]:
        return Place.objects.select_related("board")

    @extend_schema(responses=BranchSerializer(many=True), filters=False)
    @action(detail=False, pagination_class=None, filter_backends=[])
    def tree(self, request: Request) -> Response:
        """All places as a tree, from the top, with totals."""
        places, contents = tree()

        def branch(place_id: int) -> dict[str, Any]:
            place, held = places[place_id], self.held[place_id]
            return {
                "id": place.pk, "name": place.name, "type": place.type,
                "lots": held.lots, "pieces": held.pieces,
                "contents": [branch(inner) for inner in contents[place_id]],
            }  # fmt: skip

        return Response([branch(place_id) for place_id in contents[None]])

    def make(self, data: dict[str, Any]) -> Place:
        _refuse_type(data.get("type", Place.Type.DRAWER), MADE_HERE)
        _refuse_inside(data.get("within"))
        return Place.objects.create(**data)

    def change(self, row: Place, data: dict[str, Any]) -> None:
        if row.type not in MADE_HERE and data.keys() - {"note"}:
            raise Refusal(
                f"{row} is kept by the bench itself; of it only the note is changed"
                + (": rename the board" if row.type == Place.Type.BOARD else ""),
                code=Code.KEPT_PLACE,
            )
        if data.get("type", row.type) != row.type:
            _refuse_type(data["type"], KEPT if row.type in KEPT else (row.type,))
        if "within" in data:
            _refuse_inside(data["within"], row)
            put_within(row, data.pop("within"))
        claim(row, **data)

    def remove(self, row: Place) -> None:
        if row.type not in MADE_HERE:
            raise Refusal(f"{row} is kept by the bench itself", code=Code.KEPT_PLACE)
        row.delete()


def _refuse_type(type_: str, allowed: tuple[str, ...]) -> None:
    if type_ not in allowed:
        detail = f"expected {' or '.join(allowed)}; boards bring their place; scrap and outside are there"
        raise ValidationError({"type": [ErrorDetail(detail, Code.NOT_HERE)]})


def _refuse_inside(target: Place | None, place: Place | None = None) -> None:
    """Drawers and trays hold places, to a depth that a person can still say."""
    if target is None:
        return
    if target.type not in KEPT:
        detail = f"{target} is a {target.type}: only drawers and trays hold places"
        raise ValidationError({"within": [ErrorDetail(detail, Code.NOT_HERE)]})
    known, _contents = tree()
    depth = 1
    above: Place | None = known[target.pk]
    while above is not None and above.within_id is not None:
        above, depth = known[above.within_id], depth + 1
    if depth + (_height(place) if place is not None else 1) > DEEPEST:
        detail = f"places can be nested at most {DEEPEST} deep"
        raise ValidationError({"within": [ErrorDetail(detail, Code.TOO_DEEP)]})


def _height(place: Place) -> int:
    """How many levels the place and what lies within it have."""
    known, _contents = tree()
    height = 1
    for inner in within([place.pk]):
        level, above = 1, known[inner]
        while above.pk != place.pk and above.within_id is not None:
            above, level = known[above.within_id], level + 1
        height = max(height, level)
    return height
