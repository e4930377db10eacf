"""The same file sent twice at the same moment, on SQLite and on PostgreSQL."""

import threading
import time
from collections import Counter
from typing import Any

import pytest
from django.db import connection, connections

from inventory.models import Lot
from inventory.sheets import importing, stock_import
from tests.sheets.importing import RESISTOR, stock_csv, take_in

pytestmark = [pytest.mark.both_databases, pytest.mark.django_db(transaction=True, serialized_rollback=True)]


@pytest.fixture(autouse=True)
def _slow_look(monkeypatch: pytest.MonkeyPatch) -> None:
    """A pause between looking for what is here and bringing in the rest."""
    look = stock_import._Incoming._here_already

    def slowly(self: Any, rows: Any) -> Counter[Any]:
        found = look(self, rows)
        time.sleep(0.4)
        return found

    monkeypatch.setattr(stock_import._Incoming, "_here_already", slowly)


def sent_twice() -> list[object]:
    gate, outcomes = threading.Barrier(2), []

    def send() -> None:
        try:
            gate.wait(timeout=5)
            outcomes.append(take_in(stock_csv(RESISTOR)).created)
        except Exception as error:
            outcomes.append(error)
        finally:
            connections.close_all()

    threads = [threading.Thread(target=send) for _ in range(2)]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join(timeout=30)
    return outcomes


def test_control_without_the_lock_both_are_new(monkeypatch: pytest.MonkeyPatch) -> None:
    if connection.vendor == "sqlite":
        pytest.skip("on SQLite the lock is BEGIN IMMEDIATE itself, which is not taken off")
    take_in(stock_csv(RESISTOR | {"Quantity": "0"}))  # the part and the drawer are here already
    take_in(stock_csv(RESISTOR | {"Marking": "another"}))
    monkeypatch.setattr(importing, "_one_at_a_time", lambda: None)
    sent_twice()
    assert Lot.objects.filter(marking="").count() == 2


def test_the_same_file_twice_at_once_is_new_once() -> None:
    take_in(stock_csv(RESISTOR | {"Quantity": "0"}))
    take_in(stock_csv(RESISTOR | {"Marking": "another"}))
    assert sorted(map(str, sent_twice())) == ["0", "1"]
    assert Lot.objects.filter(marking="").count() == 1
