"""Of many guesses at the same moment no more get through than of many one after another."""

from concurrent.futures import ThreadPoolExecutor

import pytest
from django.db import connections

from inventory.guessing import MAX_FAILURES_OF_A_NAME, may_try
from inventory.models import SignInFailure

pytestmark = [pytest.mark.both_databases, pytest.mark.django_db(transaction=True, serialized_rollback=True)]


def _try(_number: int) -> bool:
    try:
        return may_try("192.0.2.7", "robin")
    finally:
        connections.close_all()


def test_thirty_two_at_once_are_eight_tries() -> None:
    with ThreadPoolExecutor(32) as crowd:
        let_through = list(crowd.map(_try, range(32)))
    assert sum(let_through) == MAX_FAILURES_OF_A_NAME == SignInFailure.objects.count()
