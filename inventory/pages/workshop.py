"""The settings of the whole bench, and what this program is."""

from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render

from inventory.bench_settings import SETTINGS, BadSettings, set_bench, settings_of_bench
from inventory.labels import STOCKS
from inventory.pages.frame import page, say
from inventory.roles import OWNER, may_act_as


@page("GET", "HEAD", "POST", writes=OWNER)
def settings(request: HttpRequest) -> HttpResponse:
    """What is set, and for the owner the form that sets it."""
    wrong: dict[str, str] = {}
    now: object = settings_of_bench()
    if request.method == "POST":
        try:
            set_bench({name: request.POST[name] for name in SETTINGS if name in request.POST})
        except BadSettings as refused:
            wrong, now = refused.problems, request.POST
        else:
            say(request, "It is set.")
            return redirect("bench-settings")
    told = {
        "wrong": wrong,
        "now": now,
        "stocks": STOCKS.values(),
        "here": request.build_absolute_uri("/").rstrip("/"),
        "may_set": may_act_as(request.user, OWNER),
    }
    return render(request, "bench/settings.html", told, status=400 if wrong else 200)
