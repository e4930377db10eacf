"""What an address answers: read as a whole, made by a POST, or counted by the queries that it took."""

from typing import Any

from django.db import connection
from django.test.utils import CaptureQueriesContext


def read(client: Any, address: str) -> dict[str, Any]:
    """The answer to a GET, which must be 200."""
    answer = client.get(address)
    assert answer.status_code == 200, answer.content
    return dict(answer.json())


def ids(client: Any, address: str) -> list[int]:
    """The ids of the rows of a list, in its order."""
    return [row["id"] for row in read(client, address)["results"]]


def made(client: Any, address: str, **body: Any) -> dict[str, Any]:
    """What a POST made, which must be 201 and answer alike at the address that it names."""
    answer = client.post(address, body)
    assert answer.status_code == 201, answer.content
    row = dict(answer.json())
    assert client.get(answer.headers["Location"]).json() == row
    return row


def queries(client: Any, address: str) -> int:
    """So many queries for one answer, which must be 200."""
    with CaptureQueriesContext(connection) as taken:
        assert client.get(address).status_code == 200
    return len(taken)
