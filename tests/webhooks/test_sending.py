"""Events, written down with what caused them; sent, tried again, given up."""

import json
from datetime import date, datetime, timedelta
from typing import Any

import pytest
from django.db import transaction
from django.utils import timezone

from inventory.ledger import NotEnough, Spot
from repairs import loans, reservations
from repairs.models import Loan
from repairs.webhook_models import Webhook, WebhookDelivery
from repairs.webhooks import events, sending
from repairs.webhooks.hooks import add_hook, change_hook, secret_of, send_again
from repairs.webhooks.sending import MAX_TRIES, Sender, send_due, wait_after
from tests.factories import BoardFactory, DesignFactory, NeedFactory, PlaceFactory, spec, stock
from tests.webhooks.conftest import Clock
from tests.webhooks.receiver import Receiver

pytestmark = [pytest.mark.both_databases, pytest.mark.django_db]
ALL = list(events.EVENTS)


def events_at(receiver: Receiver) -> list[dict[str, Any]]:
    return [json.loads(body) for _path, _headers, body in receiver.posts]


def borrowed(due: date) -> Loan:
    lender = BoardFactory(purpose="working", design=DesignFactory(positions={"R1": spec()}))
    [line] = loans.borrow(lender, ["R1"], Spot(PlaceFactory().pk), by=None, due=due)
    return Loan.objects.get(movement=line)


def test_pieces_that_are_reserved_are_told_and_what_they_close(receiver: Receiver) -> None:
    hook, _secret = add_hook(receiver.address, ALL)
    here, need = stock(5), NeedFactory(quantity=3)
    first = reservations.reserve(need, here, 2, by=None)
    second = reservations.reserve(need, here, 1, by=None)
    assert [each.status for each in send_due()] == ["delivered"] * 3
    came = events_at(receiver)
    assert [each["type"] for each in came] == ["reservation_made", "shortage_closed", "reservation_made"]
    assert came[0]["data"] == {
        "reservation": first.pk, "quantity": 2, "lot": here.lot_id, "need": need.pk, "ref": "",
        "spec_text": need.spec.text, "job": need.job_id, "job_name": need.job.name,
    }  # fmt: skip
    assert came[1]["data"]["quantity"] == 3
    assert came[2]["data"]["reservation"] == second.pk
    assert datetime.fromisoformat(came[0]["timestamp"]).tzinfo is not None
    assert [each["id"] for each in came] == [headers["webhook-id"] for _p, headers, _b in receiver.posts]
    assert send_due() == []
    assert len(receiver.posts) == 3
    assert hook.deliveries.filter(answer=204, tries=1, next_try=None).count() == 3


def test_fitting_what_was_reserved_closes_no_shortage_again(receiver: Receiver) -> None:
    board = BoardFactory(design=DesignFactory(positions={"R1": spec()}))
    need = NeedFactory(job__board=board, ref="R1", spec=board.design.positions.get().spec)
    add_hook(receiver.address, [events.SHORTAGE_CLOSED])
    reservations.fit_promised(reservations.reserve(need, stock(1), 1, by=None), by=None)
    assert WebhookDelivery.objects.count() == 1


def test_another_piece_fitted_in_place_of_the_reserved_one_closes_no_shortage_again(
    receiver: Receiver,
) -> None:
    board = BoardFactory(design=DesignFactory(positions={"R1": spec()}))
    need = NeedFactory(job__board=board, ref="R1", spec=board.design.positions.get().spec)
    add_hook(receiver.address, [events.SHORTAGE_CLOSED])
    reservations.reserve(need, stock(1), 1, by=None)
    other = stock(1)
    reservations.fit(other.lot, Spot(other.place_id), board, "R1", by=None)
    need.refresh_from_db()
    assert (need.promised, need.fitted, WebhookDelivery.objects.count()) == (0, 1, 1)


def test_only_what_was_asked_for_is_told() -> None:
    add_hook("https://club.example/", [events.LOAN_OVERDUE])
    reservations.reserve(NeedFactory(), stock(5), 1, by=None)
    assert not WebhookDelivery.objects.exists()


def test_what_was_refused_or_taken_back_was_never_told() -> None:
    add_hook("https://club.example/", ALL)
    need, here = NeedFactory(quantity=2), stock(5)
    with pytest.raises(NotEnough):
        reservations.reserve(need, here, 3, by=None)
    with transaction.atomic():
        reservations.reserve(need, here, 2, by=None)
        assert WebhookDelivery.objects.count() == 2
        transaction.set_rollback(True)
    assert not WebhookDelivery.objects.exists()


def test_one_event_has_one_id_for_every_address() -> None:
    for name in ("one", "two"):
        add_hook(f"https://{name}.example/", [events.RESERVATION_MADE])
    reservations.reserve(NeedFactory(), stock(5), 1, by=None)
    assert WebhookDelivery.objects.count() == 2
    assert len(set(WebhookDelivery.objects.values_list("uid", "body"))) == 1


# --- loans


def test_a_loan_is_told_once_when_its_day_has_passed(clock: Clock, receiver: Receiver) -> None:
    add_hook(receiver.address, [events.LOAN_OVERDUE])
    loan = borrowed(date(2026, 11, 30))
    clock.at("2026-11-30")
    assert send_due() == []
    clock.at("2026-12-01")
    assert len(send_due()) == 1
    clock.at("2026-12-02")
    assert send_due() == []
    [came] = events_at(receiver)
    assert came["data"]["loan"] == loan.pk
    assert (came["data"]["due"], came["data"]["owed"], came["data"]["borrowed"]) == ("2026-11-30", 1, True)


def test_a_loan_that_is_put_off_and_late_again_is_told_again_and_one_given_back_is_not(clock: Clock) -> None:
    hook, _secret = add_hook("https://club.example/", [events.LOAN_OVERDUE])
    late, back = borrowed(date(2026, 11, 1)), borrowed(date(2026, 11, 1))
    clock.at("2026-11-20")
    events.note_overdue()
    events.note_overdue()
    assert hook.deliveries.count() == 2
    loans.give_back(back, by=None)
    Loan.objects.update(due=date(2026, 11, 10))
    events.note_overdue()
    assert sorted(hook.deliveries.values_list("key", flat=True)) == [
        f"loan {late.pk} due 2026-11-01", f"loan {late.pk} due 2026-11-10", f"loan {back.pk} due 2026-11-01",
    ]  # fmt: skip


def test_two_who_look_at_the_same_moment_tell_a_loan_once(monkeypatch: pytest.MonkeyPatch) -> None:
    """The other writes between this one's look and its own writing."""
    add_hook("https://club.example/", [events.LOAN_OVERDUE])
    borrowed(date(2020, 1, 1))
    real, calls = events.token_hex, []

    def other_first(size: int) -> str:
        if not calls:
            calls.append(1)
            events.note_overdue()
        return real(size)

    monkeypatch.setattr(events, "token_hex", other_first)
    events.note_overdue()
    assert (len(calls), WebhookDelivery.objects.count()) == (1, 1)


# --- trying again


def test_the_waits_grow_and_end_within_two_days() -> None:
    waits = [wait_after(tries) for tries in range(1, MAX_TRIES)]
    assert waits[:3] == [timedelta(seconds=30), timedelta(minutes=2), timedelta(minutes=8)]
    assert waits == sorted(waits)
    assert max(waits) == timedelta(hours=12)
    assert timedelta(hours=36) < sum(waits, timedelta()) < timedelta(days=2)


def test_what_is_not_taken_is_tried_again_with_the_same_id_until_it_is(
    clock: Clock, receiver: Receiver
) -> None:
    add_hook(receiver.address, [events.RESERVATION_MADE])
    clock.at("2026-11-20")
    reservations.reserve(NeedFactory(), stock(5), 1, by=None)
    receiver.answers = [500, 503]
    [tried] = send_due()
    assert (tried.status, tried.tries, tried.answer, tried.problem) == (
        "waiting", 1, 500, "it answered 500",
    )  # fmt: skip
    clock.tick(29)
    assert send_due() == []
    clock.tick(1)
    assert send_due()[0].next_try == timezone.now() + timedelta(minutes=2)
    clock.tick(120)
    [taken] = send_due()
    assert (taken.status, taken.tries, taken.problem, taken.next_try) == ("delivered", 3, "", None)
    assert len({headers["webhook-id"] for _path, headers, _body in receiver.posts}) == 1
    stamps = [headers["webhook-timestamp"] for _path, headers, _body in receiver.posts]
    assert len(set(stamps)) == 3
    assert len({headers["webhook-signature"] for _path, headers, _body in receiver.posts}) == 3


def test_in_the_end_it_is_given_up_and_sent_again_when_somebody_says_so(
    clock: Clock, receiver: Receiver
) -> None:
    add_hook(receiver.address, [events.RESERVATION_MADE])
    receiver.answers = [500] * MAX_TRIES
    clock.at("2026-11-20")
    reservations.reserve(NeedFactory(), stock(5), 1, by=None)
    for _try in range(MAX_TRIES):
        [tried] = send_due()
        clock.tick(12 * 3600)
    assert (tried.status, tried.tries, tried.next_try) == ("given_up", MAX_TRIES, None)
    assert send_due() == []
    send_again(tried)
    assert send_due()[0].status == "delivered"


def test_an_address_that_fails_keeps_no_other_waiting(
    receiver: Receiver, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(sending, "AT_ONCE", 2)
    dead, _secret = add_hook("http://127.0.0.1:9/", [events.RESERVATION_MADE])
    add_hook(receiver.address, [events.RESERVATION_MADE])
    need, here = NeedFactory(quantity=5), stock(9)
    for _one in range(3):
        reservations.reserve(need, here, 1, by=None)
    tried = send_due()
    assert [each.webhook_id == dead.pk for each in tried] == [True, False, False]
    assert sorted(dead.deliveries.values_list("tries", flat=True)) == [0, 0, 1]


def test_while_it_is_paused_its_events_wait(receiver: Receiver) -> None:
    hook, _secret = add_hook(receiver.address, [events.RESERVATION_MADE])
    change_hook(hook, paused=True)
    reservations.reserve(NeedFactory(), stock(5), 1, by=None)
    assert send_due() == []
    change_hook(hook, paused=False)
    assert len(send_due()) == 1


def test_what_another_sender_has_claimed_is_not_sent_twice_and_sent_later_where_that_one_died(
    clock: Clock, receiver: Receiver
) -> None:
    add_hook(receiver.address, [events.RESERVATION_MADE])
    clock.at("2026-11-20")
    reservations.reserve(NeedFactory(), stock(5), 1, by=None)
    pk = WebhookDelivery.objects.get().pk
    assert sending._claimed(pk)  # and then the machine stops
    assert not sending._claimed(pk)
    assert send_due() == []
    clock.tick(sending.LEASE.total_seconds())
    assert [each.tries for each in send_due()] == [2]
    assert len(receiver.posts) == 1


def test_nothing_is_locked_while_the_receiver_thinks(
    receiver: Receiver, monkeypatch: pytest.MonkeyPatch
) -> None:
    """What is sent, is sent outside of any transaction of ours."""
    from django.db import connection

    add_hook(receiver.address, [events.RESERVATION_MADE])
    reservations.reserve(NeedFactory(), stock(5), 1, by=None)
    depth, seen = len(connection.savepoint_ids), []
    real = sending.post

    def watched(*sent: Any) -> Any:
        seen.append(len(connection.savepoint_ids))
        return real(*sent)

    monkeypatch.setattr(sending, "post", watched)
    send_due()
    assert seen == [depth]


# --- what stays and what goes


def test_a_secret_is_derived_and_not_kept(settings: Any) -> None:
    hook, secret = add_hook("https://club.example/", ALL)
    kept = Webhook.objects.values().get()
    assert secret not in json.dumps(kept, default=str)
    assert secret.removeprefix("whsec_") not in json.dumps(kept, default=str)
    assert secret_of(hook) == secret
    settings.SECRET_KEY = "x" * 50
    assert secret_of(hook) is None
    reservations.reserve(NeedFactory(), stock(5), 1, by=None)
    [tried] = send_due()
    assert "make a new one" in tried.problem


def test_old_events_go_and_loans_that_were_told_stay(clock: Clock) -> None:
    hook, _secret = add_hook("https://club.example/", ALL)
    clock.at("2026-10-01")
    borrowed(date(2026, 9, 1))
    events.note_overdue()
    reservations.reserve(NeedFactory(), stock(5), 1, by=None)
    gone = WebhookDelivery.objects.create(webhook_id=hook.pk + 1, event=ALL[0], uid="1" * 32, body="{}")
    clock.at("2026-11-20")
    sending.forget_old()
    assert list(WebhookDelivery.objects.values_list("event", flat=True)) == [events.LOAN_OVERDUE]
    assert not WebhookDelivery.objects.filter(pk=gone.pk).exists()


def test_a_loan_that_waited_for_a_month_is_given_up_until_it_is_sent_again(clock: Clock) -> None:
    hook, _secret = add_hook("https://club.example/", ALL)
    clock.at("2026-10-01")
    borrowed(date(2026, 9, 1))
    events.note_overdue()
    clock.at("2026-11-20")
    sending.forget_old()
    assert hook.deliveries.get().status == "given_up"
    send_again(hook.deliveries.get())
    sending.forget_old()
    assert hook.deliveries.get().status == "waiting"


def test_an_address_deleted_at_that_very_moment_stops_no_work(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(events, "_wanting", lambda _event: [999])
    reservations.reserve(NeedFactory(), stock(5), 1, by=None)
    assert WebhookDelivery.objects.filter(webhook_id=999).exists()
    assert sending.attempt(WebhookDelivery.objects.latest("id").pk) is None
    sending.forget_old()
    assert not WebhookDelivery.objects.exists()


def test_a_server_sends_beside_its_work_and_outlives_a_failure(monkeypatch: pytest.MonkeyPatch) -> None:
    import threading

    rounds, twice = [], threading.Event()

    def failing() -> None:
        rounds.append(1)
        if len(rounds) == 2:
            twice.set()
        raise OSError("the disk is full")

    monkeypatch.setattr(sending, "EVERY", 0.001)
    monkeypatch.setattr(sending, "send_due", failing)
    sender = Sender()
    sender.start()
    assert twice.wait(20)
    sender.stop()
    assert not sender._thread.is_alive()
