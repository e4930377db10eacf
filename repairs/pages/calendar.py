"""The calendar of what is due: its address for one's own calendar program, and the calendar itself."""

from django.http import HttpRequest, HttpResponse, HttpResponseNotFound
from django.shortcuts import render
from django.views.decorators.http import require_safe

from inventory.pages.frame import page
from repairs.calendar_feed import address_of, calendar, person_of, root_of


@page()
def calendar_page(request: HttpRequest) -> HttpResponse:
    """Where one's own is."""
    return render(request, "bench/calendar.html", {"address": address_of(request)})


@require_safe
def feed(request: HttpRequest, secret: str) -> HttpResponse:
    """The calendar, for whoever has its address."""
    if person_of(str(secret)) is None:
        text = "There is no such calendar: look for its new address under More.\n"
        return HttpResponseNotFound(text, content_type="text/plain; charset=utf-8")
    return HttpResponse(
        calendar(root_of(request)),
        content_type="text/calendar; charset=utf-8",
        headers={"Cache-Control": "private, max-age=300"},
    )
