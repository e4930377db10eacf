"""People in front of the pages, and the demo workshop: loaded once, then laid out for each test that asks."""

from collections.abc import Callable
from typing import Any

import pytest
from django.test import Client

Rows = dict[str, list[tuple[Any, ...]]]


def at_the_bench(role: str, name: str = "") -> Client:
    """A browser in which a new person of this role is signed in; it checks the tokens of forms."""
    from inventory.roles import give_role
    from tests.factories import PersonFactory

    person = PersonFactory(username=name or f"page-{role}")
    give_role(person, role)
    client = Client()
    client.force_login(person)
    return client


@pytest.fixture
def sign_in(db: None) -> Callable[..., Client]:
    return at_the_bench


@pytest.fixture(scope="session")
def workshop_rows(django_db_setup: None, django_db_blocker: Any) -> Rows:
    """Every row of the demo workshop by table; the load itself, which takes seconds, is taken back."""
    from django.apps import apps
    from django.db import connection, transaction

    from repairs import demo

    tables = [
        model._meta.db_table
        for app in ("inventory", "repairs")
        for model in apps.get_app_config(app).get_models()
    ]
    rows: Rows = {}
    with django_db_blocker.unblock(), transaction.atomic(), connection.cursor() as cursor:
        demo.load(by=None)
        for table in tables:
            cursor.execute(f"SELECT * FROM {connection.ops.quote_name(table)}")
            rows[table] = cursor.fetchall()
        transaction.set_rollback(True)
    return rows


@pytest.fixture
def workshop(db: None, workshop_rows: Rows) -> None:
    from django.apps import apps
    from django.core.management.color import no_style
    from django.db import connection, transaction

    with transaction.atomic(), connection.cursor() as cursor:
        for table, rows in workshop_rows.items():
            if rows:
                marks = ", ".join(["%s"] * len(rows[0]))
                # The scrap bin and the outside are there before.
                cursor.executemany(
                    f"INSERT INTO {connection.ops.quote_name(table)} VALUES ({marks}) ON CONFLICT DO NOTHING",
                    rows,
                )
        models = [
            model for app in ("inventory", "repairs") for model in apps.get_app_config(app).get_models()
        ]
        for statement in connection.ops.sequence_reset_sql(no_style(), models):
            cursor.execute(statement)
