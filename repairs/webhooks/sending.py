"""Sending what is due: outside of any transaction, each event at least once, until it is taken or given up.

Who sends claims an event first, by an update that the database decides, for `LEASE`: two senders do not send
the same at once, and where one dies, another sends it later.
"""

import logging
from datetime import timedelta
from threading import Event, Thread
from typing import Any, Final

from django.conf import settings
from django.db import close_old_connections, connection
from django.db.models import Exists, F, OuterRef, Q
from django.utils import timezone

from inventory.faults import fault_of
from repairs.webhook_models import Webhook, WebhookDelivery
from repairs.webhooks.events import TEST, note_overdue, test_event
from repairs.webhooks.hooks import secret_of
from repairs.webhooks.posting import Answer, post

EVERY: Final = 5.0
"""Seconds between two looks of a server."""
LEASE: Final = timedelta(minutes=2)
MAX_TRIES: Final = 10
FIRST_WAIT, GROWS, LONGEST_WAIT = timedelta(seconds=30), 4, timedelta(hours=12)
KEPT: Final = timedelta(days=30)
AT_ONCE: Final = 200
Status = WebhookDelivery.Status
log = logging.getLogger("rehome.webhooks")


def wait_after(tries: int) -> timedelta:
    """From so many tries to the next: 30 s, 2 min, 8 min, 32 min, about 2 h and 8.5 h, then 12 h."""
    times: int = GROWS ** min(tries - 1, 10)
    return min(FIRST_WAIT * times, LONGEST_WAIT)


def send_due() -> list[WebhookDelivery]:
    """Send what is due, to each address until one fails; answers each that was tried, as it is now."""
    note_overdue()
    tried: list[WebhookDelivery] = []
    for hook in Webhook.objects.filter(paused=False).order_by("id"):
        due = hook.deliveries.filter(status=Status.WAITING, next_try__lte=timezone.now()).order_by("id")
        for pk in list(due.values_list("pk", flat=True)[:AT_ONCE]):
            sent = attempt(pk) if _claimed(pk) else None
            if sent is not None:
                tried.append(sent)
                if sent.status != Status.DELIVERED:
                    break
    forget_old()
    return tried


def try_out(hook: Webhook) -> WebhookDelivery:
    """Send a test now, once, also to one that is paused; what came of it."""
    delivery = test_event(hook)
    WebhookDelivery.objects.filter(pk=delivery.pk).update(tries=1, last_tried=timezone.now())
    return attempt(delivery.pk) or delivery


def attempt(pk: int) -> WebhookDelivery | None:
    """Send one that was claimed, and write down what came of it; None where its address was deleted."""
    delivery = WebhookDelivery.objects.select_related("webhook").filter(pk=pk).first()
    if delivery is None:
        return None
    hook = delivery.webhook
    secret = secret_of(hook)
    if secret is None:
        answer = Answer(
            None, "the secret of this installation is another now: delete the webhook, make a new one"
        )
    else:
        answer = post(hook.address, delivery.uid, secret, delivery.body.encode(), settings.WEBHOOK_NETWORKS)
    last = delivery.event == TEST or delivery.tries >= MAX_TRIES
    if not answer.problem:
        then: dict[str, Any] = {"status": Status.DELIVERED, "next_try": None}
    elif last:
        then = {"status": Status.GIVEN_UP, "next_try": None}
    else:
        then = {"next_try": timezone.now() + wait_after(delivery.tries)}
    # Whoever claimed it since, after the lease, writes down what came of theirs.
    WebhookDelivery.objects.filter(pk=pk, tries=delivery.tries, status=Status.WAITING).update(
        answer=answer.status, problem=answer.problem[:300], version=F("version") + 1, **then
    )
    if answer.problem and delivery.event != TEST:  # a test is answered to whoever asked for it
        log.warning("webhook %s, event %s, try %s: %s", hook.pk, delivery.uid, delivery.tries, answer.problem)
    return WebhookDelivery.objects.filter(pk=pk).first()


def forget_old() -> None:
    """A month later, taken or not, an event goes; what is sent once only stays, to be known as sent."""
    late = WebhookDelivery.objects.filter(status=Status.WAITING, at__lt=timezone.now() - KEPT).exclude(key="")
    if late.exists():
        late.update(
            status=Status.GIVEN_UP, next_try=None, problem="it waited 30 days", version=F("version") + 1
        )
    gone = ~Exists(Webhook.objects.filter(pk=OuterRef("webhook_id")))
    old = WebhookDelivery.objects.filter(Q(at__lt=timezone.now() - KEPT, key="") | Q(gone))
    if old.exists():  # else it would take the place of whoever writes
        old.delete()


def _claimed(pk: int) -> bool:
    now = timezone.now()
    rows = WebhookDelivery.objects.filter(pk=pk, status=Status.WAITING, next_try__lte=now)
    return bool(rows.update(next_try=now + LEASE, last_tried=now, tries=F("tries") + 1))


class Sender:
    """Sends beside a server, in a thread of its own, until it is stopped."""

    def __init__(self) -> None:
        self._stop = Event()
        self._thread = Thread(target=self._run, name="webhooks", daemon=True)

    def start(self) -> None:
        self._thread.start()

    def stop(self) -> None:
        """At once, but for what is being sent: that is sent again later, if its answer is not waited for."""
        self._stop.set()
        self._thread.join(timeout=1)

    def _run(self) -> None:
        while not self._stop.wait(EVERY):
            try:
                send_due()
            except Exception as error:
                # The database is away, full, being restored: the next round may do better.
                if fault := fault_of(error):
                    log.error("webhooks could not be sent: %s", fault.detail)
                else:
                    log.exception("webhooks could not be sent")
                connection.close()
            finally:
                close_old_connections()
        connection.close()
