"""A sheet is tried, and lands, while people work: what they write does not wait for it, on both databases."""

import os
import threading
import time
from collections import Counter
from collections.abc import Callable
from contextlib import nullcontext
from io import BytesIO
from typing import Any

import pytest
from django.db import OperationalError, connection, connections

from inventory import ledger, sheets
from inventory.bench_settings import set_bench, settings_of_bench
from inventory.ledger import Spot, recount
from inventory.models import Holding, Lot, Movement, Place
from inventory.refusals import Refused
from inventory.sheets import importing, stock_import
from repairs import demo, demo_removal
from repairs.audit import audit
from tests.factories import PlaceFactory, stock
from tests.sheets.importing import RESISTOR, everything, stock_csv

pytestmark = [pytest.mark.both_databases, pytest.mark.django_db(transaction=True, serialized_rollback=True)]

of_sqlite = pytest.mark.skipif(
    connection.vendor != "sqlite", reason="PostgreSQL keeps writers apart by rows, and makes no copy"
)


@pytest.fixture
def reached(monkeypatch: pytest.MonkeyPatch) -> tuple[threading.Event, threading.Event]:
    """An import that stands still in its middle, after it has begun to write: reached, and let go on."""
    reached, go_on = threading.Event(), threading.Event()
    look = stock_import._Incoming._here_already

    def standing_still(self: Any, rows: Any) -> Counter[Any]:
        Place.objects.create(name="made by the import")
        reached.set()
        assert go_on.wait(timeout=20)
        return look(self, rows)

    monkeypatch.setattr(stock_import._Incoming, "_here_already", standing_still)
    return reached, go_on


def _try() -> int:
    sheet = sheets.read_sheet(stock_csv(RESISTOR), name="x.csv", kind="stock")
    return sheets.import_read(sheet, by=None, dry_run=True).created


def _import(file: BytesIO | None = None) -> int:
    sheet = sheets.read_sheet(file or stock_csv(RESISTOR), name="x.csv", kind="stock")
    with sheets.prepared(sheet, by=None) as import_now:
        return import_now().created


def _in_a_thread(work: Callable[[], object], outcome: list[object]) -> None:
    try:
        outcome.append(work())
    except Exception as error:
        outcome.append(error)
    finally:
        connections.close_all()


def _seconds_to_write(
    reached: threading.Event,
    go_on: threading.Event,
    work: Callable[[], object] = _try,
    write: Callable[[], object] = lambda: PlaceFactory(name="made by a person"),
) -> tuple[float, list[object]]:
    """How long a write takes while the work stands still, and what came of the work."""
    outcome: list[object] = []
    thread = threading.Thread(target=_in_a_thread, args=(work, outcome))
    thread.start()
    assert reached.wait(timeout=20)
    began = time.monotonic()
    try:
        write()
        took = time.monotonic() - began
    finally:
        go_on.set()
        thread.join(timeout=30)
    return took, outcome


def test_a_write_passes_while_a_sheet_is_tried(reached: tuple[threading.Event, threading.Event]) -> None:
    took, outcome = _seconds_to_write(*reached)
    assert took < 1
    assert outcome == [1]
    assert not Lot.objects.exists()
    assert [place.name for place in Place.objects.filter(name__startswith="made")] == ["made by a person"]


@of_sqlite
def test_control_tried_in_the_database_itself_a_write_waits(
    reached: tuple[threading.Event, threading.Event], monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(importing, "apart_from_writers", nullcontext)
    connection.ensure_connection()
    connection.connection.execute("PRAGMA busy_timeout = 200")
    with pytest.raises(OperationalError, match="locked"):
        _seconds_to_write(*reached)


def test_a_preview_sees_what_is_here_and_leaves_no_copy_behind(settings: Any) -> None:
    lot = stock(5).lot
    file = BytesIO(b"".join(sheets.export("stock", "csv")))
    before = set(settings.HOME.iterdir())
    sheet = sheets.read_sheet(file, name="x.csv", kind="stock")
    report = sheets.import_read(sheet, by=None, dry_run=True)
    assert report.created == 0
    assert Lot.objects.get() == lot
    assert set(settings.HOME.iterdir()) == before


# --- importing


@pytest.fixture
def few_are_many(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(importing, "MANY_ROWS", 1)


def test_a_write_passes_while_many_rows_are_worked_out_and_both_are_kept(
    reached: tuple[threading.Event, threading.Event], few_are_many: None, settings: Any
) -> None:
    before = {path.name for path in settings.HOME.iterdir()} | {"import.lock"}
    took, outcome = _seconds_to_write(*reached, _import)
    assert took < 1
    assert outcome == [1]
    places = {place.name: place.pk for place in Place.objects.filter(name__startswith="made")}
    assert set(places) == {"made by a person", "made by the import"}
    lot = Lot.objects.get()
    assert (lot.holdings.get().place.type, lot.movements.get().quantity) == (
        "drawer",
        lot.holdings.get().quantity,
    )
    assert not recount.differences()
    assert {path.name for path in settings.HOME.iterdir()} <= before


@of_sqlite
def test_control_many_rows_imported_where_others_write_let_nobody_in(
    reached: tuple[threading.Event, threading.Event],
) -> None:
    connection.ensure_connection()
    connection.connection.execute("PRAGMA busy_timeout = 200")
    with pytest.raises(OperationalError, match="locked"):
        _seconds_to_write(*reached, _import)


def _counted(holding: Holding, quantity: int) -> BytesIO:
    """A sheet that says so many of a lot that is here."""
    line = {"Lot": holding.lot_id, "Kind": "resistor", "Value": "4k7", "Tolerance": "5%"}
    return stock_csv({**line, "Quantity": quantity, "Place": "Cabinet A / Drawer 7"})


@pytest.fixture
def holding() -> Holding:
    sheets.import_sheet(stock_csv(RESISTOR), name="x.csv", kind="stock", by=None)
    return Holding.objects.get()


def test_what_was_here_is_changed_in_its_row(
    holding: Holding, reached: tuple[threading.Event, threading.Event], few_are_many: None
) -> None:
    _took, outcome = _seconds_to_write(*reached, lambda: _import(_counted(holding, 4)))
    assert outcome == [0]
    assert Holding.objects.get(quantity__gt=0).quantity == 4
    assert not recount.differences()


@of_sqlite
def test_a_row_that_somebody_changed_meanwhile_is_taken_as_it_is_by_then(
    holding: Holding, reached: tuple[threading.Event, threading.Event], few_are_many: None
) -> None:
    """It is worked out on 10 pieces; a person counts 3 before it lands: the ledger goes from 10 to 3 to 4."""
    spot = Spot(holding.place_id, holding.ref)
    _took, outcome = _seconds_to_write(
        *reached,
        lambda: _import(_counted(holding, 4)),
        lambda: ledger.count(holding.lot, spot, 3, by=None),
    )
    assert outcome == [0]
    assert Holding.objects.get(quantity__gt=0).quantity == 4
    assert [move.quantity for move in Movement.objects.order_by("id")] == [10, 7, 1]
    assert not recount.differences()


def test_an_import_that_is_broken_off_leaves_nothing(
    few_are_many: None, monkeypatch: pytest.MonkeyPatch, settings: Any
) -> None:
    def stopped(*_args: Any) -> None:
        raise KeyboardInterrupt

    monkeypatch.setattr(stock_import.LotChanges, "make", stopped)
    before, files = everything(), set(settings.HOME.glob("preview-*"))
    with pytest.raises(KeyboardInterrupt):
        _import()
    assert everything() == before
    assert set(settings.HOME.glob("preview-*")) == files


@of_sqlite
def test_a_copy_that_a_killed_import_left_is_cleared_away(few_are_many: None, settings: Any) -> None:
    left = settings.HOME / "preview-left"
    left.mkdir()
    os.utime(left, (0, 0))
    _import()
    assert not left.exists()


# --- the demo


def _written_when_it_was_worked_out(
    monkeypatch: pytest.MonkeyPatch, write: Callable[[], object]
) -> list[object]:
    """Let another thread write once when the demo is worked out and not kept yet; what came of that."""
    outcome: list[object] = []
    fill = demo._fill

    def then_another_writes(by: Any) -> None:
        fill(by)
        if not outcome:
            other = threading.Thread(target=_in_a_thread, args=(write, outcome))
            other.start()
            other.join(timeout=60)

    monkeypatch.setattr(demo, "_fill", then_another_writes)
    demo.load(by=None)
    return outcome


@of_sqlite
def test_a_write_passes_while_the_demo_is_worked_out(monkeypatch: pytest.MonkeyPatch) -> None:
    """Were it worked out in the database itself, this write would wait for it in vain, and fail."""
    _written_when_it_was_worked_out(monkeypatch, lambda: set_bench({"name": "Saltmarsh"}))
    assert settings_of_bench().name == "Saltmarsh"
    assert audit() == []


@of_sqlite
def test_a_drawer_made_while_the_demo_is_worked_out_is_nobodys_but_ones_own(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    """It took a number that the demo had: so the demo is made again with others, and goes without it."""
    _written_when_it_was_worked_out(monkeypatch, lambda: PlaceFactory(name="made by a person"))
    removal = demo_removal.planned()
    assert removal is not None
    demo_removal.remove(removal.summary)
    assert [place.name for place in Place.objects.filter(name__startswith="made")] == ["made by a person"]
    assert not Lot.objects.exists()
    assert audit() == []


def test_what_is_done_while_it_is_worked_out_what_of_the_demo_goes_is_heeded(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    """Another puts a drawer into one of the demo after the plan was made and before the lock."""
    demo.load(by=None)
    shown = demo_removal.planned()
    assert shown is not None
    drawer = Place.objects.filter(pk__in=shown.rows[Place], type="drawer")[0]
    plan, calls = demo_removal.planned, []

    def planned() -> demo_removal.Removal | None:
        removal = plan()
        if not calls:
            PlaceFactory(name="made by a person", within=drawer)
        calls.append(removal)
        return removal

    monkeypatch.setattr(demo_removal, "planned", planned)
    with pytest.raises(Refused) as refused:
        demo_removal.remove(shown.summary)
    assert len(calls) == 2
    assert refused.value.code == "stale"
    assert Lot.objects.exists()
