"""A page asks the database as many questions of a small workshop as of one three times as large."""

import re
from collections import Counter
from pathlib import Path
from typing import Any, NamedTuple

import pytest
from django.db import connection, transaction
from django.test import Client
from django.test.utils import CaptureQueriesContext

from inventory.models import Design, Lot
from tests.addresses import found, shown
from tests.growing import grow
from tests.in_use import begin
from tests.own_home import at_database
from tests.pages.conftest import at_the_bench

# In its order, before what leaves rows behind; in one process, for the large workshop is slow to make.
pytestmark = [pytest.mark.django_db, pytest.mark.xdist_group("queries")]

APART = {"sign-in", "first-person", "remove-demo", "any-list", "fetch-backup"}
"""Nobody is signed in; the demo is taken out once, by passes over its own rows in chunks; a list in any form
is there once it was uploaded; and a backup is the whole workshop, read whole."""
LOOKED_AT, OF_EACH = 10, 2
"""So many addresses of each page are looked at, and the longest of them asked for."""


class Asked(NamedTuple):
    """What a page asked of the database, and how long it came out."""

    sql: list[str]
    length: int


Counts = dict[str, list[tuple[str, Asked, Asked]]]


def questions(client: Client, address: str) -> Asked:
    with CaptureQueriesContext(connection) as asked:
        answer = client.get(address)
    assert answer.status_code == 200, f"{address} answers {answer.status_code}"
    return Asked([each["sql"] for each in asked.captured_queries], len(answer.content))


@pytest.fixture(scope="module")
def counts(workshop_file: Path, django_db_blocker: Any) -> Counts:
    """For each page its addresses with what was asked of the small and of the large workshop."""
    with django_db_blocker.unblock(), at_database(workshop_file), transaction.atomic():
        client = at_the_bench("owner", "robin")
        begin()
        for design in Design.objects.all():  # left empty by a rule, which asks what is fitted elsewhere
            chip, other = design.positions.order_by("-spec__kind", "id")[:2]
            design.positions.filter(pk=other.pk).update(empty_when={"ref": chip.ref, "number": "6514"})

        def fetch(address: str) -> tuple[int, str, bytes]:
            answer = client.get(address)
            return answer.status_code, answer.headers.get("Content-Type", ""), answer.content

        looked_at = found(fetch, LOOKED_AT)
        pages = {name: each[:OF_EACH] for name, each in looked_at.items() if name and name not in APART}
        # Each was asked for before, to be found.
        few = {address: questions(client, address) for each in pages.values() for address in each}
        lots = Lot.objects.count()
        grow()
        for number in range(6):
            at_the_bench("bench", f"another{number}")
        assert Lot.objects.count() == 3 * lots

        def counted(address: str) -> tuple[str, Asked, Asked]:
            many = questions(client, address)
            if len(many.sql) > len(few[address].sql):  # what a process remembers for all pages is not counted
                many = questions(client, address)
            return address, few[address], many

        result = {name: [counted(address) for address in each] for name, each in pages.items()}
        transaction.set_rollback(True)
    return result


@pytest.mark.parametrize("name", sorted({*shown()} - APART))
def test_more_of_everything_takes_no_more_questions(counts: Counts, name: str) -> None:
    assert name in counts, f"no link of the demo leads to the page {name}"
    grown = {
        address: _more(few.sql, many.sql)
        for address, few, many in counts[name]
        if len(many.sql) > len(few.sql)
    }
    assert grown == {}


LONGER = (
    "now", "drawers", "lot", "boards", "board", "pins", "safe", "jobs", "job", "job-log", "job-report",
    "need", "shortages", "harvest", "buy", "try-board", "swaps",
)  # fmt: skip


@pytest.mark.parametrize("name", LONGER)
def test_there_is_more_on_the_page(counts: Counts, name: str) -> None:
    """The control: a page that shows nothing more has no occasion to ask oftener."""
    assert any(many.length > few.length + 40 for _address, few, many in counts[name])


def _more(few: list[str], many: list[str]) -> str:
    """The tables that are asked oftener, for whoever mends it."""
    oftener = Counter(map(_asked, many)) - Counter(map(_asked, few))
    return f"{len(few)} -> {len(many)}: {dict(oftener)}"


def _asked(sql: str) -> str:
    return re.sub(r"[0-9]+|'[^']*'", "_", sql.split(" FROM ")[-1])[:200]
