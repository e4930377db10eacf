"""`people/` and `keys/`: who may sign in, what each may do, and the keys with which programs act as them."""

from collections.abc import Iterator
from contextlib import contextmanager
from typing import Any

from django.contrib.auth.models import User
from django.core import exceptions
from django.db.models import QuerySet
from django.shortcuts import get_object_or_404
from django_filters import CharFilter, IsoDateTimeFilter, ModelChoiceFilter
from drf_spectacular.utils import OpenApiExample, extend_schema, extend_schema_serializer
from rest_framework import serializers
from rest_framework.decorators import action
from rest_framework.exceptions import ErrorDetail, PermissionDenied, ValidationError
from rest_framework.request import Request
from rest_framework.response import Response

from inventory.api.fields import StrictSerializer, TrueOrFalse
from inventory.api.lists import AskedFilters, YesNoFilter
from inventory.api.owners import OwnerField
from inventory.api.viewsets import NounViewSet
from inventory.keys import key_again, make_key, revoke
from inventory.models import AccessChange, AccessKey, Person
from inventory.ownership import hand_all_over
from inventory.people import add_person, change_person, last_seen, people, set_password
from inventory.refusals import Code
from inventory.roles import BENCH, OWNER, ROLES, VIEWER, may_act_as
from inventory.second_factor import turn_off_of_another

NEW = {"name": "wren", "role": "bench", "password": "three-clipped-leads"}
KNOWN = {
    "id": 2, "name": "wren", "role": "bench", "active": True, "last_seen": "2026-11-25", "keys": 1,
    "second_factor": True, "version": 2904533102,
}  # fmt: skip


class PasswordField(serializers.CharField):
    def __init__(self, **options: Any) -> None:
        super().__init__(write_only=True, trim_whitespace=False, max_length=128, **options)


@extend_schema_serializer(examples=[OpenApiExample("At the bench", KNOWN, response_only=True)])
class PersonSerializer(StrictSerializer):
    """Without a password somebody new has keys alone.  `active` false: shut out, and so are their keys."""

    id = serializers.IntegerField(read_only=True)
    name = serializers.CharField(source="username", max_length=150)
    role = serializers.ChoiceField(ROLES, default=BENCH)
    active = serializers.BooleanField(source="is_active", read_only=True)
    password = PasswordField(required=False)
    last_seen = serializers.SerializerMethodField(help_text="Day of the last sign-in or use of a key.")
    keys = serializers.IntegerField(read_only=True, help_text="How many keys they hold.")
    second_factor = serializers.BooleanField(
        source="has_second_factor", read_only=True, help_text="Whether signing in asks a code besides."
    )
    version = serializers.IntegerField(read_only=True)

    def get_last_seen(self, person: Person) -> str | None:
        day = last_seen(person)
        return day.isoformat() if day else None


@extend_schema_serializer(examples=[OpenApiExample("Somebody new", NEW, request_only=True)])
class NewPersonSerializer(PersonSerializer):
    pass


@extend_schema_serializer(examples=[OpenApiExample("Shut out", {"active": False}, request_only=True)])
class PersonChangeSerializer(PersonSerializer):
    name = serializers.CharField(source="username", read_only=True)
    role = serializers.ChoiceField(ROLES, required=False)
    active = TrueOrFalse(source="is_active", required=False)
    second_factor = TrueOrFalse(
        source="has_second_factor", required=False, help_text="false: of somebody who lost the phone."
    )

    def validate_second_factor(self, on: bool) -> bool:
        if on:
            raise ValidationError(
                "expected false: its person alone turns it on, on the pages", Code.INVALID_CHOICE
            )
        return on


class PeopleFilters(AskedFilters):
    active = YesNoFilter(field_name="is_active")

    class Meta:
        model = Person
        fields: list[str] = []


@extend_schema_serializer(examples=[OpenApiExample("To wren", {"to": "wren"}, request_only=True)])
class HeirSerializer(StrictSerializer):
    """Whose all that becomes; null: everybody's."""

    to = OwnerField(required=True)


@extend_schema_serializer(
    examples=[OpenApiExample("Handed over", {"lots": 12, "boards": 1}, response_only=True)]
)
class HandedOverSerializer(serializers.Serializer[Any]):
    lots = serializers.IntegerField()
    boards = serializers.IntegerField()


class PersonViewSet(NounViewSet):
    """Who may sign in; for the owner.  Nobody is deleted: the ledger names them."""

    http_method_names = ["get", "head", "post", "patch"]
    read_role = write_role = OWNER
    model = Person
    serializer_class = PersonSerializer
    change_serializer_class = PersonChangeSerializer
    filterset_class = PeopleFilters
    search_texts = ("username",)
    orderings = {"name": "username", "keys": "keys"}

    def get_queryset(self) -> QuerySet[Person]:
        return people()

    @extend_schema(request=NewPersonSerializer)
    def create(self, request: Request, *args: Any, **kwargs: Any) -> Response:
        """Let somebody new in, as `bench` where no role is said."""
        return super().create(request, *args, **kwargs)

    def make(self, data: dict[str, Any]) -> User:
        with errors_by_member():
            return add_person(data["username"], role=data["role"], password=data.get("password"))

    def change(self, row: Person, data: dict[str, Any]) -> None:
        if "password" in data:
            with errors_by_member():
                set_password(row, data["password"])
        if data.keys() & {"role", "is_active"}:
            change_person(row, role=data.get("role"), active=data.get("is_active"))
        if "has_second_factor" in data and row.has_second_factor:
            turn_off_of_another(row, by=self.person)

    @extend_schema(request=HeirSerializer, responses=HandedOverSerializer)
    @action(detail=True, methods=["post"], url_path="hand-over", url_name="hand-over")
    def hand_over(self, request: Request, pk: str) -> Response:
        """All lots and boards of somebody who left, or of oneself, become another's, or everybody's."""
        person = get_object_or_404(User, pk=pk)
        serializer = HeirSerializer(data=request.data)
        serializer.is_valid(raise_exception=True)
        lots, boards = hand_all_over(person, serializer.validated_data["to"], by=self.person)
        return Response({"lots": lots, "boards": boards})


CHANGED = {
    "id": 31, "at": "2026-11-25T19:02:11Z", "by": "robin", "person": "wren", "what": "became bench",
    "address": "10.0.0.7", "request": "cf5fc80fe43345d2",
}  # fmt: skip


@extend_schema_serializer(examples=[OpenApiExample("Another role", CHANGED, response_only=True)])
class AccessChangeSerializer(serializers.ModelSerializer[AccessChange]):
    """`by` says who did it, `request` in which request of the log; both blank of what a command did."""

    class Meta:
        model = AccessChange
        fields = ["id", "at", "by", "person", "what", "address", "request"]
        read_only_fields = fields


class AccessChangeFilters(AskedFilters):
    person = CharFilter(field_name="person", help_text="Whose access it was, by name.")
    by = CharFilter(field_name="by", help_text="Who changed it, by name.")
    since = IsoDateTimeFilter(field_name="at", lookup_expr="gte")
    until = IsoDateTimeFilter(field_name="at", lookup_expr="lt")

    class Meta:
        model = AccessChange
        fields: list[str] = []


class AccessChangeViewSet(NounViewSet):
    """Roles, passwords and keys that were given or taken, newest first; for the owner."""

    http_method_names = ["get", "head"]
    read_role = write_role = OWNER
    model = AccessChange
    versioned = False
    serializer_class = AccessChangeSerializer
    filterset_class = AccessChangeFilters
    search_texts = ("person", "by", "what")
    orderings = {"at": "at"}
    default_ordering = ("-id",)


@contextmanager
def errors_by_member() -> Iterator[None]:
    """What the rules of people refuse, as the API's own errors."""
    try:
        yield
    except exceptions.ValidationError as wrong:
        names = {"username": "name"}
        raise ValidationError(
            {
                names.get(name, name): [ErrorDetail(text, Code.INVALID) for text in texts]
                for name, texts in wrong.message_dict.items()
            }
        ) from None


# --- keys

KEY_SENT = {"name": "the scales in the shed"}
HELD = {
    "id": 7, "name": "the scales in the shed", "person": "wren", "made_at": "2026-11-21T18:30:00Z",
    "used_on": "2026-11-25", "version": 1,
}  # fmt: skip
MADE = {**HELD, "used_on": None, "key": "0f3a9c52d1e84b7766ab20c4de915f83b7a46c1d"}


@extend_schema_serializer(
    examples=[
        OpenApiExample("A key", KEY_SENT, request_only=True),
        OpenApiExample("A key", HELD, response_only=True),
    ]
)
class KeySerializer(StrictSerializer):
    id = serializers.IntegerField(read_only=True)
    name = serializers.CharField(max_length=60, help_text="What uses it: a person has one of each name.")
    person = serializers.CharField(source="person.username", read_only=True)
    made_at = serializers.DateTimeField(read_only=True)
    used_on = serializers.DateField(read_only=True, allow_null=True, help_text="Day of its last use.")
    version = serializers.IntegerField(read_only=True)


@extend_schema_serializer(examples=[OpenApiExample("Made", MADE, response_only=True)])
class MadeKeySerializer(KeySerializer):
    key = serializers.CharField(help_text="Told this once.")


class KeyFilters(AskedFilters):
    person = ModelChoiceFilter(queryset=Person.objects.all())

    class Meta:
        model = AccessKey
        fields: list[str] = []


class KeyViewSet(NounViewSet):
    """One's own keys; an owner sees everybody's, and may revoke them."""

    http_method_names = ["get", "head", "post", "delete"]
    write_role = delete_role = VIEWER
    model = AccessKey
    queryset = AccessKey.objects.none()  # whose they are is known only where somebody asks
    serializer_class = KeySerializer
    filterset_class = KeyFilters
    search_texts = ("name",)
    orderings = {"name": "name", "made_at": "made_at", "used_on": "used_on"}

    def get_queryset(self) -> QuerySet[AccessKey]:
        rows = AccessKey.objects.select_related("person")
        return rows if may_act_as(self.person, OWNER) else rows.filter(person=self.person)

    @extend_schema(responses={201: MadeKeySerializer})
    def create(self, request: Request, *args: Any, **kwargs: Any) -> Response:
        """Make a key of one's own; the answer alone tells it.

        Sent with an Idempotency-Key, that answer is given again; the key is not stored with it.
        """
        made, key = make_key(self.person, self.read(request).validated_data["name"])
        body = {**self.get_serializer(made).data, "key": key}
        answer = Response(
            body, status=201, headers={"ETag": f'"{made.version}"', "Location": self.address(made)}
        )
        answer.secret = ("key",)  # type: ignore[attr-defined]
        return answer

    def completed(self, body: Any) -> Any:
        row = AccessKey.objects.filter(pk=body["id"], person=self.person).first()
        return {**body, "key": key_again(row) if row else None}

    def remove(self, row: AccessKey) -> None:
        if row.person_id != self.person.pk and not may_act_as(self.person, OWNER):
            raise PermissionDenied("this key is another person's: they or the owner revoke it")
        revoke(row)
