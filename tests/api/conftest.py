"""What the tests of the API share."""

from collections.abc import Iterator

import pytest


@pytest.fixture(autouse=True)
def _unhurried() -> Iterator[None]:
    """Requests of one test are not counted against the next: people come back with the same id."""
    from django.core.cache import cache

    cache.clear()
    yield
    cache.clear()
