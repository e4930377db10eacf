"""Registering a board, and saying anew its name, what it is here for and its drawing."""

from typing import Any

from django import forms
from django.core.paginator import Paginator
from django.db.models import QuerySet
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render

from inventory import boards as registry
from inventory.ledger import Refused
from inventory.models import Board, Design, Place
from inventory.ownership import owned_by
from inventory.pages.frame import notify, number, page, who, words
from inventory.pages.once import once
from inventory.pages.picking import PickedField, designs_to_pick
from inventory.places import walking
from inventory.roles import BENCH, may_act_as

ON_A_PAGE = 60
NOTE = 4000

PURPOSES = (
    (Board.Purpose.DONOR, "to strip"),
    (Board.Purpose.UNDER_REPAIR, "to mend"),
    (Board.Purpose.WORKING, "it works"),
    (Board.Purpose.SCRAPPED, "scrapped"),
)
WORK_FIRST = (
    Board.Purpose.UNDER_REPAIR, Board.Purpose.DONOR, Board.Purpose.WORKING, Board.Purpose.SCRAPPED,
)  # fmt: skip


class BoardForm(forms.Form):
    name = forms.CharField(max_length=120)
    design = PickedField(Design.objects.all(), of="designs")
    purpose = forms.ChoiceField(choices=PURPOSES)
    note = forms.CharField(required=False, max_length=NOTE)
    surveyed = forms.BooleanField(required=False)

    board: Board | None = None
    """The board that is changed; none where one is registered."""

    def clean_name(self) -> str:
        name: str = self.cleaned_data["name"]
        taken = Place.objects.filter(name=name, within=None)
        if self.board is not None:
            taken = taken.exclude(pk=self.board.place_id)
        if taken.exists():
            raise forms.ValidationError("There is a board or a place of that name already.")
        return name

    def clean(self) -> None:
        if self.cleaned_data.get("surveyed") and not self.cleaned_data.get("design"):
            self.add_error("surveyed", "Without a design nobody knows what is on it: choose one.")


class BoardChangeForm(BoardForm):
    version = forms.IntegerField(min_value=1)


@page("GET", "HEAD", "POST")
@once
def boards(request: HttpRequest) -> HttpResponse:
    """All boards, those to mend first, and the form that registers one."""
    form = BoardForm(request.POST or None, initial={"design": number(request, "design") or None})
    if request.method == "POST" and form.is_valid():
        made = registry.register(by=who(request), **form.cleaned_data)
        notify(request, f"{made.name} is registered.")
        return redirect("board", made.pk)
    known = Board.objects.all()
    owner = words(request, "owner", 150)
    if owner:
        known = owned_by(known, owner, who(request))
    of_page = Paginator(_in_line(known), ON_A_PAGE).get_page(number(request, "page", 1))
    here = Board.objects.select_related("design", "owner").in_bulk(list(of_page))
    listed = [here[pk] for pk in of_page if pk in here]  # one may be gone since
    shown = {
        "owner": owner,
        "page": of_page,
        "listed": listed,
        "may_write": may_act_as(request.user, BENCH),
        **_form(form),
    }
    return render(request, "bench/boards.html", shown, status=400 if form.errors else 200)


def _in_line(boards: QuerySet[Board]) -> list[int]:
    """Those to mend first; then by name, as one counts: Hall 2 before Hall 10."""
    rows = boards.values_list("pk", "purpose", "name")
    ranks = {str(purpose): at for at, purpose in enumerate(WORK_FIRST)}
    return [pk for pk, _purpose, _name in sorted(rows, key=lambda row: (ranks[row[1]], walking(row[2])))]


@page("GET", "HEAD", "POST")
def change(request: HttpRequest, pk: int) -> HttpResponse:
    """What a board is called, what it is here for, and its drawing."""
    this = get_object_or_404(Board.objects.select_related("design"), pk=pk)
    form = BoardChangeForm(request.POST or None, initial=_as_it_is(this))
    form.board = this
    if request.method == "POST" and form.is_valid():
        data = form.cleaned_data
        try:
            registry.change(this, by=who(request), **data)
        except Refused as refusal:
            form.add_error(None, forms.ValidationError(refusal.detail, code=refusal.code))
        else:
            notify(request, f"{data['name']} is changed.")
            return redirect("board", pk)
    context = {"board": this, **_form(form)}
    return render(request, "bench/board-change.html", context, status=400 if form.errors else 200)


def _as_it_is(board: Board) -> dict[str, Any]:
    return {
        "name": board.name,
        "design": board.design_id,
        "purpose": board.purpose,
        "note": board.note,
        "version": board.version,
    }


def _form(form: BoardForm) -> dict[str, Any]:
    return {"form": form, "designs": designs_to_pick(), "purposes": PURPOSES}
