"""Events for other programs, written down in the transaction that causes them.

So nothing that happened is left out when a machine stops, and nothing is sent that was rolled back.
"""

import json
from collections.abc import Callable, Mapping
from datetime import timedelta
from secrets import token_hex
from typing import Any, Final

from django.db.models import F
from django.utils import timezone

from inventory import ledger
from repairs.models import Loan, Need, Reservation
from repairs.webhook_models import Webhook, WebhookDelivery

RESERVATION_MADE: Final = "reservation_made"
SHORTAGE_CLOSED: Final = "shortage_closed"
LOAN_OVERDUE: Final = "loan_overdue"
TEST: Final = "test"
EVENTS: Final[Mapping[str, str]] = {
    RESERVATION_MADE: "pieces were reserved for a need",
    SHORTAGE_CLOSED: "a need that lacked pieces has all of them reserved or fitted",
    LOAN_OVERDUE: "the day passed on which a loan was due; once for each loan and day",
}


def reservation_made(made: Reservation) -> None:
    """To be called where a reservation is made."""

    def about() -> dict[str, Any]:
        row = Reservation.objects.select_related("need__job", "need__spec", "holding").get(pk=made.pk)
        lot = row.holding.lot_id
        return {"reservation": row.pk, "quantity": row.quantity, "lot": lot, **_of_need(row.need)}

    _write(RESERVATION_MADE, about)


def shortage_closed(need: int) -> None:
    """To be called where pieces were reserved for a need or fitted: an event if the need lacks none now."""

    def about() -> dict[str, Any] | None:
        rows = Need.objects.filter(quantity=F("promised") + F("fitted"))
        row = rows.select_related("job", "spec").filter(pk=need).first()
        return None if row is None else {"quantity": row.quantity, **_of_need(row)}

    _write(SHORTAGE_CLOSED, about)


def note_overdue() -> None:
    """Write down the loans whose day has passed, each once for each address and day."""
    hooks = _wanting(LOAN_OVERDUE)
    if not hooks:
        return
    today = timezone.localdate()
    late = Loan.objects.annotate(owed=ledger.still_owed("movement__")).filter(owed__gt=0, due__lt=today)
    known = set(WebhookDelivery.objects.filter(event=LOAN_OVERDUE).values_list("webhook_id", "key"))
    rows = []
    for loan in late.select_related("movement__lot__part__spec", "job").order_by("id"):
        key, uid = f"loan {loan.pk} due {loan.due}", token_hex(16)
        body = _body(LOAN_OVERDUE, uid, _of_loan(loan))
        rows += [_delivery(hook, LOAN_OVERDUE, uid, body, key) for hook in hooks if (hook, key) not in known]
    if rows:  # who else looks at the same moment loses
        WebhookDelivery.objects.bulk_create(rows, ignore_conflicts=True)


def test_event(hook: Webhook) -> WebhookDelivery:
    """An event by which a receiver is tried out: due once, and at once, by whoever asked for it."""
    uid = token_hex(16)
    body = _body(TEST, uid, {"webhook": hook.pk, "text": "A test: nothing happened at the bench."})
    later = timezone.now() + timedelta(days=1)  # nobody else sends it
    return WebhookDelivery.objects.create(webhook=hook, event=TEST, uid=uid, body=body, next_try=later)


def _wanting(event: str) -> list[int]:
    return [pk for pk, events in Webhook.objects.values_list("id", "events") if event in events]


def _write(event: str, about: Callable[[], dict[str, Any] | None]) -> None:
    """`about` is asked only where somebody wants to know; None: it did not happen after all."""
    hooks = _wanting(event)
    data = about() if hooks else None
    if data is None:
        return
    uid = token_hex(16)
    body = _body(event, uid, data)
    WebhookDelivery.objects.bulk_create([_delivery(hook, event, uid, body) for hook in hooks])


def _delivery(hook: int, event: str, uid: str, body: str, key: str = "") -> WebhookDelivery:
    now = timezone.now()
    return WebhookDelivery(webhook_id=hook, event=event, uid=uid, body=body, key=key, at=now, next_try=now)


def _body(event: str, uid: str, data: Mapping[str, Any]) -> str:
    at = timezone.now().isoformat(timespec="seconds")
    return json.dumps({"type": event, "id": uid, "timestamp": at, "data": data}, ensure_ascii=False)


def _of_need(need: Need) -> dict[str, Any]:
    return {
        "need": need.pk, "ref": need.ref, "spec_text": need.spec.text,
        "job": need.job_id, "job_name": need.job.name,
    }  # fmt: skip


def _of_loan(loan: Any) -> dict[str, Any]:
    line = loan.movement
    return {
        "loan": loan.pk, "due": str(loan.due), "owed": loan.owed, "lot": line.lot_id,
        "spec_text": line.lot.part.spec.text, "borrowed": line.borrow,
        "job": loan.job_id, "job_name": loan.job.name if loan.job else None,
    }  # fmt: skip
