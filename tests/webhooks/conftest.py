"""A receiver that webhooks may reach."""

import ipaddress
from collections.abc import Iterator
from datetime import datetime, timedelta
from typing import Any

import pytest
from django.utils import timezone

from repairs.webhooks import posting
from tests.webhooks.receiver import Receiver, receiving

HERE = [ipaddress.ip_network("127.0.0.1/32")]


@pytest.fixture
def receiver(settings: Any) -> Iterator[Receiver]:
    settings.WEBHOOK_NETWORKS = HERE
    with receiving() as there:
        yield there


class Clock:
    """The time that all of it goes by."""

    now = datetime.fromisoformat("2026-11-20T12:00:00+00:00")

    def tick(self, seconds: float) -> None:
        self.now += timedelta(seconds=seconds)

    def at(self, text: str) -> None:
        self.now = datetime.fromisoformat(f"{text}T12:00:00+00:00")


@pytest.fixture
def clock(monkeypatch: pytest.MonkeyPatch) -> Clock:
    made = Clock()
    monkeypatch.setattr(timezone, "now", lambda: made.now)
    monkeypatch.setattr(posting, "now", lambda: int(made.now.timestamp()))
    return made
