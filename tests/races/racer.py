"""One racer: a process of its own that gets ready, waits for the shot, does one thing and says how it went.

`python -m tests.races.racer ACTION ARGUMENT...`, with REHOME_HOME or DATABASE_URL naming the database.
"""

import json
import os
import sys
import time
from typing import Any

PAUSE = 0.4  # between reading and writing, for the racers that do it wrong


def promise_one(need: int, holding: int) -> str:
    from inventory.models import Holding
    from repairs.models import Need
    from repairs.reservations import reserve

    reserve(Need.objects.get(pk=need), Holding.objects.get(pk=holding), 1, by=None)
    return "promised"


def promise_one_carelessly(need: int, holding: int) -> str:
    """The control: a read, a pause, a write.  Two of these both win."""
    from inventory.models import Holding
    from repairs.models import Need, Reservation

    here = Holding.objects.get(pk=holding)
    if here.promised >= here.quantity:
        return "not_enough"
    time.sleep(PAUSE)
    here.promised += 1
    here.save(update_fields=["promised"])
    Reservation.objects.create(need=Need.objects.get(pk=need), holding=here, quantity=1)
    return "promised"


def agree_carelessly(ask: int) -> str:
    """The control: is it still asked, a pause, then agreed and reserved.  Two of these both say yes."""
    from repairs.models import PieceAsk, Reservation

    asked = PieceAsk.objects.get(pk=ask)
    if asked.state != "asked":
        return "answered_already"
    time.sleep(PAUSE)
    PieceAsk.objects.filter(pk=ask).update(state="agreed", answered_at=asked.at)
    holding = asked.lot.holdings.get()
    Reservation.objects.create(need=asked.need, holding=holding, quantity=asked.quantity, ask=asked)
    return "agreed"


def give_one(person: int, lot: int) -> str:
    from django.contrib.auth.models import User

    from inventory.ownership import give_lots

    somebody = User.objects.get(pk=person)
    give_lots([lot], somebody, by=somebody)
    return "given"


def promise_many(job: int, holding: int, attempts: int) -> str:
    """Make needs and promise to each, until refused; answer how many were promised."""
    from inventory.ledger import Refused
    from inventory.models import Holding
    from repairs.models import Job, Need
    from repairs.reservations import reserve

    here = Holding.objects.select_related("lot__part__spec").get(pk=holding)
    won = 0
    for _attempt in range(attempts):
        need = Need.objects.create(job=Job.objects.get(pk=job), spec=here.lot.part.spec, quantity=1)
        try:
            reserve(need, here, 1, by=None)
            won += 1
        except Refused:
            continue
    return str(won)


def release_one(reservation: int) -> str:
    from repairs.models import Reservation
    from repairs.reservations import release

    release(Reservation.objects.get(pk=reservation))
    return "released"


def fit_one(lot: int, place: int, board: int, ref: str) -> str:
    from inventory.ledger import Spot
    from inventory.models import Board, Lot
    from repairs.reservations import fit

    fit(Lot.objects.get(pk=lot), Spot(int(place)), Board.objects.get(pk=board), ref, by=None)
    return "fitted"


def lift_one(board: int, ref: str, to: int) -> str:
    from inventory.ledger import Spot
    from inventory.models import Board
    from repairs.reservations import lift

    lift(Board.objects.get(pk=board), [ref], Spot(int(to)), by=None)
    return "lifted"


def reverse_one(movement: int) -> str:
    from inventory.models import Movement
    from repairs.reservations import reverse

    reverse(Movement.objects.get(pk=movement), by=None)
    return "reversed"


def shuttle(lot: int, here: int, there: int, times: int) -> str:
    """Move one piece to and fro; two of these in opposite directions must not deadlock."""
    from inventory.ledger import Spot
    from inventory.models import Lot
    from repairs.reservations import move

    for _time in range(times):
        move(Lot.objects.get(pk=lot), Spot(here), Spot(there), 1, by=None)
        move(Lot.objects.get(pk=lot), Spot(there), Spot(here), 1, by=None)
    return "moved"


def order_one_carelessly(part: int, quantity: int) -> str:
    """The control: is it short, a pause, then ordered.  Two of these both order."""
    from django.db import transaction

    from inventory.models import Part
    from repairs.answers.buy import OrderLine, put_on_order
    from repairs.answers.shortages import shortages

    if not any(row.short for row in shortages()):
        return "not_on_the_list"
    time.sleep(PAUSE)
    with transaction.atomic():
        put_on_order(OrderLine(Part.objects.get(pk=part), quantity))
    return "ordered"


def post_one(token: str, path: str, body: str, key: str) -> str:
    from rest_framework.test import APIClient

    client = APIClient(raise_request_exception=False)
    client.credentials(HTTP_AUTHORIZATION=f"Token {token}")
    answer = client.post(path, json.loads(body), format="json", headers={"Idempotency-Key": key})
    return f"{answer.status_code} {json.dumps(answer.json(), sort_keys=True)}"


def import_file(token: str, path: str, file: str, key: str) -> str:
    from pathlib import Path

    from django.core.files.uploadedfile import SimpleUploadedFile
    from rest_framework.test import APIClient

    client = APIClient(raise_request_exception=False)
    client.credentials(HTTP_AUTHORIZATION=f"Token {token}")
    sent = {"file": SimpleUploadedFile("design.zip", Path(file).read_bytes())}
    headers = {"Idempotency-Key": key} if key else {}
    answer = client.post(path, sent, format="multipart", headers=headers)
    return f"{answer.status_code} {json.dumps(answer.json(), sort_keys=True)}"


ACTIONS = {
    action.__name__: action
    for action in (
        promise_one, promise_one_carelessly, agree_carelessly, give_one, promise_many, release_one,
        fit_one, lift_one, reverse_one, shuttle, order_one_carelessly, post_one, import_file,
    )
}  # fmt: skip


def main() -> None:
    import django

    os.environ.setdefault("DJANGO_SETTINGS_MODULE", "config.settings")
    django.setup()
    from django.db import connection

    from inventory.ledger import Refused

    name, *arguments = sys.argv[1:]
    given: list[Any] = [int(argument) if argument.isdigit() else argument for argument in arguments]
    connection.ensure_connection()
    print("ready", flush=True)
    sys.stdin.readline()
    try:
        outcome = ACTIONS[name](*given)
    except Refused as refusal:
        outcome = refusal.code
    print(outcome, flush=True)


if __name__ == "__main__":
    main()
