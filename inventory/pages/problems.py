"""What each code of a refusal means: where the `type` of a problem leads (RFC 9457, 3.1.1)."""

from collections.abc import Callable
from functools import wraps
from itertools import groupby
from operator import itemgetter

from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import render
from rest_framework.exceptions import AuthenticationFailed
from rest_framework.request import Request

from inventory.api.signing_in import KeyAuthentication
from inventory.pages.frame import page
from inventory.refusals import Code


def _by_key_too(view: Callable[..., HttpResponse]) -> Callable[..., HttpResponse]:
    """A program follows the type of a problem with the key that it asks the API by."""

    @wraps(view)
    def answered(request: HttpRequest, **which: str) -> HttpResponse:
        try:
            known = KeyAuthentication().authenticate(Request(request))
        except AuthenticationFailed:
            known = None
        if known is not None and request.method in ("GET", "HEAD"):
            request.user = known[0]
        return view(request, **which)

    return answered


@_by_key_too
@page()
def problems(request: HttpRequest) -> HttpResponse:
    """Every code, by its first letter."""
    codes = [(letter, list(group)) for letter, group in groupby(sorted(Code), key=itemgetter(0))]
    return render(request, "bench/problems.html", {"codes": codes})


@_by_key_too
@page()
def problem(request: HttpRequest, code: str) -> HttpResponse:
    """One code; 404 where there is none of that name."""
    found = next((each for each in Code if each == code), None)
    if found is None:
        raise Http404(f"no refusal has the code {code}")
    return render(request, "bench/problems.html", {"code": found})
