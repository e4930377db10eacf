"""Tables of who may do what: an address, what is sent, and the status for each person."""

from collections.abc import Sequence
from typing import Any

import pytest
from django.db import transaction

from inventory.roles import ROLES
from tests.api.test_problems import refused

May = tuple[str, str, dict[str, Any] | None, tuple[int, int, int, int]]
"""Method, path, body; then the status for owner, bench, viewer and for nobody.  `{lot}` is filled in."""
PEOPLE = (*ROLES, "stranger")


def assert_may(
    request: pytest.FixtureRequest, table: Sequence[May], there: dict[str, int], under: str = ""
) -> None:
    """Send what each row says as each person, each time to the same things; refusals are problems."""
    clients = {person: request.getfixturevalue(person) for person in PEOPLE}
    wrong = []
    # Deletions last: what they take from the disk no transaction brings back.
    for method, path, body, statuses in sorted(table, key=lambda row: row[0] == "delete"):
        sent = body and {name: _filled_in(value, there) for name, value in body.items()}
        for person, expected in zip(PEOPLE, statuses, strict=True):
            apart = transaction.atomic()
            apart._from_testcase = True  # as the test's own, within which those of the code are outermost
            with apart:
                answer = getattr(clients[person], method)(under + path.format(**there), sent)
                if answer.status_code != expected:
                    wrong.append((method, path, person, expected, answer.status_code, answer.content[:200]))
                elif expected >= 400:
                    refused(answer, expected)
                transaction.set_rollback(True)
    assert not wrong, wrong


def _filled_in(value: Any, there: dict[str, int]) -> Any:
    return there[value[1:-1]] if isinstance(value, str) and value.startswith("{") else value
