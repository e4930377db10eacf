"""The plan is shared between requests: whoever asks, and whatever for, finds it as it was."""

from collections.abc import Iterator

import pytest
from django.test import Client

from inventory import unchanged
from repairs.answers.shortages import shortages
from repairs.models import Job, Need
from repairs.supply_and_demand import planned
from tests.pages.conftest import at_the_bench

pytestmark = pytest.mark.django_db


@pytest.fixture
def one_state(monkeypatch: pytest.MonkeyPatch) -> Iterator[None]:
    """As outside of a test's transaction while nothing is committed."""
    monkeypatch.setattr(unchanged._STATES, "now", lambda: "nothing changes")
    yield
    unchanged._ANSWERS.find("another state", "so that all is dropped")


def result() -> list[str]:
    """Everything that is shared, in full."""
    return [
        repr(each)
        for borrow in (False, True)
        for ask in (False, True)
        for bench, plan in [planned(borrow=borrow, ask=ask)]
        for each in (
            bench.jobs, bench.lines, bench.shelves, bench.demands, bench.supplies, plan,
            shortages(borrow=borrow, ask=ask),
        )
    ]  # fmt: skip


ASKED = (
    "/", "/shortages/", "/shortages/?all=1", "/shortages/?borrow=1", "/shortages/lift/", "/shortages/buy/",
    "/shortages/what-if/", "/jobs/{job}/", "/needs/{need}/", "/shortages/{spec}/", "/api/v1/shortages/",
    "/api/v1/shortages/?job={job}", "/api/v1/shortages/?borrow=true&ask=true&page=1&page_size=5",
    "/api/v1/shortages/?assume=park:{job}", "/api/v1/shortages/?assume=borrow&assume=priority:{job}:1",
    "/api/v1/shortages/?format=csv", "/api/v1/boards/harvest/", "/api/v1/buy/",
    "/api/v1/buy/?borrow=true&ask=true",
    "/api/v1/needs/{need}/made-up/", "/api/v1/made-up/?requirement={spec}", "/api/v1/needs/{need}/why/",
)  # fmt: skip


@pytest.mark.usefixtures("workshop", "one_state")
def test_asking_changes_nothing_that_is_shared() -> None:
    client: Client = at_the_bench("owner", "mistral")
    before = result()
    need = Need.objects.filter(status=Need.Status.OPEN, job__status=Job.Status.OPEN, fitted=0).first()
    assert need is not None
    for address in ASKED:
        asked = address.format(job=need.job_id, need=need.pk, spec=need.spec_id)
        answer = client.get(asked)
        assert answer.status_code == 200, f"{asked} answers {answer.status_code}: {answer.content[:300]!r}"
        assert result() == before, f"{asked} changed what others are shown"


@pytest.mark.usefixtures("workshop")
def test_what_is_shared_is_what_would_be_planned_anew(one_state: None) -> None:
    kept = result()
    assert planned() is planned()
    unchanged._ANSWERS.find("another state", "so that all is dropped")
    assert result() == kept
