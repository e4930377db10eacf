"""What takes long to make, made once for all tests of a file: each works on it and leaves it as it was."""

from collections.abc import Iterator
from contextlib import contextmanager
from typing import Any


@contextmanager
def for_all_tests_of_a_file(django_db_blocker: Any) -> Iterator[None]:
    """A transaction that is taken back at the end; those of the tests, and of what they ask, stand inside it.

    For a fixture of the scope `module`, which has `django_db_setup` before it.
    """
    from django.db import transaction

    outermost = transaction.atomic()
    outermost._from_testcase = True  # as a test's own, within which those of the code are outermost
    with django_db_blocker.unblock(), outermost:
        yield
        transaction.set_rollback(True)
