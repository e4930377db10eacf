"""What takes long to make, made once for all tests of a file: each works on it and leaves it as it was."""

from collections.abc import Callable, Iterator
from contextlib import contextmanager
from typing import Any, TypeVar

Made = TypeVar("Made")

OPEN: list[Any] = []
"""The blocks of the transactions that are open for a file of tests: what is open between two of its tests."""


@contextmanager
def made_for_all_tests_of_a_file(make: Callable[[], Made], django_db_blocker: Any) -> Iterator[Made]:
    """What `make` makes, in a transaction that is taken back at the end; those of the tests stand inside it.

    For a fixture of the scope `module`, which has `django_db_setup` before it.  A test that does not ask for
    the database has none, as ever.
    """
    from django.db import transaction

    outermost = transaction.atomic()
    outermost._from_testcase = True  # as a test's own, within which those of the code are outermost
    with django_db_blocker.unblock():
        outermost.__enter__()
    OPEN.append(outermost)
    try:
        with django_db_blocker.unblock():
            made = make()
        yield made
    finally:
        if outermost in OPEN:  # else a test ended it, which is said of that test
            OPEN.remove(outermost)
            with django_db_blocker.unblock():
                transaction.set_rollback(True)
                outermost.__exit__(None, None, None)
