"""How many questions an address asks the database."""

from typing import Any

from django.db import connection
from django.test.utils import CaptureQueriesContext


def queries(client: Any, address: str) -> int:
    """So many queries for one answer, which must be 200."""
    with CaptureQueriesContext(connection) as taken:
        assert client.get(address).status_code == 200
    return len(taken)
