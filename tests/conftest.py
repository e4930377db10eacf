"""What every test file shares."""

import pytest
from django.conf import settings
from rest_framework.authtoken.models import Token
from rest_framework.test import APIClient

from tests.factories import PersonFactory


def pytest_report_header() -> str:
    return f"database: {settings.DATABASES['default']['ENGINE'].rsplit('.', 1)[-1]}"


def signed_in(role: str) -> APIClient:
    """A client with the token of a new person of this role."""
    from inventory.roles import give_role

    person = PersonFactory(username=role)
    give_role(person, role)
    client = APIClient()
    client.credentials(HTTP_AUTHORIZATION=f"Token {Token.objects.create(user=person).key}")
    client.person = person
    return client


@pytest.fixture
def owner(db: None) -> APIClient:
    return signed_in("owner")


@pytest.fixture
def bench(db: None) -> APIClient:
    return signed_in("bench")


@pytest.fixture
def viewer(db: None) -> APIClient:
    return signed_in("viewer")


@pytest.fixture
def stranger() -> APIClient:
    """Nobody: no token, no session."""
    return APIClient()
