"""Webhooks: made, changed, tried out; and the secret of each, which is shown once.

The secret is derived from the secret of this installation and a number drawn for it, as keys are
(`inventory.keys`): the database alone signs nothing, and a backup, which holds both, brings it back.
"""

import base64
import hashlib
import secrets
from collections.abc import Sequence

from django.conf import settings
from django.db import IntegrityError, transaction
from django.db.models import Count, F, OuterRef, Q, QuerySet, Subquery
from django.utils import timezone
from django.utils.crypto import salted_hmac

from inventory.refusals import Code, Refused
from repairs.webhook_models import Webhook, WebhookDelivery
from repairs.webhooks.events import EVENTS
from repairs.webhooks.posting import NotAllowed, read_address

MAX_HOOKS = 20
Status = WebhookDelivery.Status


def all_hooks() -> QuerySet[Webhook]:
    """Each with how it went last and what waits for it."""
    last = WebhookDelivery.objects.filter(webhook=OuterRef("pk"), tries__gt=0).order_by("-last_tried", "-id")
    counted = Q(deliveries__event__in=EVENTS)
    return Webhook.objects.annotate(
        waiting=Count("deliveries", filter=counted & Q(deliveries__status=Status.WAITING)),
        given_up=Count("deliveries", filter=counted & Q(deliveries__status=Status.GIVEN_UP)),
        last_tried=Subquery(last.values("last_tried")[:1]),
        last_answer=Subquery(last.values("answer")[:1]),
        last_problem=Subquery(last.values("problem")[:1]),
    )


def address_of(text: str) -> str:
    """The address as it is kept.  Refused: `unreadable`, or `private_address` where nothing is sent."""
    try:
        return read_address(text, settings.WEBHOOK_NETWORKS)
    except NotAllowed as wrong:
        raise Refused(Code.PRIVATE_ADDRESS, str(wrong)) from None
    except ValueError as wrong:
        raise Refused(Code.UNREADABLE, str(wrong)) from None


def add_hook(address: str, events: Sequence[str]) -> tuple[Webhook, str]:
    """A new one, and its secret, which nothing shows again.

    Refused also: `taken` where that address has one already, `too_many`, `unknown` for another event.
    """
    kept, wanted = address_of(address), _known(events)
    if Webhook.objects.count() >= MAX_HOOKS:
        raise Refused(Code.TOO_MANY, f"there are {MAX_HOOKS} webhooks: delete one that nothing listens to")
    nonce = secrets.token_hex(16)
    secret = _derived(nonce)
    try:
        with transaction.atomic():
            hook = Webhook.objects.create(address=kept, events=wanted, nonce=nonce, digest=_digest(secret))
    except IntegrityError:
        raise _taken(kept) from None
    return hook, secret


def change_hook(
    hook: Webhook,
    *,
    address: str | None = None,
    events: Sequence[str] | None = None,
    paused: bool | None = None,
) -> None:
    """What is given of it changes; paused, its events wait."""
    changed = {
        "address": address and address_of(address),
        "events": events and _known(events),
        "paused": paused,
    }
    values = {name: value for name, value in changed.items() if value is not None}
    try:
        with transaction.atomic():
            Webhook.objects.filter(pk=hook.pk).update(version=F("version") + 1, **values)
    except IntegrityError:
        raise _taken(str(values["address"])) from None


def secret_of(hook: Webhook) -> str | None:
    """What its posts are signed with; None where the secret of this installation is another now."""
    secret = _derived(hook.nonce)
    return secret if _digest(secret) == hook.digest else None


def send_again(delivery: WebhookDelivery) -> None:
    """Let an event that was given up, or delivered, be sent once more, from the first try on."""
    if delivery.event not in EVENTS:
        raise Refused(Code.NOTHING_TO_UNDO, "a test is not sent again: test the webhook again")
    now = timezone.now()
    WebhookDelivery.objects.filter(pk=delivery.pk).update(
        status=Status.WAITING, tries=0, at=now, next_try=now, problem="", version=F("version") + 1
    )


def _known(events: Sequence[str]) -> list[str]:
    unknown = [each for each in events if each not in EVENTS]
    if unknown or not events:
        listed = ", ".join(EVENTS)
        what = f"there is no event {', '.join(unknown)[:80]}" if unknown else "no event is named"
        raise Refused(Code.UNKNOWN if unknown else Code.EMPTY, f"{what}; expected one or more of {listed}")
    return [each for each in EVENTS if each in events]


def _taken(address: str) -> Refused:
    return Refused(Code.TAKEN, f"{address} has a webhook already: change that one")


def _derived(nonce: str) -> str:
    key = salted_hmac("rehome webhook", nonce, algorithm="sha256").digest()
    return f"whsec_{base64.b64encode(key).decode()}"


def _digest(secret: str) -> str:
    return hashlib.sha256(secret.encode()).hexdigest()
