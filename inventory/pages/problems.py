"""What each code of a refusal means: where the `type` of a problem leads (RFC 9457, 3.1.1)."""

from itertools import groupby
from operator import itemgetter

from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import render

from inventory.pages.frame import page
from inventory.refusals import Code


@page()
def problems(request: HttpRequest) -> HttpResponse:
    """Every code, by its first letter."""
    codes = [(letter, list(group)) for letter, group in groupby(sorted(Code), key=itemgetter(0))]
    return render(request, "bench/problems.html", {"codes": codes})


@page()
def problem(request: HttpRequest, code: str) -> HttpResponse:
    """One code; 404 where there is none of that name."""
    found = next((each for each in Code if each == code), None)
    if found is None:
        raise Http404(f"no refusal has the code {code}")
    return render(request, "bench/problems.html", {"code": found})
