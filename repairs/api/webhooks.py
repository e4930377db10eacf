"""`webhooks/` and `webhook-deliveries/`: addresses that events are sent to, and how each delivery went."""

import json
from typing import Any

from django.db.models import QuerySet
from django.shortcuts import get_object_or_404
from django_filters import ChoiceFilter, ModelChoiceFilter
from drf_spectacular.utils import OpenApiExample, extend_schema, extend_schema_serializer
from rest_framework import serializers
from rest_framework.decorators import action
from rest_framework.exceptions import ErrorDetail, ValidationError
from rest_framework.request import Request
from rest_framework.response import Response

from inventory.api.fields import StrictSerializer, TrueOrFalse
from inventory.api.lists import AskedFilters, YesNoFilter
from inventory.api.viewsets import Conventions, NounViewSet
from inventory.refusals import Refused
from inventory.roles import OWNER
from repairs.webhook_models import Webhook, WebhookDelivery
from repairs.webhooks.events import EVENTS
from repairs.webhooks.hooks import add_hook, address_of, all_hooks, change_hook, secret_of, send_again
from repairs.webhooks.posting import MAX_ADDRESS
from repairs.webhooks.sending import try_out

SENT = {"address": "https://club.example/rehome", "events": ["shortage_closed", "loan_overdue"]}
HELD = {
    "id": 1, **SENT, "paused": False, "waiting": 0, "given_up": 0, "last_tried": "2026-11-28T20:15:00Z",
    "last_answer": 200, "last_problem": "", "made_at": "2026-11-21T18:30:00Z", "version": 1,
}  # fmt: skip
NONE_YET = {"last_tried": None, "last_answer": None, "last_problem": None}
DELIVERED = {
    "id": 31, "webhook": 1, "event": "shortage_closed", "uid": "5f0c2a9be1d45f0c2a9be1d45f0c2a9b",
    "body": {
        "type": "shortage_closed", "id": "5f0c2a9be1d45f0c2a9be1d45f0c2a9b",
        "timestamp": "2026-11-28T20:14:58+00:00",
        "data": {
            "quantity": 1, "need": 12, "ref": "R7", "spec_text": "4k7 resistor", "job": 2,
            "job_name": "Mend the Tern",
        },
    },
    "at": "2026-11-28T20:14:58Z", "status": "delivered", "tries": 1, "next_try": None,
    "last_tried": "2026-11-28T20:15:00Z", "answer": 200, "problem": "", "version": 2,
}  # fmt: skip


class AddressField(serializers.CharField):
    """Where it is sent."""

    def to_internal_value(self, data: Any) -> str:
        try:
            return address_of(super().to_internal_value(data))
        except Refused as refused:
            raise ValidationError([ErrorDetail(refused.detail, refused.code)]) from None


@extend_schema_serializer(
    examples=[
        OpenApiExample("An address", SENT, request_only=True),
        OpenApiExample("An address", HELD, response_only=True),
    ]
)
class WebhookSerializer(StrictSerializer):
    id = serializers.IntegerField(read_only=True)
    address = AddressField(
        max_length=MAX_ADDRESS, help_text="http or https; out in the world, or in a network that is allowed."
    )
    events = serializers.ListField(
        child=serializers.ChoiceField(list(EVENTS)), allow_empty=False, max_length=len(EVENTS)
    )
    paused = TrueOrFalse(required=False, help_text="true: nothing is sent; events wait, for 30 days.")
    waiting = serializers.IntegerField(read_only=True, help_text="Events that wait to be sent.")
    given_up = serializers.IntegerField(read_only=True, help_text="Events that nobody took.")
    last_tried = serializers.DateTimeField(read_only=True, allow_null=True)
    last_answer = serializers.IntegerField(read_only=True, allow_null=True, help_text="The HTTP status.")
    last_problem = serializers.CharField(read_only=True, allow_null=True)
    made_at = serializers.DateTimeField(read_only=True)
    version = serializers.IntegerField(read_only=True)


@extend_schema_serializer(
    examples=[
        OpenApiExample(
            "Made",
            {**HELD, **NONE_YET, "secret": "whsec_MfKQ9r8GKYqrTwjUPD8ILPZIo2LaLaSwMfKQ9r8GKYo="},
            response_only=True,
        )
    ]
)
class MadeWebhookSerializer(WebhookSerializer):
    secret = serializers.CharField(help_text="What posts are signed with. Told this once.")


class WebhookFilters(AskedFilters):
    paused = YesNoFilter(field_name="paused")

    class Meta:
        model = Webhook
        fields: list[str] = []


class WebhookViewSet(NounViewSet):
    """Addresses that events are sent to, by a signed POST (Standard Webhooks 1.0); for the owner."""

    read_role = write_role = OWNER
    http_method_names = ["get", "head", "post", "patch", "delete"]
    model = Webhook
    serializer_class = WebhookSerializer
    filterset_class = WebhookFilters
    search_texts = ("address",)
    orderings = {"address": "address", "made_at": "made_at"}

    def get_queryset(self) -> QuerySet[Webhook]:
        return all_hooks()

    @extend_schema(responses={201: MadeWebhookSerializer})
    def create(self, request: Request, *args: Any, **kwargs: Any) -> Response:
        """Tell another address; the answer alone tells the secret that its posts are signed with.

        Sent with an Idempotency-Key, that answer is given again; the secret is not stored with it.
        """
        data = self.read(request).validated_data
        hook, secret = add_hook(data["address"], data["events"])
        if data.get("paused"):
            change_hook(hook, paused=True)
        made = self.get_queryset().get(pk=hook.pk)
        answer = self.answer(made, 201, Location=self.address(made))
        answer.data["secret"] = secret
        answer.secret = ("secret",)  # type: ignore[attr-defined]
        return answer

    def completed(self, body: Any) -> Any:
        row = Webhook.objects.filter(pk=body["id"]).first()
        return {**body, "secret": secret_of(row) if row else None}

    def change(self, row: Webhook, data: dict[str, Any]) -> None:
        change_hook(row, **data)


@extend_schema_serializer(examples=[OpenApiExample("Taken", DELIVERED, response_only=True)])
class WebhookDeliverySerializer(serializers.ModelSerializer[WebhookDelivery]):
    """`uid` is the event's, in `webhook-id`: who has seen it has seen the event."""

    body = serializers.SerializerMethodField(help_text="What is sent: `type`, `id`, `timestamp`, `data`.")

    class Meta:
        model = WebhookDelivery
        fields = [
            "id", "webhook", "event", "uid", "body", "at", "status", "tries", "next_try", "last_tried",
            "answer", "problem", "version",
        ]  # fmt: skip
        read_only_fields = fields

    def get_body(self, delivery: WebhookDelivery) -> dict[str, Any]:
        body: dict[str, Any] = json.loads(delivery.body)
        return body


class WebhookDeliveryFilters(AskedFilters):
    webhook = ModelChoiceFilter(queryset=Webhook.objects.all())
    event = ChoiceFilter(choices=[(name, name) for name in (*EVENTS, "test")])
    status = ChoiceFilter(choices=WebhookDelivery.Status.choices)

    class Meta:
        model = WebhookDelivery
        fields: list[str] = []


class WebhookDeliveryViewSet(NounViewSet):
    """Each event for each address: when it was tried last and what came of it; for the owner."""

    read_role = write_role = OWNER
    http_method_names = ["get", "head", "post"]
    model = WebhookDelivery
    serializer_class = WebhookDeliverySerializer
    filterset_class = WebhookDeliveryFilters
    orderings = {"at": "at", "last_tried": "last_tried"}
    default_ordering = ("-id",)

    @extend_schema(exclude=True)
    def create(self, request: Request, *args: Any, **kwargs: Any) -> Response:
        return self.http_method_not_allowed(request)

    @extend_schema(request=None, responses=WebhookDeliverySerializer)
    @action(detail=True, methods=["post"], url_path="again")
    def again(self, request: Request, *args: Any, **kwargs: Any) -> Response:
        """Send an event once more, from the first try on."""
        row = self.locked()
        send_again(row)
        return self.answer(self.get_queryset().get(pk=row.pk))


class WebhookTestView(Conventions):
    write_role = OWNER
    in_pieces = True  # no transaction is open while another machine is waited for

    @extend_schema(request=None, responses=WebhookDeliverySerializer, operation_id="webhooks_test")
    def post(self, request: Request, pk: str) -> Response:
        """Send a test now, once, also to one that is paused; answers what came of it."""
        tried = try_out(get_object_or_404(Webhook, pk=pk))
        return Response(WebhookDeliverySerializer(tried).data)
