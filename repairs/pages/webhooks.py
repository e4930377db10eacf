"""Webhooks: addresses that events are sent to, and their last deliveries; for the owner."""

from collections.abc import Callable

from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render

from inventory.pages.frame import notify, page, words
from inventory.refusals import Refused
from inventory.roles import OWNER
from repairs.webhook_models import Webhook, WebhookDelivery
from repairs.webhooks.events import EVENTS
from repairs.webhooks.hooks import add_hook, all_hooks, change_hook, send_again
from repairs.webhooks.posting import MAX_ADDRESS
from repairs.webhooks.sending import MAX_TRIES, try_out

SHOWN = 20


@page("GET", "HEAD", "POST", reads=OWNER, writes=OWNER)
def webhooks(request: HttpRequest) -> HttpResponse:
    """All of them with the last deliveries of each; a new one's secret is shown here and never again."""
    made, secret, wrong = None, "", ""
    chosen = request.POST.getlist("event")
    address = words(request, "address", MAX_ADDRESS + 1)
    if request.method == "POST":
        try:
            made, secret = add_hook(address, chosen)
        except Refused as refused:
            wrong = refused.detail
    context = {
        "hooks": [(hook, hook.deliveries.order_by("-id")[:SHOWN]) for hook in all_hooks().order_by("id")],
        "events": [(name, text, name in chosen or not wrong) for name, text in EVENTS.items()],
        "names": EVENTS,
        "made": made,
        "secret": secret,
        "wrong": wrong,
        "typed": address if wrong else "",
        "tries": MAX_TRIES,
    }
    answer = render(request, "bench/webhooks.html", context, status=400 if wrong else 200)
    answer["Cache-Control"] = "no-store"
    return answer


@page("POST", writes=OWNER)
def change(request: HttpRequest, pk: int) -> HttpResponse:
    """Pause it, go on, try it out, or delete it."""
    hook = get_object_or_404(Webhook, pk=pk)
    do: dict[str, Callable[[Webhook], str]] = {
        "pause": _pause, "resume": _resume, "test": _try, "delete": _delete,
    }  # fmt: skip
    chosen = do.get(request.POST.get("do", ""))
    if chosen is not None:
        notify(request, chosen(hook))
    return redirect("webhooks")


@page("POST", writes=OWNER)
def again(request: HttpRequest, pk: int) -> HttpResponse:
    """Send one event once more."""
    delivery = get_object_or_404(WebhookDelivery.objects.select_related("webhook"), pk=pk)
    send_again(delivery)
    paused = delivery.webhook.paused
    when = "once the webhook is resumed" if paused else "within seconds, or by the next run of webhooks send"
    notify(request, f"It is sent once more {when}.")
    return redirect("webhooks")


def _pause(hook: Webhook) -> str:
    change_hook(hook, paused=True)
    return f"Nothing is sent to {hook.address} now; its events wait, for 30 days."


def _resume(hook: Webhook) -> str:
    change_hook(hook, paused=False)
    return f"{hook.address} is resumed, with what waited."


def _try(hook: Webhook) -> str:
    tried = try_out(hook)
    return (
        f"The test was delivered ({tried.answer})."
        if not tried.problem
        else f"The test failed: {tried.problem}."
    )


def _delete(hook: Webhook) -> str:
    hook.delete()
    return f"{hook.address} is deleted: nothing more is sent to it."
