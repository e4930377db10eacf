"""How a program says who it acts as: `Authorization: Token KEY`."""

from typing import Any

from django.contrib.auth.models import User
from rest_framework.authentication import TokenAuthentication
from rest_framework.exceptions import AuthenticationFailed

from inventory import keys
from inventory.models import AccessKey


class KeyAuthentication(TokenAuthentication):
    """The framework reads the header; the key is one of ours."""

    def authenticate_credentials(self, key: str) -> tuple[User, Any]:
        found: AccessKey | None = keys.find(key)
        if found is None:
            raise AuthenticationFailed("no such key: it was mistyped or revoked")
        if not found.person.is_active:
            raise AuthenticationFailed(f"{found.person.username} is shut out: an owner lets people in again")
        return found.person, found
