"""Migrations that go back: what they may not lose is there, and what they forget is said in them."""

import json
import sqlite3
from collections.abc import Iterator
from contextlib import closing
from pathlib import Path
from typing import Any

import psycopg
import pytest

from tests.installed import Installation
from tests.postgres import NoServer, throwaway
from tests.upgrades.test_upgrades import sums_of

pytestmark = pytest.mark.xdist_group("upgrades")

BEFORE = "0018_asks_for_pieces"
"""Before whose an order and a design's file are were kept (0019, 0020)."""
WRITE = """
from django.contrib.auth.models import User
from inventory.models import Part, Design
from repairs.models import Purchase
from repairs.sharing_models import DesignRecord, DesignTaken, Friend
friend = Friend.objects.create(name="Fenland")
design, wren = Design.objects.first(), User.objects.create_user("wren")
Purchase.objects.create(part=Part.objects.first(), quantity=7, note="for wren", owner=wren)
seen = {"symptom": "no sync", "cause": "C5"}
DesignRecord.objects.create(design=design, what="seen", facts=seen, digest="1" * 64, friend=friend)
DesignTaken.objects.create(
    design=design, title="Tern", new=False, left_at=1, signed_by="Fenland", friend=friend
)
"""
COUNTS = (
    "SELECT count(*), sum(quantity) FROM repairs_purchase",
    "SELECT count(*), sum(left_at) FROM repairs_designtaken",
    "SELECT count(*) FROM repairs_designrecord",
    "SELECT count(*) FROM repairs_friend",
    "SELECT count(*) FROM inventory_lot",
    "SELECT count(*) FROM inventory_storedspec",
)


@pytest.fixture(params=["sqlite", "postgresql"])
def workshop(request: pytest.FixtureRequest, tmp_path: Path) -> Iterator[Installation]:
    if request.param == "sqlite":
        made = Installation(tmp_path / "workshop")
        made.begin(demo=True)
        yield made
        return
    try:
        with throwaway() as url:
            made = Installation(tmp_path / "workshop", url)
            made.done("demo", "--no-serve")
            yield made
    except NoServer as missing:
        pytest.skip(str(missing))


def answers(workshop: Installation, *queries: str) -> list[Any]:
    url = workshop.environment.get("DATABASE_URL")
    with closing(psycopg.connect(url) if url else sqlite3.connect(workshop.database)) as database:
        return [*sums_of(database.execute), *(database.execute(each).fetchall() for each in queries)]


def test_what_was_there_before_stays_and_comes_along_again(workshop: Installation) -> None:
    workshop.python(WRITE)
    before = answers(workshop, *COUNTS)

    workshop.done("migrate", "repairs", BEFORE, "-v0", "--no-backup")
    assert answers(workshop, *COUNTS) == before
    taken = "SELECT title, signed_by FROM repairs_designtaken WHERE title = 'Tern'"
    assert answers(workshop, taken)[-1] == [("Tern", "Fenland")]

    workshop.done("migrate", "-v0", "--no-backup")
    assert answers(workshop, *COUNTS) == before
    workshop.done("audit")
    forgotten = (
        "SELECT owner_id FROM repairs_purchase WHERE note = 'for wren'",
        "SELECT friend_id, friend_name FROM repairs_designtaken WHERE title = 'Tern'",
    )
    assert answers(workshop, *forgotten)[-2:] == [[(None,)], [(None, "")]], "as 0019 and 0020 say"


def test_rows_of_before_keep_the_name_of_their_friend(workshop: Installation) -> None:
    workshop.python(WRITE)
    workshop.done("migrate", "repairs", "0021_one_row_a_potentiometer", "-v0", "--no-backup")
    workshop.done("migrate", "-v0", "--no-backup")
    workshop.python('from repairs.sharing_models import Friend; Friend.objects.get(name="Fenland").delete()')
    told = "from repairs.sharing_models import *; import json; print(json.dumps([{}]))".format(
        "DesignRecord.objects.get(digest='1' * 64).credit, DesignTaken.objects.get(title='Tern').friend_name"
    )
    assert json.loads(workshop.python(told)) == ["by Fenland's file", "Fenland"]
    copy = workshop.home.parent / "copy.rehome"
    workshop.done("backup", str(copy))
    other = Installation(workshop.home.parent / "other")
    other.done("restore", str(copy), "--yes")
    assert json.loads(other.python(told)) == ["by Fenland's file", "Fenland"]
