"""A form that is sent twice does its work once: a thumb that slips, a reload, a slow line."""

from uuid import uuid4

from django.http import HttpRequest

from inventory.api.once import forget_oldest
from inventory.models import ApiCall
from inventory.pages.frame import who, words


def new_token() -> str:
    """One for each form as it is drawn."""
    return uuid4().hex


def first_press(request: HttpRequest) -> bool:
    """Whether this form is sent for the first time; called in the transaction that does its work.

    A twin at the same moment waits for that transaction.  A form without a token is always new.
    """
    token = words(request, "once", 64)
    if not token:
        return True
    forget_oldest()
    _call, fresh = ApiCall.objects.get_or_create(
        user=who(request), key=f"form {token}", defaults={"fingerprint": "form", "status": 204}
    )
    return fresh
