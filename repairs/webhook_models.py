"""Addresses that events are sent to, and each event for each of them."""

from typing import ClassVar

from django.db import models
from django.db.models import Q
from django.utils import timezone


class Webhook(models.Model):
    """An address that some events are sent to.

    `nonce` and the secret of this installation make the secret that its posts are signed with, `digest` tells
    whether they still do: what is kept here alone signs nothing.
    """

    address = models.CharField(max_length=400, unique=True)
    events = models.JSONField()
    paused = models.BooleanField(default=False)
    nonce = models.CharField(max_length=32)
    digest = models.CharField(max_length=64)
    made_at = models.DateTimeField(default=timezone.now)
    version = models.PositiveIntegerField(default=1)

    def __str__(self) -> str:
        return self.address


class WebhookDelivery(models.Model):
    """One event for one address: written with what caused it, then sent until it is taken or given up."""

    class Status(models.TextChoices):
        WAITING = "waiting"
        DELIVERED = "delivered"
        GIVEN_UP = "given_up"

    # Without a constraint in the database: work at the bench must not fail because the address that was to be
    # told of it was deleted at that very moment.  What such a moment leaves behind is swept with old ones.
    webhook = models.ForeignKey(
        Webhook, on_delete=models.CASCADE, related_name="deliveries", db_constraint=False
    )
    event = models.CharField(max_length=40)
    uid = models.CharField(max_length=32)  # of the event, the same for each address
    key = models.CharField(max_length=80, blank=True, default="")  # what is sent once only, known by this
    body = models.TextField()
    at = models.DateTimeField(default=timezone.now)
    status = models.CharField(max_length=9, choices=Status, default=Status.WAITING)
    tries = models.PositiveSmallIntegerField(default=0)
    next_try = models.DateTimeField(null=True, default=timezone.now)
    last_tried = models.DateTimeField(null=True)
    answer = models.PositiveSmallIntegerField(null=True)  # the HTTP status of the last one
    problem = models.CharField(max_length=300, blank=True, default="")
    version = models.PositiveIntegerField(default=1)

    class Meta:
        indexes: ClassVar = [models.Index(fields=["status", "next_try"])]
        constraints: ClassVar = [
            models.UniqueConstraint(
                fields=["webhook", "event", "key"], condition=~Q(key=""), name="webhook_is_told_once"
            ),
            models.CheckConstraint(
                condition=Q(status="waiting", next_try__isnull=False)
                | (~Q(status="waiting") & Q(next_try=None)),
                name="webhook_delivery_waits_for_its_next_try",
            ),
        ]

    def __str__(self) -> str:
        return f"{self.event} to webhook {self.webhook_id}"
