"""The same file sent twice at the same moment, on SQLite and on PostgreSQL."""

import threading
import time
from collections import Counter
from io import BytesIO
from typing import Any

import pytest
from django.db import connection, connections

from inventory.models import Lot, Part
from inventory.sheets import importing, stock_import
from repairs import buy_import
from repairs.models import Purchase
from tests.factories import NeedFactory, spec
from tests.sheets.importing import RESISTOR, exported, lines_of, stock_csv, take_in

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


def sent_twice(file: bytes = b"", kind: str = "stock") -> list[object]:
    gate, outcomes = threading.Barrier(2), []

    def send() -> None:
        try:
            gate.wait(timeout=5)
            sheet = BytesIO(file) if file else stock_csv(RESISTOR)
            outcomes.append(take_in(sheet, kind).created)
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


def test_the_same_buy_list_twice_at_once_orders_once(monkeypatch: pytest.MonkeyPatch) -> None:
    look = buy_import._ordered_by

    def slowly(names: Any) -> dict[str, list[Purchase]]:
        found = look(names)
        time.sleep(0.4)
        return found

    monkeypatch.setattr(buy_import, "_ordered_by", slowly)
    NeedFactory(of=spec("resistor", "4k7"), quantity=3)
    Part.of(spec("resistor", "4k7"))
    [line] = lines_of(exported("csv", "buy"))
    marked = stock_csv(line | {"State": "received", "Place": "Cabinet A / Drawer 7"}).getvalue()
    assert sorted(map(str, sent_twice(marked, "buy"))) == ["0", "1"]
    assert [(bought.state, bought.quantity) for bought in Purchase.objects.all()] == [("received", 3)]
    assert Lot.objects.count() == 1
