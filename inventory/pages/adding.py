"""Add many parts at once: typed line by line, read as one goes, put away together."""

from django.db import transaction
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.urls import reverse

from inventory import adding
from inventory.adding import AddedLine, Chosen
from inventory.ledger import Refused
from inventory.models import Board, Lot, Place
from inventory.pages.drawers import KEPT, picked_place, storage, usual_place
from inventory.pages.frame import notify, number, page, who, words
from inventory.pages.once import first_press
from inventory.pages.picking import in_box
from inventory.part_lines import MAX_READINGS
from inventory.places import paths
from inventory.whole_numbers import whole_number

LONGEST = 20_000
LEFT_OUT = "out"


@page("GET", "HEAD", "POST")
def add_many(request: HttpRequest) -> HttpResponse:
    """A first press reads the lines; `land` puts away what was chosen, or says what stands against it.

    With `board` they came off that board, though nobody knows from which places.
    """
    text = adding.one_each(request.POST.get("lines", "").replace("\0", "")[:LONGEST])
    condition = request.POST.get("condition", "")
    condition = condition if condition in Lot.Condition.values else Lot.Condition.UNTESTED
    box = in_box(request, "place", Place.objects.filter(type__in=KEPT), "drawers")
    place = box.row
    board = Board.objects.filter(pk=number(request, "board")).first()
    lines = adding.read_lines(text)
    picks = {
        line.number: request.POST.get(f"pick{line.number}", "" if line.must_be_picked else "0")
        for line in lines
    }
    new_one = bool(words(request, "new_place", 400))
    named, wrong_place = place is not None or new_one, "" if new_one else box.wrong
    wrong = _wrong(lines, picks, named) if not wrong_place else ""
    if request.method == "POST" and "import" in request.POST and not (wrong or wrong_place):
        chosen = [
            adding.chosen(line, int(picks[line.number])) for line in lines if picks[line.number] != LEFT_OUT
        ]
        try:
            return _put_away(request, chosen, place, condition, board)
        except Refused as refusal:  # what was typed stays on the page
            wrong = refusal.detail
    shown = request.method == "POST" and ("import" in request.POST or not lines)
    return render(
        request,
        "bench/add-many.html",
        {
            "text": text,
            "board": board,
            "lines": [_shown(line, picks[line.number]) for line in lines],
            "wrong": wrong if shown else "",
            "storage": storage(paths()),
            "place": box if place or box.wrong else usual_place(request),
            "condition": condition,
            "conditions": Lot.Condition.values,
        },
        status=400 if wrong and shown or wrong_place else 200,
    )


def _put_away(
    request: HttpRequest, chosen: list[Chosen], place: Place | None, condition: str, board: Board | None
) -> HttpResponse:
    with transaction.atomic():
        made = []
        place = place or picked_place(request, "place")
        assert place is not None  # it is picked or named
        if first_press(request):
            made = adding.bring_in(chosen, place, condition=condition, by=who(request), board=board)
    request.session["last_place"] = place.pk
    if made:
        movements = [lot.movements.order_by("id")[0] for lot in made]
        notify(request, f"{len(made)} lot{'' if len(made) == 1 else 's'} in {place.name}.", movements)
    return redirect(f"{reverse('drawers')}?place={place.pk}")


def _shown(line: AddedLine, pick: str) -> dict[str, object]:
    number = whole_number(pick)
    picked = number if number is not None and number < len(line.readings) else None
    reading = line.readings[picked or 0] if line.readings else None
    return {
        "line": line,
        "pieces": line.pieces(picked or 0),
        "marking": adding.marking_of(reading) if reading else line.text,
        "words": reading.words if reading else line.words,
        "readings": [(str(at), text, at == picked) for at, text in enumerate(line.choices)],
        "left_out": pick == LEFT_OUT,
        "asks": line.must_be_picked and pick == "",
    }


def _wrong(lines: list[AddedLine], picks: dict[int, str], named: bool) -> str:
    """What stands against landing, in one sentence."""
    if not any(picks[line.number] != LEFT_OUT for line in lines):
        return "Type what you have, one line each."
    if not named:
        return "Say which drawer or tray they go into."
    open_ones = [line.number for line in lines if line.must_be_picked and picks[line.number] == ""]
    if open_ones:
        numbers = ", ".join(str(each) for each in open_ones[:10])
        return f"Line {numbers}: say which it is, or leave it out. Nothing was put away."
    known = {str(at) for at in range(MAX_READINGS)}
    bad = [
        line.number
        for line in lines
        if picks[line.number] != LEFT_OUT
        and (line.wrong or picks[line.number] not in known or int(picks[line.number]) >= len(line.readings))
    ]
    if bad:
        numbers = ", ".join(str(each) for each in bad[:10])
        return f"Line {numbers}: mend it or leave it out. Nothing was put away."
    return ""
