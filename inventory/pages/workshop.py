"""The settings of the whole bench, and what this program is."""

from django.conf import settings as django_settings
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render

from inventory.backups import USUAL_RULE
from inventory.bench_settings import SETTINGS, BadSettings, set_bench, settings_of_bench
from inventory.labels import STOCKS
from inventory.pages.frame import notify, page
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
            notify(request, "It is set.")
            return redirect("bench-settings")
    context = {
        "wrong": wrong,
        "now": now,
        "stocks": STOCKS.values(),
        "usual_rule": USUAL_RULE,
        "time_zone": django_settings.TIME_ZONE,
        "time_zone_source": django_settings.TIME_ZONE_SOURCE,
        "here": request.build_absolute_uri("/").rstrip("/"),
        "may_set": may_act_as(request.user, OWNER),
    }
    return render(request, "bench/settings.html", context, status=400 if wrong else 200)
