"""What PostgreSQL knows of its tables: statistics of empty ones must not make a promise slow."""

import json
from collections.abc import Iterator
from typing import Any

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext

from inventory.models import Holding, Lot, Part, Place, StoredSpec
from repairs import reservations
from tests.factories import NeedFactory, spec

pytestmark = pytest.mark.both_databases
LOTS = 1500


@pytest.fixture
def bench_analysed_empty(db: None) -> Iterator[Holding]:
    """A bench that was filled, emptied and analysed, as when a demo is taken out, and filled again."""
    if connection.vendor != "postgresql":
        pytest.skip("SQLite plans without statistics here")
    fill()
    for model in (Holding, Lot, Part, Place, StoredSpec):
        model._default_manager.exclude(
            **({"type__in": ["scrap", "outside"]} if model is Place else {})
        ).delete()
    with connection.cursor() as cursor:
        cursor.execute("ANALYZE")
        yield fill()
        cursor.execute("ANALYZE")  # what was counted outlives the rollback, and the tests after this one


def fill() -> Holding:
    """Thousands of lots, each of its own part in a drawer of its own; one of the holdings."""
    specs = StoredSpec.objects.bulk_create(
        StoredSpec.unsaved(spec("resistor", str(1000 + number))) for number in range(LOTS)
    )
    parts = Part.objects.bulk_create(Part(spec=each, name=f"R {each.pk}") for each in specs)
    lots = Lot.objects.bulk_create(Lot(part=part) for part in parts)
    names = [f"D {number}" for number in range(LOTS)]
    drawers = Place.objects.bulk_create(Place(name=name, type=Place.Type.DRAWER) for name in names)
    held = Holding.objects.bulk_create(
        Holding(lot=lot, place=drawer, quantity=3) for lot, drawer in zip(lots, drawers, strict=True)
    )
    return held[LOTS // 2]


def rows_read(plan: dict[str, Any]) -> int:
    """How many rows a plan looked at in tables and indexes."""
    own = 0
    if "Scan" in plan["Node Type"] and plan["Node Type"] != "Bitmap Heap Scan":
        own = (
            plan["Actual Rows"]
            + plan.get("Rows Removed by Filter", 0)
            + plan.get("Rows Removed by Index Recheck", 0)
        )
        own *= plan["Actual Loops"]
    return own + sum(rows_read(below) for below in plan.get("Plans", ()))


def test_a_promise_looks_at_few_rows_whatever_was_counted_before(bench_analysed_empty: Holding) -> None:
    need = NeedFactory(spec=bench_analysed_empty.lot.part.spec)
    with CaptureQueriesContext(connection) as asked:
        reservations.reserve(need, bench_analysed_empty, 1, by=None)
    reads = [each["sql"] for each in asked if each["sql"].startswith("SELECT")]
    looked_at = {}
    with connection.cursor() as cursor:
        for sql in reads:
            cursor.execute(f"EXPLAIN (ANALYZE, FORMAT JSON) {sql}")
            answer = cursor.fetchone()[0]
            plan = (json.loads(answer) if isinstance(answer, str) else answer)[0]["Plan"]
            looked_at[sql] = rows_read(plan)
    assert reads
    assert {sql: rows for sql, rows in looked_at.items() if rows > 100} == {}
