"""The open needs that a lot would serve, best first and with the reasons."""

from decimal import Decimal
from typing import Any

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext

from inventory.models import Holding, Lot
from inventory.spec import Spec
from repairs import reservations
from tests.api.test_problems import refused
from tests.factories import JobFactory, NeedFactory, PartFactory, spec, stock

pytestmark = pytest.mark.django_db


def film(volts: int, value: str = "100n") -> Spec:
    return spec("capacitor", value, volts=Decimal(volts), dielectric="film", lead_style="radial")


def lot(of: Spec, quantity: int = 1, condition: str = "good") -> Holding:
    return stock(quantity, part=PartFactory(of=of), condition=condition)


def wanted(client: Any, here: Holding, query: str = "") -> list[dict[str, Any]]:
    answer = client.get(f"/api/v1/lots/{here.lot_id}/wanted/{query}")
    assert answer.status_code == 200, answer.content
    rows: list[dict[str, Any]] = answer.json()["results"]
    return rows


def test_the_best_fit_comes_first_then_the_job_that_comes_first(bench: Any) -> None:
    higher = NeedFactory(of=film(63), job=JobFactory(priority=1), ref="C1")
    patient = NeedFactory(of=film(100), job=JobFactory(priority=4))
    urgent = NeedFactory(of=film(100), job=JobFactory(priority=2, due="2026-12-20"))
    rows = wanted(bench, lot(film(100)))
    assert [(row["need"], row["grade"]) for row in rows] == [
        (urgent.pk, "same"),
        (patient.pk, "same"),
        (higher.pk, "drop_in"),
    ]
    assert (rows[0]["priority"], rows[0]["due"], rows[0]["lacking"]) == (2, "2026-12-20", 1)
    assert (rows[2]["ref"], rows[2]["job_name"]) == ("C1", higher.job.name)
    volts = next(reason for reason in rows[2]["reasons"] if reason["property"] == "volts")
    assert (volts["required"], volts["offered"], volts["grade"]) == ("63 V", "100 V", "drop_in")


def test_what_it_would_not_serve_is_left_out(bench: Any) -> None:
    NeedFactory(of=film(250))
    NeedFactory(of=film(63, "220n"))
    NeedFactory(of=spec("resistor", "4k7"))
    assert wanted(bench, lot(film(100))) == []


def test_a_need_that_has_its_pieces_or_whose_job_waits_wants_nothing(bench: Any) -> None:
    here = lot(film(63), 9)
    met = NeedFactory(of=film(63), quantity=2)
    reservations.reserve(met, here, 2, by=None)
    half = NeedFactory(of=film(63), quantity=2)
    reservations.reserve(half, here, 1, by=None)
    NeedFactory(of=film(63), job=JobFactory(status="parked"))
    NeedFactory(of=film(63), status="dropped")
    assert [(row["need"], row["lacking"]) for row in wanted(bench, here)] == [(half.pk, 1)]


def test_a_suspect_piece_is_tested_first_and_a_faulty_one_serves_nobody(bench: Any) -> None:
    NeedFactory(of=film(63))
    [row] = wanted(bench, lot(film(63), condition="suspect"))
    assert row["grade"] == "ask"
    assert "tested" in next(reason["rule"] for reason in row["reasons"] if reason["property"] == "condition")
    assert wanted(bench, lot(film(63), condition="faulty")) == []


def test_a_suspect_piece_that_was_measured_serves_what_its_reading_says(bench: Any) -> None:
    need = NeedFactory(of=spec("resistor", "120k", tolerance_percent=Decimal(5)))
    here = lot(spec("resistor", "100k", tolerance_percent=Decimal(5)), condition="suspect")
    assert wanted(bench, here) == []
    Lot.objects.filter(pk=here.lot_id).update(measured=122_000 * 10**6)
    (row,) = wanted(bench, here)
    assert (row["need"], row["grade"]) == (need.pk, "with_note")


def test_what_was_measured_counts_for_the_value(bench: Any) -> None:
    """An aged part reads high and is judged by its reading (common practice, no source)."""
    drifted = NeedFactory(of=spec("resistor", "120k", tolerance_percent=Decimal(5)))
    marked = NeedFactory(of=spec("resistor", "100k", tolerance_percent=Decimal(5)))
    here = lot(spec("resistor", "100k", tolerance_percent=Decimal(10)))
    type(here.lot).objects.filter(pk=here.lot_id).update(measured=122_000 * 10**6)
    served = [row["need"] for row in wanted(bench, here)]
    assert drifted.pk in served
    assert marked.pk not in served


def test_it_comes_in_pages_and_needs_a_lot_that_is_there(bench: Any, stranger: Any) -> None:
    for _ in range(3):
        NeedFactory(of=film(63))
    here = lot(film(63))
    body = bench.get(f"/api/v1/lots/{here.lot_id}/wanted/?page_size=2&page=2").json()
    assert (body["count"], len(body["results"]), body["next"]) == (3, 1, None)
    refused(bench.get("/api/v1/lots/999999/wanted/"), 404)
    refused(bench.get("/api/v1/lots/x/wanted/"), 404)
    refused(bench.get(f"/api/v1/lots/{here.lot_id}/wanted/?colour=red"), 400)
    refused(bench.get(f"/api/v1/lots/{here.lot_id}/wanted/?page_size=0"), 400)
    refused(bench.post(f"/api/v1/lots/{here.lot_id}/wanted/", {}), 405)
    refused(stranger.get(f"/api/v1/lots/{here.lot_id}/wanted/"), 401)


def test_the_queries_do_not_grow_with_the_needs(bench: Any) -> None:
    here = lot(film(63))

    def queries() -> int:
        with CaptureQueriesContext(connection) as taken:
            wanted(bench, here)
        return len(taken)

    NeedFactory(of=film(63))
    queries()
    few = queries()
    for volts in (16, 25, 50):
        NeedFactory(of=film(volts))
    assert queries() == few
