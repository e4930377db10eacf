"""People in front of the pages."""

from collections.abc import Callable

import pytest
from django.test import Client


def at_the_bench(role: str, name: str = "") -> Client:
    """A browser in which a new person of this role is signed in; it checks the tokens of forms."""
    from inventory.roles import give_role
    from tests.factories import PersonFactory

    person = PersonFactory(username=name or f"page-{role}")
    give_role(person, role)
    client = Client()
    client.force_login(person)
    return client


@pytest.fixture
def sign_in(db: None) -> Callable[..., Client]:
    return at_the_bench
