"""What a command prints as JSON is what the API answers: a script may use either."""

import json
from collections.abc import Callable
from contextlib import suppress
from io import StringIO
from typing import Any

import pytest
from django.core.management import call_command
from rest_framework.test import APIClient

from inventory import attachments, ownership
from inventory.models import Board, Design, Movement
from inventory.people import add_person
from repairs import asks
from repairs.models import Job, Need
from repairs.webhooks.hooks import add_hook
from tests.factories import JobFactory, NeedFactory, PartFactory, spec, stock

API = "/api/v1/"
PAGED = {"count", "next", "previous", "results"}
JOB, BARE, DONOR = "Tern C rebuild", "Tern C, bare board", "Tern donor 1"
PAIRS: dict[str, Callable[[], tuple[list[Any], str]]] = {
    "shortages": lambda: ([], "shortages/"),
    "buy": lambda: ([], "buy/"),
    "figures": lambda: ([], "figures/"),
    "lately": lambda: (["--most", 20], "lately/?most=20"),
    "find": lambda: (["4k7"], "search/?q=4k7"),
    "harvest": lambda: ([], "boards/harvest/"),
    "ready": lambda: ([BARE, "--all"], f"boards/{_board(BARE)}/ready/"),
    "trace": lambda: ([_lifted()], f"lots/{_lifted()}/trace/"),
    "transfer": lambda: ([JOB, "--from", DONOR], f"jobs/{_job()}/transfer/?from={_board(DONOR)}"),
    "seen_before": lambda: ([_tern()[0]], f"designs/{_tern()[0]}/seen/"),
    "webhooks": lambda: (_hooked(), "webhooks/"),
    "attachments": lambda: (_attached(), "attachments/"),
    "report": lambda: ([JOB], f"jobs/{_job()}/report/"),
    "log": lambda: ([JOB], f"jobs/{_job()}/log/"),
    "why": lambda: ([_need()], f"needs/{_need()}/why/"),
    "make_up": lambda: (["resistor", "750"], "made-up/?kind=resistor&value=750"),
    "compare": lambda: (_tern(), "designs/{}/compare/?with={}".format(*_tern())),
    "substitutions": lambda: (_recorded(), "substitutions/"),
    "spare": lambda: ([], "spare/"),
    "friends": lambda: ([], "friends/"),
    "evidence": lambda: ([], "evidence/"),
    "decode": lambda: (["4k7"], "decode/?marking=4k7"),
    "asks": lambda: (_asked(), "asks/"),
}


def _board(name: str) -> int:
    return Board.objects.get(name=name).pk


def _job() -> int:
    return Job.objects.get(name=JOB).pk


def _need() -> int:
    needs = Need.objects.filter(job__name=JOB, promised=0, fitted=0)
    return needs.order_by("id")[0].pk


def _lifted() -> int:
    return Movement.objects.filter(kind=Movement.Kind.LIFT).earliest("id").lot_id


def _tern() -> list[int]:
    return list(
        Design.objects.filter(name__startswith="Tern").order_by("revision").values_list("id", flat=True)
    )


def _recorded() -> list[Any]:
    call_command("substitutions", "record", "transistor 2N3904", "transistor BC547", "--evidence", "listed")
    return []


def _asked() -> list[Any]:
    merle, held = add_person("merle"), stock(2, part=PartFactory(of=spec()))
    ownership.give_lots([held.lot_id], merle, by=merle)
    need = NeedFactory(job=JobFactory(), of=spec(), quantity=2)
    asks.ask(need, held.lot, 1, by=None)
    return []


def _hooked() -> list[Any]:
    add_hook("https://receiver.example/rehome", ["loan_overdue"])
    return []


def _attached() -> list[Any]:
    attachments.keep(b"pins: E, B, C", "pins.txt", to=Design.objects.earliest("id"), by=None)
    return []


@pytest.mark.django_db
@pytest.mark.parametrize("command", PAIRS)
def test_a_command_prints_what_the_api_answers(workshop: None, owner: APIClient, command: str) -> None:
    asked, address = PAIRS[command]()
    out = StringIO()
    with suppress(SystemExit):  # with 1 where a board is not ready
        call_command(command, *map(str, asked), "--json", stdout=out)
    answered = owner.get(API + address)
    assert answered.status_code == 200, answered.content
    told = _whole(answered.json())
    assert any(told.values()), "an empty answer shows nothing"
    assert json.loads(out.getvalue().splitlines()[-1]) == told


def _whole(answer: dict[str, Any]) -> Any:
    """As a terminal says it: it has no address to put before those in an answer, and no pages of a list."""
    named = json.loads(json.dumps(answer).replace("http://testserver", ""))
    return {"results": named["results"]} if named.keys() == PAGED else named
