"""What tests stand on: a database made once, another asked in its place, no transaction left open between."""

import threading
import time
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest
from django.db import connection, transaction

from inventory.models import Place
from tests import made_once
from tests.conftest import left_open
from tests.own_home import at_database, kept_or_made, unfinished


def test_of_runs_that_begin_at_one_moment_one_makes_the_database_and_the_others_have_it(
    tmp_path: Path,
) -> None:
    folder = tmp_path / "migrated"
    folder.mkdir()
    (folder / "of-other-migrations.sqlite3").touch()
    kept, made, have = folder / "now.sqlite3", [], []
    together = threading.Barrier(4)

    def run(number: int) -> None:
        own = tmp_path / f"{number}.sqlite3"

        def make() -> str:
            made.append(number)
            own.write_text("half")
            unfinished(kept).write_text("half")
            time.sleep(0.2)
            for file in (own, unfinished(kept)):
                file.write_text("migrated")
            return "[]"

        together.wait()
        have.append((kept_or_made(kept, own, make), own.read_text()))

    runs = [threading.Thread(target=run, args=(number,)) for number in range(4)]
    for each in runs:
        each.start()
    for each in runs:
        each.join()
    assert len(made) == 1
    assert sorted(have) == [(False, "migrated"), *[(True, "migrated")] * 3]
    assert sorted(path.name for path in folder.iterdir()) == ["now.json", "now.sqlite3"]


@pytest.fixture
def another(tmp_path: Path, django_db_setup: None, django_db_blocker: Any) -> Iterator[Path]:
    """The file of another database."""
    if connection.vendor != "sqlite":
        pytest.skip("one file is asked in the place of another on SQLite alone")
    with django_db_blocker.unblock():
        connection.ensure_connection()  # as it is amid a run: else the tests below begin with a new one
        yield tmp_path / "another.sqlite3"


def test_a_connection_closed_amid_a_transaction_on_another_database_leaves_the_usual_one_sound(
    another: Path,
) -> None:
    with at_database(another), transaction.atomic(), transaction.atomic():
        connection.close()
    for name in ("first", "second"):  # the first would end none of its blocks, and the second not begin
        with transaction.atomic(), transaction.atomic():
            assert not Place.objects.filter(name__in=["first", "second"]).exists()
            Place.objects.create(name=name, type="tray")
            transaction.set_rollback(True)
        assert not connection.in_atomic_block


def test_another_database_is_asked_amid_a_transaction_which_stays_as_it_was(another: Path) -> None:
    with transaction.atomic():
        Place.objects.create(name="amid", type="tray")
        with at_database(another), connection.cursor() as cursor:
            assert connection.introspection.table_names(cursor) == []
        assert Place.objects.filter(name="amid").exists()
        transaction.set_rollback(True)
    assert not Place.objects.filter(name="amid").exists()


def test_a_transaction_that_a_test_left_open_is_found_and_that_of_a_file_of_tests_is_not(
    another: Path, django_db_blocker: Any
) -> None:
    assert not left_open(connection)
    with transaction.atomic():
        assert left_open(connection)
    with made_once.made_for_all_tests_of_a_file(lambda: None, django_db_blocker):
        assert not left_open(connection)
        with transaction.atomic():
            assert left_open(connection)
    assert not left_open(connection)
