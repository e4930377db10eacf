"""A form that is sent twice does its work once: a thumb that slips, a reload, a slow line."""

from collections.abc import Callable
from functools import wraps
from typing import Concatenate, ParamSpec
from uuid import uuid4

from django.contrib import messages
from django.contrib.auth.models import User
from django.db import transaction
from django.http import HttpRequest, HttpResponse

from inventory.api.once import forget_oldest
from inventory.models import ApiCall
from inventory.pages.frame import back, who, words

P = ParamSpec("P")
View = Callable[Concatenate[HttpRequest, P], HttpResponse]
DONE = "That is done already: the second press did nothing."


def new_token() -> str:
    """One for each form as it is drawn."""
    return uuid4().hex


def first_press(request: HttpRequest) -> bool:
    """Whether this form is sent for the first time; called in the transaction that does its work.

    A twin at the same moment waits for that transaction.  A form without a token is always new.
    """
    token = words(request, "once", 64)
    return not token or first_time(who(request), token)


def first_time(person: User, token: str) -> bool:
    """Whether what goes by this token is done for the first time; a twin waits, as above."""
    forget_oldest()
    _call, fresh = ApiCall.objects.get_or_create(
        user=person, key=_key(token), defaults={"fingerprint": "form", "status": 204}
    )
    return fresh


def is_done(person: User, token: str) -> bool:
    return ApiCall.objects.filter(user=person, key=_key(token)).exists()


def _key(token: str) -> str:
    return f"form {token}"


def once(view: View[P]) -> View[P]:
    """Run a page's POST in one transaction, once for each form as it was drawn.

    What refuses leaves nothing behind, so that the same form may be mended and sent again.
    """

    @wraps(view)
    def at_most_once(request: HttpRequest, /, *args: P.args, **kwargs: P.kwargs) -> HttpResponse:
        if request.method != "POST":
            return view(request, *args, **kwargs)
        with transaction.atomic():
            if not first_press(request):
                messages.success(request, DONE)
                return back(request)
            answer = view(request, *args, **kwargs)
            if answer.status_code >= 400:
                transaction.set_rollback(True)
        return answer

    return at_most_once
