"""Backups: how old the last is, one taken now, each to be fetched; for the owner."""

from typing import Any

from django.http import FileResponse, Http404, HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.urls import reverse

from inventory import backups
from inventory.bench_settings import settings_of_bench
from inventory.pages.frame import notify, page
from inventory.roles import OWNER


@page("GET", "HEAD", "POST", reads=OWNER, writes=OWNER)
def backups_page(request: HttpRequest) -> HttpResponse:
    rule = settings_of_bench().backups
    if request.method == "POST":
        taken = backups.take_dated(rule)
        notify(request, f"A backup was taken and checked: {taken.megabytes:.1f} MB.")
        return redirect("backups")
    there = {
        "backups": backups.dated(),
        "folder": backups.folder(),
        "last": backups.last_good(),
        "rule": rule or backups.USUAL_RULE,
    }
    return render(request, "bench/backups.html", there)


@page("GET", "HEAD", reads=OWNER)
def fetch(request: HttpRequest, name: str) -> Any:
    for each in backups.dated():
        if each.name == name:
            answer = FileResponse(each.path.open("rb"), as_attachment=True, filename=each.name)
            answer["Cache-Control"] = "private, no-store"
            answer["Content-Encoding"] = "identity"  # a page's compression would pack what is packed
            return answer
    raise Http404(reverse("backups"))
