"""`friends/asks/`: what is asked of friends, and how far it is."""

from typing import Any

from django.db.models import QuerySet
from django.shortcuts import get_object_or_404
from django_filters import ModelChoiceFilter
from drf_spectacular.utils import OpenApiExample, extend_schema, extend_schema_serializer
from rest_framework import serializers
from rest_framework.request import Request
from rest_framework.response import Response

from inventory.api.fields import RowField, StrictSerializer
from inventory.api.lists import AnyOfFilter, AskedFilters
from inventory.api.versions import check_if_match
from inventory.api.viewsets import NounViewSet
from inventory.ledger import spot_of
from inventory.models import Place, StoredSpec
from inventory.whole_numbers import MAX_PIECES
from repairs.answers import document  # noqa: F401  (makes answers known to the document)
from repairs.friends import exchange
from repairs.models import Job
from repairs.sharing_models import Friend, FriendAsk, FriendLine


@extend_schema_serializer(
    examples=[OpenApiExample("A chip", {"line": 31, "quantity": 1, "job": 2}, request_only=True)]
)
class AskingSerializer(StrictSerializer):
    line = RowField(queryset=FriendLine.objects.all(), help_text="As `have` of `friends/` names it.")
    quantity = serializers.IntegerField(min_value=1, max_value=MAX_PIECES)
    job = RowField(queryset=Job.objects.all(), required=False, allow_null=True)
    requirement = RowField(queryset=StoredSpec.objects.all(), required=False, allow_null=True)


ASKED = {
    "id": 5, "friend": 3, "friend_name": "Lantern Street repair evening", "line": "L12",
    "spec_text": "4116 ic", "quantity": 1, "condition": "good", "came_off": "Tern TR6 main board C",
    "came_off_ref": "IC7", "job": 2, "state": "asked", "lot": None,
    "at": "2026-11-28T20:15:00Z", "version": 1,
}  # fmt: skip


@extend_schema_serializer(examples=[OpenApiExample("A chip", ASKED, response_only=True)])
class AskSerializer(serializers.Serializer[Any]):
    id = serializers.IntegerField()
    friend = serializers.IntegerField(source="friend_id")
    friend_name = serializers.CharField(source="friend.name")
    line = serializers.CharField()
    spec_text = serializers.CharField(source="spec.text")
    quantity = serializers.IntegerField()
    condition = serializers.CharField(help_text="As the friend's list has it.")
    came_off = serializers.CharField(allow_blank=True)
    came_off_ref = serializers.CharField(allow_blank=True)
    job = serializers.IntegerField(source="job_id", allow_null=True)
    state = serializers.ChoiceField(FriendAsk.State.choices)
    lot = serializers.IntegerField(source="lot_id", allow_null=True, help_text="What it became.")
    at = serializers.DateTimeField()
    version = serializers.IntegerField()


@extend_schema_serializer(
    examples=[OpenApiExample("It came", {"state": "arrived", "to": 12}, request_only=True)]
)
class MovingSerializer(StrictSerializer):
    state = serializers.ChoiceField([each for each in FriendAsk.State.values if each != "asked"])
    to = RowField(
        queryset=Place.objects.all(),
        required=False,
        allow_null=True,
        help_text="Where it went, when it arrived.",
    )


def all_asked() -> QuerySet[FriendAsk]:
    """What was asked of friends, newest first."""
    return FriendAsk.objects.select_related("friend", "spec").order_by("-id")


class FriendAskFilters(AskedFilters):
    friend = ModelChoiceFilter(queryset=Friend.objects.all())
    job = ModelChoiceFilter(queryset=Job.objects.all())
    state = AnyOfFilter(choices=FriendAsk.State.choices)

    class Meta:
        model = FriendAsk
        fields: list[str] = []


class FriendAskViewSet(NounViewSet):
    """What was asked of friends, and how far it is; newest first."""

    model = FriendAsk
    http_method_names = ["get", "head", "post"]
    serializer_class = AskSerializer
    filterset_class = FriendAskFilters
    search_texts = ("friend__name", "spec__text", "came_off", "line")
    search_spec = "spec__"
    orderings = {"friend": "friend__name", "at": "at", "state": "state"}
    default_ordering = ("-id",)

    def get_queryset(self) -> QuerySet[FriendAsk]:
        return all_asked()

    @extend_schema(request=AskingSerializer, responses={201: AskSerializer})
    def create(self, request: Request, *args: Any, **kwargs: Any) -> Response:
        """Ask a friend for pieces.  Nothing is promised before they say yes."""
        serializer = AskingSerializer(data=request.data)
        serializer.is_valid(raise_exception=True)
        data = serializer.validated_data
        made = exchange.ask(
            data["line"], data["quantity"], job=data.get("job"), required=data.get("requirement")
        )
        return self.answer(made, 201, Location=self.address(made))

    @extend_schema(request=MovingSerializer, responses={200: AskSerializer}, operation_id="friends_asks_move")
    def move(self, request: Request, pk: str) -> Response:
        """Confirmed, sent, arrived or cancelled; what arrived becomes a lot that says whose it was."""
        asked = get_object_or_404(FriendAsk, pk=pk)
        check_if_match(request, asked)
        serializer = MovingSerializer(data=request.data)
        serializer.is_valid(raise_exception=True)
        place = serializer.validated_data.get("to")
        to = spot_of(place) if place is not None else None
        moved = exchange.move_on(asked, serializer.validated_data["state"], by=self.person, to=to)
        return self.answer(moved)
