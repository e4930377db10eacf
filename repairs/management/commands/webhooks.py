"""`manage.py webhooks`: addresses that events are sent to; send what is due."""

from typing import Any

from django.core.management.base import CommandError, CommandParser
from django.utils.timezone import localtime

from inventory.management.readable import Readable
from inventory.tables import show, stream_of
from inventory.whole_numbers import whole_number
from repairs.webhook_models import Webhook, WebhookDelivery
from repairs.webhooks.events import EVENTS
from repairs.webhooks.hooks import add_hook, all_hooks, change_hook, send_again
from repairs.webhooks.sending import send_due, try_out

MAX_SHOWN = 50


class Command(Readable):
    help = (
        "List the addresses that events are sent to; add, test, pause or delete one.\n"
        "`send` sends what is due: a running `serve` does it by itself, other servers by a timer.\n\n"
        "Examples:\n"
        "  python3 manage.py webhooks\n"
        "  python3 manage.py webhooks add https://club.example/rehome --events shortage_closed,loan_overdue\n"
        "  python3 manage.py webhooks test 1\n"
        "  python3 manage.py webhooks pause 1\n"
        "  python3 manage.py webhooks deliveries\n"
        "  python3 manage.py webhooks send"
    )

    def add_arguments(self, parser: CommandParser) -> None:
        what = parser.add_subparsers(dest="what", metavar="WHAT")
        adding = what.add_parser("add", help="add an address; prints its secret, once")
        adding.add_argument("address")
        adding.add_argument(
            "--events", default=",".join(EVENTS), help=f"comma between, of {', '.join(EVENTS)} (all)"
        )
        for word, help_text in (
            ("test", "send a test now"), ("pause", "send nothing for now: its events wait"),
            ("resume", "go on, with what waited"), ("delete", "send it nothing more"),
        ):  # fmt: skip
            what.add_parser(word, help=help_text).add_argument("number")
        deliveries = what.add_parser("deliveries", help="list the last deliveries")
        deliveries.add_argument("number", nargs="?", default="", help="of this webhook alone")
        what.add_parser("again", help="send an event once more").add_argument(
            "number", help="as `webhooks deliveries` lists it"
        )
        what.add_parser("send", help="send what is due")
        self.add_forms(parser)

    def handle(self, *args: Any, **options: Any) -> None:
        what, number = options["what"], options.get("number", "")
        if options["json"] and what is not None:
            raise CommandError("--json lists the webhooks alone")
        if what is None:
            self.list(options)
        elif what == "add":
            hook, secret = add_hook(options["address"], options["events"].split(","))
            self.stdout.write(f"webhook {hook.pk}: its secret, not shown again, is\n{secret}")
        elif what == "deliveries":
            self.deliveries(_hook(number) if number else None)
        elif what == "send":
            self.send()
        elif what == "again":
            row = WebhookDelivery.objects.filter(pk=whole_number(number) or 0).first()
            if row is None:
                raise CommandError(f"there is no event {number}: `webhooks deliveries` lists them")
            send_again(row)
            self.stdout.write(f"{row} is due")
        else:
            self.change(_hook(number), what)

    def change(self, hook: Webhook, what: str) -> None:
        if what == "test":
            tried = try_out(hook)
            if tried.problem:
                raise CommandError(f"the test failed: {tried.problem}")
            self.stdout.write(f"the test was delivered: {tried.answer}")
            return
        if what == "delete":
            hook.delete()
        else:
            change_hook(hook, paused=what == "pause")
        done = {"pause": "is paused", "resume": "is resumed", "delete": "is deleted"}
        self.stdout.write(f"{hook.address} {done[what]}")

    def send(self) -> None:
        tried = send_due()
        for each in tried:
            self.stdout.write(f"{each}: {each.problem or 'delivered'}")
        delivered = sum(each.status == WebhookDelivery.Status.DELIVERED for each in tried)
        self.stdout.write(f"{delivered} delivered, {len(tried) - delivered} not")

    def list(self, options: dict[str, Any]) -> None:
        hooks = all_hooks().order_by("id")
        if options["json"]:
            from repairs.api.webhooks import WebhookSerializer

            self.print_json({"results": WebhookSerializer(hooks, many=True).data})
            return
        rows = [
            (
                str(hook.pk), hook.address, ", ".join(hook.events), "paused" if hook.paused else "",
                str(hook.waiting), str(hook.given_up), hook.last_problem or "",  # type: ignore[attr-defined]
            )
            for hook in hooks
        ]  # fmt: skip
        columns = ("no.", "address", "events", "", "waiting", "given up", "last problem")
        show(stream_of(self.stdout), "Webhooks", columns, rows)

    def deliveries(self, hook: Webhook | None) -> None:
        rows = WebhookDelivery.objects.order_by("-id")
        shown = [
            (
                str(each.pk), f"{localtime(each.at):%Y-%m-%d %H:%M}", str(each.webhook_id), each.event,
                each.status, str(each.tries),
                f"{localtime(each.next_try):%m-%d %H:%M}" if each.next_try else "", each.problem,
            )
            for each in (rows.filter(webhook=hook) if hook else rows)[:MAX_SHOWN]
        ]  # fmt: skip
        columns = ("event", "at", "to", "what", "status", "tries", "next", "problem")
        show(stream_of(self.stdout), "Last deliveries", columns, shown)


def _hook(number: str) -> Webhook:
    """CommandError where there is none of that number."""
    found = Webhook.objects.filter(pk=whole_number(number) or 0).first()
    if found is None:
        raise CommandError(f"there is no webhook {number}: `webhooks` lists them")
    return found
