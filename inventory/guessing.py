"""A limit on guessing passwords, by the name that is tried and by the address that tries.

Each try is counted before its password is looked at, in a transaction that others wait for: of many at the
same moment no more get through than of many one after another.
"""

import unicodedata
from datetime import timedelta

from django.db import connection, transaction
from django.utils import timezone

from inventory.models import SignInFailure

WAIT = timedelta(minutes=10)
MAX_FAILURES_OF_A_NAME = 8
"""Wrong passwords for one name from one address before it must wait; others are not kept out by it."""
MAX_FAILURES_OF_AN_ADDRESS = 40
"""Wrong passwords from one address, whatever the names."""
ANYWHERE = ""
"""In place of an address: what may not be guessed at from many addresses either."""
_LOCK = 7301983


def may_try(address: str, name: str) -> bool:
    """Whether this may be tried now; then it counts as wrong until `forget` is called.

    From `ANYWHERE` only the name has a limit.
    """
    name = as_signed_in_with(name)
    with transaction.atomic():
        if connection.vendor == "postgresql":  # SQLite locked everything at BEGIN
            with connection.cursor() as cursor:
                cursor.execute("SELECT pg_advisory_xact_lock(%s)", [_LOCK])
        SignInFailure.objects.filter(at__lt=timezone.now() - WAIT).delete()
        tried = SignInFailure.objects.filter(address=address)
        if (address != ANYWHERE and tried.count() >= MAX_FAILURES_OF_AN_ADDRESS) or tried.filter(
            name=name
        ).count() >= MAX_FAILURES_OF_A_NAME:
            return False
        SignInFailure.objects.create(address=address, name=name)
        return True


def forget(address: str, name: str) -> None:
    """It was right: what was tried before for this name from there counts no more."""
    SignInFailure.objects.filter(address=address, name=as_signed_in_with(name)).delete()


def as_signed_in_with(name: str) -> str:
    """The name that a typed one signs in with (NFKC, as Django's own form has it), in small letters."""
    return unicodedata.normalize("NFKC", name.replace("\0", "").strip()).strip().casefold()[:150]
