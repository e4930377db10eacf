"""What a scraper reads is what the bench holds; read back by prometheus-client's own parser."""

from typing import Any

import pytest
from prometheus_client.parser import text_string_to_metric_families

from tests.factories import JobFactory, NeedFactory, stock


def read(client: Any) -> dict[tuple[str, str], float]:
    answer = client.get("/api/v1/metrics/")
    assert answer.status_code == 200, answer.content
    assert answer.headers["Content-Type"].startswith("text/plain")
    return {
        (sample.name, "".join(sample.labels.values())): sample.value
        for family in text_string_to_metric_families(answer.content.decode())
        for sample in family.samples
    }


@pytest.mark.django_db
def test_counts_are_what_the_bench_holds(owner: Any) -> None:
    stock(7)
    stock(2, condition="faulty")
    NeedFactory(quantity=3, job=JobFactory())
    read_now = read(owner)
    assert read_now["rehome_pieces", "good"] == 7
    assert read_now["rehome_pieces", "faulty"] == 2
    assert read_now["rehome_pieces", "untested"] == 0
    assert read_now["rehome_jobs", "open"] == 1
    assert read_now["rehome_pieces_lacking", ""] == 3
    assert read_now["rehome_movements_total", ""] == 2
    assert read_now["rehome_loans_open", ""] == read_now["rehome_reservations_held", ""] == 0
