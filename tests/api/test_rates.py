"""How many requests one person may make: counted once, whichever process answers."""

import os
import subprocess
import sys
from pathlib import Path
from typing import Any

import pytest
from django.conf import settings
from rest_framework.throttling import UserRateThrottle

from inventory.api import rates
from tests.api.test_problems import refused

PARTS = "/api/v1/parts/"


class Clock:
    now = 1_200_000_000.0
    """The start of a minute."""

    def time(self) -> float:
        return self.now


@pytest.fixture
def clock(monkeypatch: pytest.MonkeyPatch) -> Clock:
    clock = Clock()
    monkeypatch.setattr(rates, "time", clock)
    return clock


@pytest.fixture
def six_a_minute(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(UserRateThrottle, "THROTTLE_RATES", {"user": "6/min"})


def test_too_many_requests_are_429_and_the_time_to_wait_is_enough(
    viewer: Any, bench: Any, clock: Clock, six_a_minute: None
) -> None:
    clock.now += 30
    assert [viewer.get(PARTS).status_code for _ in range(6)] == [200] * 6
    answer = viewer.get(PARTS)
    wait = refused(answer, 429)["retry_after"]
    assert wait == int(answer.headers["Retry-After"]) > 0
    assert bench.get(PARTS).status_code == 200  # another person
    clock.now += wait - 2
    refused(viewer.get(PARTS), 429)
    clock.now += 3
    assert viewer.get(PARTS).status_code == 200


@pytest.mark.parametrize(("first", "then"), [(0, 59), (30, 30), (59, 1)])
def test_no_minute_however_it_is_cut_takes_much_more_than_the_rate(
    viewer: Any, clock: Clock, six_a_minute: None, first: int, then: int
) -> None:
    """A counter that starts anew with each minute would take twice the rate around its end."""
    clock.now += first
    taken = sum(viewer.get(PARTS).status_code == 200 for _ in range(10))
    clock.now += then
    taken += sum(viewer.get(PARTS).status_code == 200 for _ in range(10))
    assert taken <= 7


def test_after_a_minute_of_rest_and_with_a_clock_set_back_the_whole_rate_is_there(
    viewer: Any, clock: Clock, six_a_minute: None
) -> None:
    for step in (0, 120, -3600):
        clock.now += step
        assert [viewer.get(PARTS).status_code for _ in range(7)] == [200] * 6 + [429]


@pytest.mark.parametrize("what", ["a folder", "no database"])
def test_a_file_that_cannot_be_used_keeps_nobody_out_and_a_process_still_counts(
    viewer: Any, settings: Any, tmp_path: Path, six_a_minute: None, what: str
) -> None:
    from django.core.cache import cache

    cache.clear()
    settings.HOME = tmp_path
    if what == "a folder":
        (tmp_path / "rates.sqlite3").mkdir()
    else:
        (tmp_path / "rates.sqlite3").write_bytes(b"not a database" * 99)
    assert [viewer.get(PARTS).status_code for _ in range(7)] == [200] * 6 + [429]
    if what == "no database":  # it was made anew, and counts for all processes
        assert (tmp_path / "rates.sqlite3").read_bytes().startswith(b"SQLite format 3")


ONE_OF_MANY = """
import sys, types
import django
django.setup()
from django.conf import settings
settings.HOME = sys.argv[1]
from inventory.api import rates
rates.time = types.SimpleNamespace(time=lambda: 1_200_000_010.0)
rates.SharedRate.THROTTLE_RATES = {"user": "100/min"}
person = types.SimpleNamespace(is_authenticated=True, pk=7)
request = types.SimpleNamespace(user=person)
sys.stdin.readline()
print(sum(rates.SharedRate().allow_request(request, None) for _ in range(60)))
"""


def test_four_processes_at_once_let_through_what_one_would(tmp_path: Path) -> None:
    crowd = [
        subprocess.Popen(
            [sys.executable, "-c", ONE_OF_MANY, str(tmp_path)], text=True, cwd=settings.BASE_DIR,
            stdin=subprocess.PIPE, stdout=subprocess.PIPE,
            env={**os.environ, "DJANGO_SETTINGS_MODULE": "config.settings", "REHOME_HOME": str(tmp_path)},
        )
        for _process in range(4)
    ]  # fmt: skip
    for one in crowd:
        assert one.stdin is not None
        one.stdin.write("go\n")
        one.stdin.flush()
    let_through = [int(one.communicate(timeout=120)[0]) for one in crowd]
    assert sum(let_through) == 100
    assert (tmp_path / "rates.sqlite3").exists()
