"""Webhooks over the API, as a command and as a page."""

import ipaddress
import json
from typing import Any

import pytest
from django.core.management import CommandError, call_command
from django.urls import reverse

from repairs import reservations
from repairs.webhook_models import Webhook, WebhookDelivery
from repairs.webhooks import events
from repairs.webhooks.hooks import MAX_HOOKS, add_hook, secret_of
from repairs.webhooks.sending import send_due
from tests.api.test_problems import refused
from tests.factories import NeedFactory, stock
from tests.pages.conftest import at_the_bench
from tests.webhooks.receiver import Receiver

pytestmark = pytest.mark.django_db
HOOKS, DELIVERIES = "/api/v1/webhooks/", "/api/v1/webhook-deliveries/"
SENT = {"address": "https://club.example/rehome", "events": ["shortage_closed", "reservation_made"]}


def reserved() -> None:
    reservations.reserve(NeedFactory(), stock(5), 1, by=None)


def command(capsys: pytest.CaptureFixture[str], *arguments: str) -> str:
    call_command("webhooks", *arguments)
    return capsys.readouterr().out


# --- the API


def test_the_secret_is_told_once(owner: Any) -> None:
    made = owner.post(HOOKS, SENT, headers={"Idempotency-Key": "k1"})
    assert made.status_code == 201
    hook = Webhook.objects.get()
    secret = made.json()["secret"]
    assert secret == secret_of(hook)
    assert made.headers["Location"].endswith(f"{HOOKS}{hook.pk}/")
    assert made.json()["events"] == ["reservation_made", "shortage_closed"]
    again = owner.post(HOOKS, SENT, headers={"Idempotency-Key": "k1"})
    assert again.json() == made.json()
    for address in (HOOKS, f"{HOOKS}{hook.pk}/", DELIVERIES):
        assert secret not in owner.get(address).content.decode()


@pytest.mark.parametrize(
    ("sent", "pointer", "code"),
    [({"address": "club.example"}, "#/address", "unreadable"), ({"address": 4}, "#/address", "unreadable"),
     ({"address": "http://10.0.0.7/x"}, "#/address", "private_address"),
     ({"address": "http://localhost:9/"}, "#/address", "private_address"),
     ({"events": []}, "#/events", "empty"), ({"events": ["all"]}, "#/events/0", "invalid_choice"),
     ({"events": "all"}, "#/events", "not_a_list"), ({"paused": "no"}, "#/paused", "invalid"),
     ({"secret": "whsec_mine"}, "#/secret", "unknown")],
)  # fmt: skip
def test_what_cannot_be_told_is_refused_and_nothing_is_made(
    owner: Any, sent: dict[str, Any], pointer: str, code: str
) -> None:
    [error] = refused(owner.post(HOOKS, {**SENT, **sent}), 400)["errors"]
    assert (error["pointer"], error["code"]) == (pointer, code)
    assert not Webhook.objects.exists()


def test_an_address_is_told_by_one_webhook_and_there_are_not_too_many(owner: Any) -> None:
    owner.post(HOOKS, SENT)
    assert refused(owner.post(HOOKS, SENT), 409)["code"] == "taken"
    for number in range(MAX_HOOKS - 1):
        add_hook(f"https://club{number}.example/", ["loan_overdue"])
    assert refused(owner.post(HOOKS, {**SENT, "address": "https://one.example/"}), 409)["code"] == "too_many"
    other = Webhook.objects.latest("id")
    answer = refused(owner.patch(f"{HOOKS}{other.pk}/", {"address": SENT["address"]}), 409)
    assert answer["code"] == "taken"


def test_a_webhook_is_changed_paused_and_deleted_with_its_events(owner: Any, settings: Any) -> None:
    hook, _secret = add_hook(SENT["address"], ["reservation_made"])  # type: ignore[arg-type]
    reserved()
    one = f"{HOOKS}{hook.pk}/"
    tag = owner.get(one).headers["ETag"]
    answer = owner.patch(one, {"paused": True}, headers={"If-Match": tag})
    assert (answer.json()["paused"], answer.json()["waiting"]) == (True, 1)
    refused(owner.patch(one, {"paused": False}, headers={"If-Match": tag}), 412)
    settings.WEBHOOK_NETWORKS = [ipaddress.ip_network("10.0.0.0/8")]
    changed = owner.patch(one, {"address": "http://10.0.0.7/x", "events": ["loan_overdue"]}).json()
    assert (changed["address"], changed["events"]) == ("http://10.0.0.7/x", ["loan_overdue"])
    assert owner.delete(one).status_code == 204
    assert not WebhookDelivery.objects.exists()


def test_what_was_told_is_listed_and_sent_again(owner: Any, receiver: Receiver) -> None:
    hook, _secret = add_hook(receiver.address, ["reservation_made"])
    receiver.answers = [503]
    reserved()
    send_due()
    [row] = owner.get(f"{DELIVERIES}?webhook={hook.pk}&status=waiting").json()["results"]
    assert (row["tries"], row["answer"], row["problem"]) == (1, 503, "it answered 503")
    assert row["next_try"] > row["last_tried"]
    assert row["body"]["data"]["quantity"] == 1
    shown = owner.get(f"{HOOKS}{hook.pk}/").json()
    assert (shown["waiting"], shown["last_answer"], shown["last_problem"]) == (1, 503, "it answered 503")
    assert owner.post(f"{DELIVERIES}{row['id']}/again/").json()["tries"] == 0
    send_due()
    assert owner.get(f"{DELIVERIES}{row['id']}/").json()["status"] == "delivered"
    assert len({headers["webhook-id"] for _path, headers, _body in receiver.posts}) == 1
    refused(owner.get(f"{DELIVERIES}?status=lost"), 400)


def test_a_copy_of_the_list_hears_of_each_delivery(owner: Any, receiver: Receiver) -> None:
    hook, _secret = add_hook(receiver.address, ["reservation_made"])
    cursor = owner.get(f"{HOOKS}?changed_since=start").json()["cursor"]
    reserved()
    changed = owner.get(f"{HOOKS}?changed_since={cursor}").json()
    assert [(row["id"], row["waiting"]) for row in changed["results"]] == [(hook.pk, 1)]


@pytest.mark.parametrize("paused", [False, True])
def test_a_receiver_is_tried_out_at_once(owner: Any, receiver: Receiver, paused: bool) -> None:
    hook, _secret = add_hook(receiver.address, ["loan_overdue"])
    Webhook.objects.update(paused=paused)
    receiver.answers = [500, 204]
    first, second = (owner.post(f"{HOOKS}{hook.pk}/test/").json() for _time in range(2))
    assert (first["status"], first["answer"], first["problem"]) == ("given_up", 500, "it answered 500")
    assert (second["status"], second["event"]) == ("delivered", "test")
    assert json.loads(receiver.posts[1][2])["type"] == "test"
    assert send_due() == []
    assert owner.get(f"{HOOKS}{hook.pk}/").json()["given_up"] == 0
    assert refused(owner.post(f"{DELIVERIES}{first['id']}/again/"), 409)["code"] == "nothing_to_undo"


# --- the command


def test_the_command_adds_tries_lists_pauses_and_deletes(
    capsys: pytest.CaptureFixture[str], receiver: Receiver
) -> None:
    out = command(capsys, "add", receiver.address, "--events", "reservation_made,loan_overdue")
    hook = Webhook.objects.get()
    assert out.splitlines() == [f"webhook {hook.pk}: its secret, not shown again, is", secret_of(hook)]
    number = str(hook.pk)
    assert command(capsys, "test", number) == "the test was delivered: 204\n"
    reserved()
    receiver.answers = [500]
    assert "it answered 500" in command(capsys, "send")
    listed = command(capsys, "deliveries", number)
    assert "reservation_made" in listed
    assert "waiting" in listed
    event = str(WebhookDelivery.objects.get(event="reservation_made").pk)
    command(capsys, "again", event)
    assert command(capsys, "send").endswith("1 delivered, 0 not\n")
    command(capsys, "pause", number)
    assert json.loads(command(capsys, "--json"))["results"][0]["paused"] is True
    command(capsys, "resume", number)
    listed = command(capsys)
    assert receiver.address in listed
    assert "whsec" not in listed
    command(capsys, "delete", number)
    assert not Webhook.objects.exists()


@pytest.mark.parametrize(
    ("arguments", "reason"),
    [(("add", "club.example"), "expected an address"),
     (("add", "https://a.example/", "--events", "x"), "no event x"),
     (("add", "http://127.0.0.1/"), "REHOME_WEBHOOK_NETWORKS"), (("test", "9"), "no webhook 9"),
     (("again", "x"), "no event x"), (("deliveries", "9"), "no webhook 9")],
)  # fmt: skip
def test_the_command_says_what_it_cannot_do(arguments: tuple[str, ...], reason: str) -> None:
    with pytest.raises(CommandError, match=reason):
        call_command("webhooks", *arguments)


def test_the_command_says_that_a_test_failed(receiver: Receiver) -> None:
    hook, _secret = add_hook(receiver.address, ["loan_overdue"])
    receiver.answers = [404]
    with pytest.raises(CommandError, match="it answered 404"):
        call_command("webhooks", "test", str(hook.pk))


# --- the page


def test_the_page_adds_one_and_shows_its_secret_once(receiver: Receiver) -> None:
    owner = at_the_bench("owner")
    page = owner.post(reverse("webhooks"), {"address": receiver.address, "event": ["loan_overdue"]})
    hook = Webhook.objects.get()
    assert str(secret_of(hook)) in page.content.decode().replace("&#x2B;", "+")
    assert page.headers["Cache-Control"] == "no-store"
    assert hook.events == [events.LOAN_OVERDUE]
    assert "whsec" not in owner.get(reverse("webhooks")).content.decode()
    assert reverse("webhooks") in owner.get(reverse("more")).content.decode()


def test_what_was_typed_stays_beside_why_it_was_refused() -> None:
    owner = at_the_bench("owner")
    answer = owner.post(reverse("webhooks"), {"address": "http://10.0.0.7/x", "event": ["loan_overdue"]})
    assert answer.status_code == 400
    page = answer.content.decode()
    assert "REHOME_WEBHOOK_NETWORKS" in page
    assert 'value="http://10.0.0.7/x"' in page
    assert page.count(" checked") == 1
    assert owner.post(reverse("webhooks"), {"address": "https://a.example/"}).status_code == 400


def test_the_page_tries_out_pauses_goes_on_sends_again_and_deletes(receiver: Receiver) -> None:
    owner = at_the_bench("owner")
    hook, _secret = add_hook(receiver.address, ["reservation_made"])
    change = reverse("change-webhook", args=[hook.pk])
    assert "The test was delivered (204)" in owner.post(change, {"do": "test"}, follow=True).content.decode()
    assert "paused" in owner.post(change, {"do": "pause"}, follow=True).content.decode()
    owner.post(change, {"do": "resume"})
    reserved()
    send_due()
    again = reverse("webhook-again", args=[WebhookDelivery.objects.get(event="reservation_made").pk])
    assert again in owner.get(reverse("webhooks")).content.decode()
    owner.post(again)
    send_due()
    assert [json.loads(body)["type"] for *_rest, body in receiver.posts] == [
        "test", "reservation_made", "reservation_made",
    ]  # fmt: skip
    owner.post(change, {"do": "delete"})
    assert "No webhook yet" in owner.get(reverse("webhooks")).content.decode()


@pytest.mark.parametrize("role", ["bench", "viewer"])
def test_webhooks_are_the_owners_alone(role: str) -> None:
    hook, _secret = add_hook("https://club.example/", ["loan_overdue"])
    client = at_the_bench(role)
    assert client.get(reverse("webhooks")).status_code == 403
    assert client.post(reverse("webhooks"), {"address": "https://b.example/"}).status_code == 403
    assert client.post(reverse("change-webhook", args=[hook.pk]), {"do": "delete"}).status_code == 403
    assert Webhook.objects.count() == 1
