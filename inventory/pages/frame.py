"""What every page does the same way: who may see it, what a refusal looks like, and the line that undoes."""

from collections.abc import Callable, Sequence
from functools import wraps
from typing import Any, Concatenate, ParamSpec
from urllib.parse import urlsplit

from django.contrib import messages
from django.contrib.auth.decorators import login_required
from django.contrib.auth.models import User
from django.db.models import Model
from django.http import HttpRequest, HttpResponse, HttpResponseNotAllowed, HttpResponseRedirect
from django.shortcuts import render
from django.template.loader import render_to_string
from django.urls import Resolver404, resolve
from django.utils.http import url_has_allowed_host_and_scheme
from django.views.decorators.gzip import gzip_page

from inventory.ledger import Refused
from inventory.models import Movement
from inventory.roles import BENCH, VIEWER, may_act_as

P = ParamSpec("P")
View = Callable[Concatenate[HttpRequest, P], HttpResponse]


def page(*methods: str, reads: str = VIEWER, writes: str = BENCH) -> Callable[[View[P]], View[P]]:
    """A page for those who may act as `reads`; whatever it changes is changed by POST and by `writes`.

    A refusal that the view does not answer itself is said where the person came from, and nothing is changed.
    """

    answered = methods or ("GET", "HEAD")

    def decorate(view: View[P]) -> View[P]:
        @wraps(view)
        def guarded(request: HttpRequest, /, *args: P.args, **kwargs: P.kwargs) -> HttpResponse:
            least = writes if request.method == "POST" else reads
            if not may_act_as(request.user, least):
                return render(request, "bench/not-yours.html", {"least": least}, status=403)
            try:
                return view(request, *args, **kwargs)
            except Refused as refusal:
                messages.error(request, refusal.detail, extra_tags="refused")
                return back(request)

        @wraps(view)
        def asked(request: HttpRequest, /, *args: P.args, **kwargs: P.kwargs) -> HttpResponse:
            if request.method not in answered:  # a form's address, opened by itself
                told = HttpResponseNotAllowed(answered)
                if request.user.is_authenticated:
                    told.content = render_to_string("404.html", {"a_form": True}, request)
                return told
            return login_required(guarded)(request, *args, **kwargs)

        # Compressed although it holds the token of its forms: Django masks that anew in every answer, and
        # pads the answer by a random length besides, so that its size tells nothing of it (BREACH).
        outermost = gzip_page(asked)
        outermost.is_looked_at = "GET" in answered  # type: ignore[attr-defined]
        return outermost

    return decorate


def back(request: HttpRequest, otherwise: str = "/") -> HttpResponse:
    """To the page that the form named, if it is ours; else to where it came from, or `otherwise`."""
    for target in (request.POST.get("next", ""), request.headers.get("Referer", "")):
        ours = url_has_allowed_host_and_scheme(target, {request.get_host()}, request.is_secure())
        if target and ours and _is_looked_at(target):
            return HttpResponseRedirect(target)
    return HttpResponseRedirect(otherwise)


def _is_looked_at(target: str) -> bool:
    """Whether a browser that goes there sees a page: a refused form stands where nothing is looked at."""
    try:
        return bool(getattr(resolve(urlsplit(target).path).func, "is_looked_at", True))
    except Resolver404:
        return False


def say(
    request: HttpRequest,
    done: str,
    lines: Sequence[Movement] = (),
    promises: Sequence[Model] = (),
    seen: Sequence[Model] = (),
) -> None:
    """Say what was done; where it can be undone, in a line that stays on every page until the next action."""
    if lines or promises or seen:
        request.session["last"] = {
            "done": done,
            "lines": [line.pk for line in lines],
            "promises": [promise.pk for promise in promises],
            "seen": [f"{row._meta.model_name} {row.pk}" for row in seen],
        }
    else:
        request.session.pop("last", None)
        messages.success(request, done)


def who(request: HttpRequest) -> User:
    """The person at the bench; every page asks them to sign in first."""
    assert isinstance(request.user, User)
    return request.user


def number(request: HttpRequest, name: str, otherwise: int = 0) -> int:
    """A whole number that a form or an address gave; `otherwise` where it is none."""
    given: Any = request.POST.get(name, request.GET.get(name, ""))
    return int(given) if _is_whole(given) else otherwise


def numbers(request: HttpRequest, name: str) -> list[int]:
    """The whole numbers that a form gave under one name."""
    return [int(given) for given in request.POST.getlist(name) if _is_whole(given)]


def _is_whole(given: str) -> bool:
    return given.isascii() and given.isdigit() and len(given) < 10


def words(request: HttpRequest, name: str, most: int) -> str:
    """What was typed, without what no database keeps, and not longer than is kept."""
    given: str = request.POST.get(name, request.GET.get(name, ""))
    return given.replace("\0", "").strip()[:most]
