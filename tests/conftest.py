"""What every test file shares.  Imports of Django wait: the pure packages are tested without it too."""

from pathlib import Path
from typing import TYPE_CHECKING

import pytest
from hypothesis import HealthCheck, settings

if TYPE_CHECKING:
    from rest_framework.test import APIClient

# How long an example takes says something of the machine, not of the bench.
settings.register_profile("bench", deadline=None, suppress_health_check=[HealthCheck.too_slow])
settings.load_profile("bench")


def pytest_ignore_collect(collection_path: Path, config: pytest.Config) -> bool | None:
    """The browser's tests run where they are named: `test_in_a_browser.py` says why and names them."""
    theirs = collection_path.name == "browser" and collection_path.parent.name == "tests"
    return True if theirs and not any("browser" in named for named in config.args) else None


def signed_in(role: str) -> "APIClient":
    """A client with the token of a new person of this role."""
    from rest_framework.authtoken.models import Token
    from rest_framework.test import APIClient

    from inventory.roles import give_role
    from tests.factories import PersonFactory

    person = PersonFactory(username=role)
    give_role(person, role)
    client = APIClient()
    client.credentials(HTTP_AUTHORIZATION=f"Token {Token.objects.create(user=person).key}")
    client.person = person
    return client


@pytest.fixture
def owner(db: None) -> "APIClient":
    return signed_in("owner")


@pytest.fixture
def bench(db: None) -> "APIClient":
    return signed_in("bench")


@pytest.fixture
def viewer(db: None) -> "APIClient":
    return signed_in("viewer")


@pytest.fixture
def stranger() -> "APIClient":
    """Nobody: no token, no session."""
    from rest_framework.test import APIClient

    return APIClient()
