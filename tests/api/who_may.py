"""Tables of who may do what: an address, what is sent, and the status for each person."""

from typing import Any

import pytest

from inventory.roles import ROLES
from tests.api.test_problems import refused

May = tuple[str, str, dict[str, Any] | None, tuple[int, int, int, int]]
"""Method, path, body; then the status for owner, bench, viewer and for nobody.  `{lot}` is filled in."""
PEOPLE = (*ROLES, "stranger")


def assert_may(
    request: pytest.FixtureRequest, person: str, row: May, there: dict[str, int], under: str = ""
) -> None:
    """Send what a row says as this person; whatever is refused is a problem as every refusal is."""
    method, path, body, statuses = row
    sent = body and {name: _filled_in(value, there) for name, value in body.items()}
    answer = getattr(request.getfixturevalue(person), method)(under + path.format(**there), sent)
    expected = statuses[PEOPLE.index(person)]
    assert answer.status_code == expected, answer.content
    if expected >= 400:
        refused(answer, expected)


def _filled_in(value: Any, there: dict[str, int]) -> Any:
    return there[value[1:-1]] if isinstance(value, str) and value.startswith("{") else value
