"""What every test file shares.  Imports of Django wait: the pure packages are tested without it too."""

import os
import sys
from collections.abc import Iterator
from importlib.util import find_spec
from pathlib import Path
from typing import TYPE_CHECKING, Any

import pytest
from hypothesis import HealthCheck, settings

from tests import made_once

if TYPE_CHECKING:
    from django.contrib.auth.models import User
    from rest_framework.test import APIClient

pytest_plugins = ["tests.own_home", "tests.refusals"]
of_browser = "PYTEST_XDIST_WORKER" in os.environ or any("browser" in argument for argument in sys.argv)
if of_browser and find_spec("pytest_playwright"):  # a third of a second that no other run need wait
    pytest_plugins += ["pytest_playwright.pytest_playwright"]
Rows = dict[str, list[tuple[Any, ...]]]

# How long an example takes says something of the machine, not of the bench.  Where code is let in or not, the
# same code meets the same examples; everywhere else each run looks further.
settings.register_profile(
    "bench",
    deadline=None,
    suppress_health_check=[HealthCheck.too_slow],
    derandomize=bool(os.environ.get("CI")),
)
settings.load_profile("bench")


def pytest_ignore_collect(collection_path: Path, config: pytest.Config) -> bool | None:
    """The browser's tests are a suite of their own, run where they are named.

    What drives the browser keeps an event loop running, beside which Django refuses to touch the database.
    """
    theirs = collection_path.name == "browser" and collection_path.parent.name == "tests"
    return True if theirs and not any("browser" in named for named in config.args) else None


@pytest.hookimpl(wrapper=True)
def pytest_runtest_teardown() -> Iterator[None]:
    """A transaction that a test leaves open is that test's fault, and not that of each test after it."""
    try:
        return (yield)
    finally:
        db = sys.modules.get("django.db")
        if db and left_open(db.connection):
            made_once.OPEN.clear()
            _abandon(db.connection)
            pytest.fail("the test left its transaction open, or ended that of its file", pytrace=False)


def left_open(connection: Any) -> bool:
    """Whether other blocks are open between two tests than what is made once for their file."""
    expected = bool(made_once.OPEN), made_once.OPEN
    return (connection.in_atomic_block, connection.atomic_blocks) != expected


def _abandon(connection: Any) -> None:
    """Give up an open transaction whose block was never left."""
    connection.in_atomic_block = False
    connection.savepoint_ids.clear()
    connection.atomic_blocks.clear()
    connection.run_on_commit.clear()
    connection.close()


@pytest.fixture(scope="session", autouse=True)
def no_look_for_newer_code() -> Iterator[None]:
    """A server looks every half minute whether its database was changed: not amid counted queries."""
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr("inventory.watching.LOOK_AGAIN", float("inf"))
        yield


@pytest.fixture(scope="session", autouse=True)
def one_look_for_static_files() -> Iterator[None]:
    """Each client of a test begins a server anew; what that finds in the packages is what the first found."""
    from config.static_files import CompressedStatic

    look, found = CompressedStatic.add_files_from_finders, dict[str, Any]()

    def once(server: CompressedStatic) -> None:
        if not found:
            look(server)
            found.update(server.files)
        server.files = found

    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(CompressedStatic, "add_files_from_finders", once)
        yield


def signed_in(role: str) -> "APIClient":
    """A client with the token of a new person of this role, who has asked nothing yet.

    Ids start over with each test, and how much a person asked a minute is kept by id.
    """
    from rest_framework.test import APIClient

    from inventory.api import rates
    from inventory.keys import find, make_key
    from inventory.roles import give_role
    from tests.factories import PersonFactory

    rates.forget()
    person = PersonFactory(username=role)
    give_role(person, role)
    _made, key = make_key(person, "test")
    find(key)  # used today: what is asked with it writes nothing of its own
    client = APIClient()
    client.credentials(HTTP_AUTHORIZATION=f"Token {key}")
    client.person = person
    return client


@pytest.fixture
def owner(db: None) -> "APIClient":
    return signed_in("owner")


@pytest.fixture
def bench(db: None) -> "APIClient":
    return signed_in("bench")


@pytest.fixture
def viewer(db: None) -> "APIClient":
    return signed_in("viewer")


@pytest.fixture
def stranger() -> "APIClient":
    """Nobody: no token, no session."""
    from rest_framework.test import APIClient

    return APIClient()


@pytest.fixture
def merle(db: None) -> "User":
    """Who owns things at a bench of several."""
    from inventory.people import add_person

    return add_person("merle")


@pytest.fixture
def wren(db: None) -> "User":
    """Who works beside merle."""
    from inventory.people import add_person

    return add_person("wren")


@pytest.fixture
def _django_db_helper(in_workshop_file: bool, _django_db_helper: None) -> None:
    """pytest-django's, which begins the test's transaction, in the database that the test is to see."""


@pytest.fixture
def in_workshop_file(request: pytest.FixtureRequest) -> Iterator[bool]:
    """Whether the test's database is the file with the demo workshop in it."""
    marker = request.node.get_closest_marker("django_db")
    commits = (marker and marker.kwargs.get("transaction")) or "transactional_db" in request.fixturenames
    if "workshop" not in request.fixturenames or commits or _vendor() != "sqlite":
        yield False
        return
    from tests.own_home import at_database

    file, blocker = (request.getfixturevalue(name) for name in ("workshop_file", "django_db_blocker"))
    with blocker.unblock(), at_database(file) as connection:
        yield True
        closed = connection.closed_in_transaction
    assert not closed, "the test closed its connection amid its transaction"


def _vendor() -> str:
    from django.db import connection

    return connection.vendor


@pytest.fixture(scope="session")
def workshop_rows(django_db_setup: None, django_db_blocker: Any) -> Rows:
    """Every row of the demo workshop by table; the load itself, which takes seconds, is taken back."""
    from django.db import connection, transaction

    from inventory.own_models import own_models
    from repairs import demo

    tables = [model._meta.db_table for model in own_models()]
    rows: Rows = {}
    with django_db_blocker.unblock(), transaction.atomic(), connection.cursor() as cursor:
        demo.load(by=None)
        for table in tables:
            cursor.execute(f"SELECT * FROM {connection.ops.quote_name(table)}")
            rows[table] = cursor.fetchall()
        transaction.set_rollback(True)
    return rows


@pytest.fixture
def workshop(request: pytest.FixtureRequest, db: None, in_workshop_file: bool) -> None:
    """The demo workshop: loaded once, and there for each test that asks."""
    from django.core.management.color import no_style
    from django.db import connection, transaction

    from inventory.own_models import own_models

    if in_workshop_file:
        return
    workshop_rows: Rows = request.getfixturevalue("workshop_rows")
    with transaction.atomic(), connection.cursor() as cursor:
        for table, rows in workshop_rows.items():
            if rows:
                marks = ", ".join(["%s"] * len(rows[0]))
                # The scrap bin and the outside are there before.
                cursor.executemany(
                    f"INSERT INTO {connection.ops.quote_name(table)} VALUES ({marks}) ON CONFLICT DO NOTHING",
                    rows,
                )
        for statement in connection.ops.sequence_reset_sql(no_style(), list(own_models())):
            cursor.execute(statement)
