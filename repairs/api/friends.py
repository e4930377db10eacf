"""`spare/` and `friends/`: what can be spared and what is lacking; friends, their lists and gifts to them."""

from dataclasses import asdict
from typing import Any, cast

from django.db import transaction
from django.db.models import Exists, OuterRef, QuerySet
from django.http import HttpResponse
from django.shortcuts import get_object_or_404
from drf_spectacular.types import OpenApiTypes
from drf_spectacular.utils import OpenApiExample, extend_schema, extend_schema_serializer
from rest_framework import serializers
from rest_framework.exceptions import ErrorDetail, ValidationError
from rest_framework.generics import GenericAPIView
from rest_framework.parsers import MultiPartParser
from rest_framework.request import Request
from rest_framework.response import Response

from inventory.answers import answers, as_json
from inventory.api.fields import RowField, StrictSerializer, TrueOrFalse
from inventory.api.lists import Pages
from inventory.api.versions import check_if_match, claim, etag
from inventory.api.viewsets import Conventions
from inventory.ledger import spot_of
from inventory.models import Lot, Movement, Place
from inventory.refusals import Code, Refused
from inventory.spec.figures import plain
from inventory.whole_numbers import MAX_PIECES
from repairs.answers import document  # noqa: F401  (makes answers known to the document)
from repairs.friends import exchange, findings, giving, lists
from repairs.friends.files import MAX_BYTES, BadFile
from repairs.friends.keys import facts_of_key, refuse_key_of_another, signature_of
from repairs.friends.match import Friends, friends
from repairs.friends.signing import KEY_LENGTH, read_key
from repairs.friends.spare import Spare, spare_and_lacking, spare_document, tick
from repairs.sharing_models import Friend, FriendGift

# --- what goes out


class LotMarkSerializer(StrictSerializer):
    lot = serializers.IntegerField(min_value=1, max_value=10**18 - 1)
    give = serializers.IntegerField(
        required=False, min_value=0, max_value=MAX_PIECES, help_text="So many may go; 0: none."
    )
    keep = TrueOrFalse(required=False, help_text="true: none of it is ever spare.")


class LackMarkSerializer(StrictSerializer):
    requirement = serializers.IntegerField(min_value=1, max_value=10**18 - 1)
    tell = TrueOrFalse(help_text="true: friends are told that it is lacking.")


MARKS = {
    "lots": [{"lot": 7, "give": 2}, {"lot": 9, "keep": True}],
    "lacking": [{"requirement": 12, "tell": True}],
}


class MarksSerializer(StrictSerializer):
    """The owner's marks; what is not named stays as it is."""

    lots = LotMarkSerializer(many=True, required=False, max_length=5000)  # type: ignore[call-arg]
    lacking = LackMarkSerializer(many=True, required=False, max_length=5000)  # type: ignore[call-arg]


class SpareView(Conventions):
    """What can be spared and what is lacking.  Nothing is given away that the owner did not tick."""

    @answers(Spare, "One lot, one lack", operation_id="spare_retrieve")
    def get(self, request: Request) -> Response:
        """Free pieces that no open job, no reorder level and no mark keeps back; and what is short."""
        return Response(as_json(spare_and_lacking()))

    @answers(
        Spare,
        "One lot, one lack",
        [OpenApiExample("Two of a lot, none of another", MARKS, request_only=True)],
        operation_id="spare_mark",
        request=MarksSerializer,
    )
    def put(self, request: Request) -> Response:
        """Tick what may go and what friends may be told, or keep a lot back: all of it or nothing.

        A person's own lots are ticked by that person alone; all else by an owner of the bench.
        """
        serializer = MarksSerializer(data=request.data)
        serializer.is_valid(raise_exception=True)
        lots = serializer.validated_data.get("lots", [])
        tick(
            {each["lot"]: each["give"] for each in lots if "give" in each},
            {each["lot"]: each["keep"] for each in lots if "keep" in each},
            {each["requirement"]: each["tell"] for each in serializer.validated_data.get("lacking", [])},
            by=self.person,
        )
        return Response(as_json(spare_and_lacking()))


class SpareFileView(Conventions):
    @extend_schema(
        responses={(200, "application/octet-stream"): OpenApiTypes.BINARY}, operation_id="spare_file_retrieve"
    )
    def get(self, request: Request) -> HttpResponse:
        """The list that is given away: what is ticked, without names, prices and places."""
        made = spare_document()
        return HttpResponse(
            lists.as_text(made, signature_of),
            content_type="application/octet-stream",
            headers={"Content-Disposition": f'attachment; filename="spare-{made.made}.json"'},
        )


# --- friends


FRIEND = {
    "name": "Lantern Street repair evening",
    "reach": "post box 7",
    "postage": "4.2",
    "note": "",
    "key": "",
}


class KeyField(serializers.CharField):
    """The public key of a workshop."""

    def to_internal_value(self, data: Any) -> str:
        text: str = super().to_internal_value(data)
        try:
            return read_key(text) if text else ""
        except Refused as refused:
            raise ValidationError([ErrorDetail(refused.detail, refused.code)]) from None


class PostageField(serializers.DecimalField):
    """Postage as it is typed, `3.50` or `3,50`; given as short as every other sum."""

    def to_internal_value(self, data: Any) -> Any:
        return super().to_internal_value(data.replace(",", ".") if isinstance(data, str) else data)

    def to_representation(self, value: Any) -> Any:
        return plain(value)


@extend_schema_serializer(
    examples=[
        OpenApiExample("A workshop", FRIEND, request_only=True),
        OpenApiExample(
            "A workshop",
            {"id": 3, **FRIEND, "made": "2026-11-20", "signed_by": "", "version": 2},
            response_only=True,
        ),
    ]
)
class FriendSerializer(StrictSerializer):
    id = serializers.IntegerField(read_only=True)
    name = serializers.CharField(max_length=120)
    reach = serializers.CharField(
        required=False, allow_blank=True, max_length=400, help_text="How to reach it."
    )
    postage = PostageField(
        max_digits=8,
        decimal_places=2,
        min_value=0,
        required=False,
        allow_null=True,
        help_text="Of one parcel.",
    )
    note = serializers.CharField(required=False, allow_blank=True, max_length=4000)
    key = KeyField(
        required=False, allow_blank=True, max_length=KEY_LENGTH,
        help_text="What it gives is signed by this one; where it is kept, nothing else is taken of it.",
    )  # fmt: skip
    made = serializers.DateField(read_only=True, allow_null=True, help_text="The day on its last list.")
    signed_by = serializers.CharField(read_only=True, help_text="Whose signature the list has; blank: none.")
    version = serializers.IntegerField(read_only=True)

    def validate_key(self, key: str) -> str:
        refuse_key_of_another(key, self.instance)
        return key


class FriendsView(Conventions):
    """Other workshops, and what there is between them and this one."""

    @answers(Friends, "One friend", operation_id="friends_retrieve")
    def get(self, request: Request) -> Response:
        """Who has what we lack, whom we could help, and the fewest parcels that close the most jobs."""
        return Response(as_json(friends()))

    @extend_schema(request=FriendSerializer, responses={201: FriendSerializer}, operation_id="friends_create")
    def post(self, request: Request) -> Response:
        """A workshop that gives and takes."""
        serializer = FriendSerializer(data=request.data)
        serializer.is_valid(raise_exception=True)
        friend = Friend.objects.create(**serializer.validated_data)
        address = request.build_absolute_uri(f"{friend.pk}/")
        return Response(
            FriendSerializer(friend).data, status=201, headers={"Location": address, "ETag": etag(friend)}
        )


@extend_schema_serializer(
    examples=[
        OpenApiExample(
            "Ours",
            {"key": "11qYAYKxCrfVS/7TyWQHOg7hcvPapiMlrwIaaPcHURo=", "fingerprint": "21fe 31df a154 a261"},
            response_only=True,
        )
    ]
)
class BenchKeySerializer(serializers.Serializer[Any]):
    """The public half of the key with which this bench signs what it gives away."""

    key = serializers.CharField()
    fingerprint = serializers.CharField(help_text="As people compare it.")


class FriendsKeyView(Conventions):
    @extend_schema(responses=BenchKeySerializer, operation_id="friends_key_retrieve")
    def get(self, request: Request) -> Response:
        """What friends keep, so that they know what is of this bench."""
        return Response(facts_of_key())


class FriendView(Conventions):
    versioned = True

    @extend_schema(responses=FriendSerializer, operation_id="friend_retrieve")
    def get(self, request: Request, pk: str) -> Response:
        """One workshop, without its list."""
        friend = get_object_or_404(Friend, pk=pk)
        return Response(FriendSerializer(friend).data, headers={"ETag": etag(friend)})

    @extend_schema(request=FriendSerializer, responses=FriendSerializer, operation_id="friend_update")
    def patch(self, request: Request, pk: str) -> Response:
        """What is sent of it changes."""
        friend = get_object_or_404(Friend, pk=pk)
        check_if_match(request, friend)
        serializer = FriendSerializer(friend, data=request.data, partial=True)
        serializer.is_valid(raise_exception=True)
        if serializer.validated_data:
            with transaction.atomic():
                claim(friend, **serializer.validated_data)
                findings.follow_name(friend)
        friend.refresh_from_db()
        return Response(FriendSerializer(friend).data, headers={"ETag": etag(friend)})

    @extend_schema(responses={204: None}, operation_id="friend_destroy")
    def delete(self, request: Request, pk: str) -> Response:
        """Forget a workshop with its list; not one that was asked for anything, unless all was cancelled."""
        friend = get_object_or_404(Friend, pk=pk)
        check_if_match(request, friend)
        exchange.forget(friend)
        return Response(status=204)


class ListInSerializer(StrictSerializer):
    file = serializers.FileField(allow_empty_file=True, help_text="As `spare/file/` gives it.")
    dry_run = serializers.BooleanField(default=False, help_text="Say what is on it, and do nothing.")


LISTED = {"made": "2026-11-20", "spare": 14, "lacking": 2, "before": None, "lines_before": 0, "signed_by": ""}


@extend_schema_serializer(examples=[OpenApiExample("The first list", LISTED, response_only=True)])
class ListSeenSerializer(serializers.Serializer[Any]):
    """A list beside the one that it replaces, in lines."""

    made = serializers.DateField()
    spare = serializers.IntegerField()
    lacking = serializers.IntegerField()
    before = serializers.DateField(allow_null=True, help_text="The day on the list before.")
    lines_before = serializers.IntegerField()
    signed_by = serializers.CharField(help_text="Whose signature it is, found true; blank: there is none.")


def list_of(file: Any) -> lists.SpareDocument:
    """The uploaded list, read.  BadFile where it is none."""
    if (file.size or 0) > MAX_BYTES:
        raise BadFile(Code.TOO_LARGE, f"at most {MAX_BYTES} bytes are taken here", status=413)
    return lists.read_list(file.read())


class FriendListView(Conventions):
    parser_classes = [MultiPartParser]

    @extend_schema(
        request={"multipart/form-data": ListInSerializer}, responses={200: ListSeenSerializer},
        operation_id="friend_list_create",
    )  # fmt: skip
    def post(self, request: Request, pk: str) -> Response:
        """Take in a friend's list in place of the last one.  What was asked for stays."""
        friend = get_object_or_404(Friend, pk=pk)
        serializer = ListInSerializer(data=request.data)
        serializer.is_valid(raise_exception=True)
        asked = cast(dict[str, Any], serializer.validated_data)
        read = list_of(asked["file"])
        seen = exchange.look(friend, read) if asked["dry_run"] else exchange.take_list(friend, read)
        return Response(asdict(seen))


# --- what is given

GIVEN = {
    "id": 4, "lot": 7, "spec_text": "4k7 resistor", "quantity": 4, "movement": 90, "undone": False,
    "at": "2026-11-28T20:15:00Z",
}  # fmt: skip


@extend_schema_serializer(
    examples=[OpenApiExample("Four of a lot", {"lot": 7, "quantity": 4}, request_only=True)]
)
class GivingSerializer(StrictSerializer):
    lot = RowField(queryset=Lot.objects.select_related("part__spec"))
    quantity = serializers.IntegerField(min_value=1, max_value=MAX_PIECES)
    place = RowField(
        queryset=Place.objects.all(), required=False, allow_null=True,
        help_text="Where they lie; left out: where most of them lie free.",
    )  # fmt: skip
    note = serializers.CharField(required=False, allow_blank=True, max_length=200)


@extend_schema_serializer(examples=[OpenApiExample("Four of a lot", GIVEN, response_only=True)])
class GiftSerializer(serializers.Serializer[Any]):
    """Pieces that a friend was given: a movement out of the bench, which its reversal undoes."""

    id = serializers.IntegerField()
    lot = serializers.IntegerField(source="movement.lot_id")
    spec_text = serializers.CharField(source="movement.lot.part.spec.text")
    quantity = serializers.IntegerField(source="movement.quantity")
    movement = serializers.IntegerField(source="movement_id")
    undone = serializers.BooleanField()
    at = serializers.DateTimeField(source="movement.at")


class FriendGiftsView(Conventions, GenericAPIView):  # type: ignore[type-arg]
    serializer_class = GiftSerializer
    pagination_class = Pages
    filter_backends = ()

    def known_parameters(self) -> tuple[set[str], set[str]]:
        return ({"page", "page_size"} if self.request.method == "GET" else set()), set()

    @extend_schema(responses=GiftSerializer(many=True), operation_id="friend_gifts_list")
    def get(self, request: Request, pk: str) -> Response:
        """What a friend was given, newest first; those that were undone are marked so."""
        page = self.paginate_queryset(gifts().filter(friend=get_object_or_404(Friend, pk=pk)).order_by("-id"))
        return self.get_paginated_response(GiftSerializer(page or (), many=True).data)

    @extend_schema(
        request=GivingSerializer, responses={201: GiftSerializer}, operation_id="friend_gifts_create"
    )
    def post(self, request: Request, pk: str) -> Response:
        """Give pieces to a friend: they leave the bench, by a movement that says to whom."""
        friend = get_object_or_404(Friend, pk=pk)
        serializer = GivingSerializer(data=request.data)
        serializer.is_valid(raise_exception=True)
        data = serializer.validated_data
        source = spot_of(data["place"]) if data.get("place") is not None else None
        gift = giving.give(
            friend, data["lot"], data["quantity"], by=self.person, source=source, note=data.get("note", "")
        )
        address = request.build_absolute_uri()
        return Response(
            GiftSerializer(gifts().get(pk=gift.pk)).data, status=201, headers={"Location": address}
        )


def gifts() -> QuerySet[Any]:
    """Gifts with what is told of them."""
    undone = Exists(Movement.objects.filter(reverses=OuterRef("movement")))
    return FriendGift.objects.select_related("movement__lot__part__spec").annotate(undone=undone)
