"""What the tests of the API share."""

from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest


@pytest.fixture(autouse=True)
def _own_pictures(settings: Any, tmp_path: Path) -> None:
    """Pictures of a test go with it."""
    settings.MEDIA_ROOT = tmp_path / "pictures"


@pytest.fixture(autouse=True)
def _unhurried() -> Iterator[None]:
    """Requests of one test are not counted against the next: people come back with the same id."""
    from inventory.api import rates

    rates.forget()
    yield
    rates.forget()


@pytest.fixture
def adds_up(db: None) -> Iterator[None]:
    """Whatever a test did, holdings and promises are what the movements and reservations make them."""
    from repairs.audit import audit

    yield
    assert audit() == []
