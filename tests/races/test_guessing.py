"""Of many guesses at one moment no more get through than of many one after another; a code signs in once."""

import time
from concurrent.futures import ThreadPoolExecutor

import pyotp
import pytest
from django.contrib.auth.models import User
from django.db import connections

from inventory.guessing import MAX_FAILURES_OF_A_NAME, may_try
from inventory.models import SignInFailure
from inventory.people import add_person
from inventory.second_factor import RECOVERY_CODES, STEP, confirm, offer, takes

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


def test_a_code_and_a_recovery_code_are_taken_once_of_sixteen_at_once() -> None:
    robin = add_person("robin", role="owner", password="three-clipped-leads")
    totp = pyotp.TOTP(offer(robin))
    now = int(time.time())
    codes = confirm(robin, totp.at(now - STEP))
    assert codes is not None

    def take(typed: str) -> bool:
        try:
            return takes(User.objects.get(), typed)
        finally:
            connections.close_all()

    for typed in (totp.at(now), codes[0]):
        with ThreadPoolExecutor(16) as crowd:
            assert sum(crowd.map(take, [typed] * 16)) == 1
    assert robin.recovery_codes.count() == RECOVERY_CODES - 1
