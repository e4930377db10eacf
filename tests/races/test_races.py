"""Two people reach for the same piece at the same moment, in real processes, on SQLite and on PostgreSQL.

Each promise that the database keeps is shown beside a control that breaks it: without the conditional update,
the same race gives one piece to two jobs.
"""

import os
import socket
from collections import Counter
from collections.abc import Iterator
from contextlib import ExitStack, contextmanager
from typing import TextIO

import pytest

from inventory.models import Board, Holding, Lot, Movement, Place
from repairs import reservations
from repairs.audit import audit
from repairs.models import Need, Reservation
from tests import commands_at_once
from tests.factories import BoardFactory, DesignFactory, NeedFactory, PlaceFactory, spec, stock

pytestmark = [pytest.mark.both_databases, pytest.mark.django_db(transaction=True, serialized_rollback=True)]


def race(*racers: tuple[object, ...]) -> list[str]:
    """Fork a process for each racer, let them all go at once, and answer how each went."""
    from django.db import connection

    settings = connection.settings_dict
    if connection.vendor == "sqlite":
        database = f"sqlite:///{settings['NAME']}"
    else:
        database = f"postgres://{settings['USER']}@{settings['HOST']}:{settings['PORT']}/{settings['NAME']}"
    environment = {**os.environ, "DATABASE_URL": database}
    with ExitStack() as stack:
        running = [stack.enter_context(_ready(racer, environment)) for racer in racers]
        for talk, _ended in running:
            talk.write("go\n")
            talk.flush()
        outcomes = []
        for talk, ended in running:
            said = talk.read().strip()
            assert ended.wait(60) == 0, said
            outcomes.append(said.splitlines()[-1])
    return outcomes


@contextmanager
def _ready(
    racer: tuple[object, ...], environment: dict[str, str]
) -> Iterator[tuple[TextIO, commands_at_once.Running]]:
    """A racer at the line: what it hears and says, and how it ended."""
    ours, theirs = socket.socketpair()
    with ours, theirs:
        ours.settimeout(60)
        arguments = ["tests.races.racer", *map(str, racer)]
        with commands_at_once.Running(arguments, environment, (theirs, theirs, theirs)) as ended:
            theirs.close()
            with ours.makefile("rw") as talk:
                first = talk.readline()
                assert first == "ready\n", first + talk.read()
                yield talk, ended


@pytest.fixture
def last_piece(settings: object) -> Holding:
    return stock(1)


def needs_for(holding: Holding, count: int) -> list[Need]:
    return [NeedFactory(spec=holding.lot.part.spec) for _number in range(count)]


def test_control_a_careless_promise_gives_one_piece_to_two_jobs(last_piece: Holding) -> None:
    outcomes = race(
        *(("promise_one_carelessly", need.pk, last_piece.pk) for need in needs_for(last_piece, 2))
    )
    assert outcomes == ["promised", "promised"]
    assert Reservation.objects.count() == 2, (
        "if the careless way did not lose, the race below would prove nothing"
    )
    assert audit(), "and the audit sees it"


def test_the_last_piece_is_promised_to_one_job_only(last_piece: Holding) -> None:
    outcomes = race(*(("promise_one", need.pk, last_piece.pk) for need in needs_for(last_piece, 4)))
    assert Counter(outcomes) == {"promised": 1, "not_enough": 3}
    assert Reservation.objects.count() == 1
    assert audit() == []


def test_many_jobs_share_out_a_drawer_to_the_last_piece() -> None:
    drawer = stock(30)
    jobs = [NeedFactory(spec=drawer.lot.part.spec).job for _number in range(4)]
    won = race(*(("promise_many", job.pk, drawer.pk, 12) for job in jobs))
    assert sum(map(int, won)) == 30
    drawer.refresh_from_db()
    assert (drawer.quantity, drawer.promised) == (30, 30)
    assert audit() == []


def test_one_need_is_promised_once_though_two_people_find_it_a_part() -> None:
    first, second = stock(1), stock(1)
    need = NeedFactory(spec=first.lot.part.spec)
    outcomes = race(("promise_one", need.pk, first.pk), ("promise_one", need.pk, second.pk))
    assert sorted(outcomes) == ["need_is_met", "promised"]
    assert audit() == []


def test_a_promise_is_released_once(last_piece: Holding) -> None:
    (need,) = needs_for(last_piece, 1)
    promise = reservations.reserve(need, last_piece, 1, by=None)
    assert sorted(race(("release_one", promise.pk), ("release_one", promise.pk))) == ["not_held", "released"]
    last_piece.refresh_from_db()
    assert last_piece.promised == 0
    assert audit() == []


def test_one_position_takes_one_piece() -> None:
    board = BoardFactory(design=DesignFactory(positions={"R7": spec()}), purpose=Board.Purpose.UNDER_REPAIR)
    first, second = stock(1), stock(1)
    outcomes = race(
        ("fit_one", first.lot_id, first.place_id, board.pk, "R7"),
        ("fit_one", second.lot_id, second.place_id, board.pk, "R7"),
    )
    assert sorted(outcomes) == ["fitted", "position_taken"]
    assert audit() == []


def test_one_piece_is_lifted_once() -> None:
    board = BoardFactory(design=DesignFactory(positions={"R7": spec()}))
    tray = PlaceFactory(type=Place.Type.TRAY)
    outcomes = race(*[("lift_one", board.pk, "R7", tray.pk)] * 3)
    assert Counter(outcomes) == {"lifted": 1, "gone": 2}
    assert Lot.objects.count() == 1
    assert audit() == []


def test_a_movement_is_reversed_once(last_piece: Holding) -> None:
    line = reservations.move(
        last_piece.lot,
        reservations.Spot(last_piece.place_id),
        reservations.Spot(PlaceFactory().pk),
        1,
        by=None,
    )
    assert sorted(race(*[("reverse_one", line.pk)] * 2)) == ["reversed", "reversed_already"]
    assert Movement.objects.filter(reverses=line).count() == 1
    assert audit() == []


def test_movements_that_cross_wait_for_each_other() -> None:
    here, there = stock(20), PlaceFactory()
    reservations.move(here.lot, reservations.Spot(here.place_id), reservations.Spot(there.pk), 10, by=None)
    outcomes = race(
        ("shuttle", here.lot_id, here.place_id, there.pk, 25),
        ("shuttle", here.lot_id, there.pk, here.place_id, 25),
    )
    assert outcomes == ["moved", "moved"]
    assert audit() == []
