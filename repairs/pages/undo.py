"""Undo: the movement that a line on the page named, reversed."""

from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404

from inventory.models import Movement
from inventory.pages.frame import back, page, say, who
from repairs.reservations import reverse


@page("POST")
def undo(request: HttpRequest, pk: int) -> HttpResponse:
    line = get_object_or_404(Movement.objects.select_related("lot__part"), pk=pk)
    reverse(line, by=who(request), note="undone")
    say(request, f"Undone: {line.kind} of {line.lot.part}.")
    return back(request)
