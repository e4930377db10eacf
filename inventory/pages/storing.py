"""Drawers, trays and people to lend to: made one by one or in rows, renamed, moved, removed."""

from typing import Any, ClassVar

from django import forms
from django.db import transaction
from django.db.models import ProtectedError
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.urls import reverse

from inventory.models import Place
from inventory.pages.drawers import KEPT, storage
from inventory.pages.frame import notify, page
from inventory.pages.picking import PickedField
from inventory.places import DEEPEST, SEPARATOR, PlaceLoop, names_of_row, paths, put_within
from inventory.roles import OWNER

MADE_HERE = (*KEPT, Place.Type.PERSON)


class PlaceForm(forms.ModelForm):  # type: ignore[type-arg]
    """What stands on it, what it is and what it is inside; a new one may be a row, `A1-A12`."""

    within = PickedField(Place.objects.all(), of="drawers")

    class Meta:
        model = Place
        fields = ("name", "type", "within", "note")
        error_messages: ClassVar = {"name": {"required": "Write down what is printed on it."}}

    names: list[str]

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.fields["note"].required = False

    def clean_name(self) -> str:
        name: str = self.cleaned_data["name"]
        try:
            self.names = [name] if self.instance.pk else names_of_row(name)
        except ValueError as wrong:
            raise forms.ValidationError(str(wrong)) from None
        return name

    def clean_type(self) -> str:
        kind: str = self.cleaned_data["type"]
        before = self.instance.type if self.instance.pk else kind
        if kind not in MADE_HERE:
            raise forms.ValidationError("A place made here is a drawer, a tray or a person.")
        if (kind in KEPT) != (before in KEPT):
            raise forms.ValidationError(f"A {before} does not become a {kind}: make another.")
        return kind

    def clean_within(self) -> Place | None:
        above: Place | None = self.cleaned_data["within"]
        if above is None:
            return None
        if above.type not in KEPT:
            raise forms.ValidationError("It can be inside a drawer or a tray.")
        if paths()[above.pk].count(SEPARATOR) + 2 > DEEPEST:
            raise forms.ValidationError(f"Places can be nested at most {DEEPEST} deep.")
        return above

    def clean(self) -> None:
        above = self.cleaned_data.get("within")
        names = getattr(self, "names", []) if "name" in self.cleaned_data else []
        others = Place.objects.filter(name__in=names, within=above).exclude(pk=self.instance.pk)
        for there in others[:1]:
            where = f"{there.name} is in {above.name}" if above else f"{there.name} is there"
            self.add_error(
                "name", f"{where} already: open it in the drawers, or write something else on this."
            )

    def make(self) -> list[Place]:
        """The new places: one, or a row of them."""
        data = {name: self.cleaned_data[name] for name in ("type", "within", "note")}
        with transaction.atomic():
            return [Place.objects.create(name=name, **data) for name in self.names]

    def change(self) -> Place:
        """The place as it is now called and where it now is.  PlaceLoop where it would lie inside itself."""
        place: Place = self.instance
        with transaction.atomic():
            put_within(place, self.cleaned_data["within"])
            place.version += 1
            place.save(update_fields=["name", "type", "note", "version"])
        return place


@page("POST")
def make_place(request: HttpRequest) -> HttpResponse:
    """A new drawer, tray or person to lend to; `A1-A12` makes a row."""
    form = PlaceForm(request.POST)
    if not form.is_valid():
        return _form(request, form)
    made = form.make()
    kind, first, last = made[0].type, made[0].name, made[-1].name
    many = "people" if kind == Place.Type.PERSON else f"{kind}s"
    notify(
        request, f"{first} is made." if first == last else f"{len(made)} {many} are made: {first} to {last}."
    )
    inside = made[0].within_id
    return redirect(f"{reverse('drawers')}?place={inside}" if inside else "drawers")


@page("GET", "HEAD", "POST")
def change_place(request: HttpRequest, pk: int) -> HttpResponse:
    """Another name, another place to stand, another note."""
    place = get_object_or_404(Place, pk=pk, type__in=MADE_HERE)
    form = PlaceForm(request.POST or None, instance=place)
    if request.method != "POST" or not form.is_valid():
        return _form(request, form, place, status=400 if form.errors else 200)
    try:
        changed = form.change()
    except PlaceLoop as loop:
        form.add_error("within", f"{loop}.")
        return _form(request, form, place)
    notify(request, f"{changed.name} is changed.")
    return redirect(f"{reverse('drawers')}?place={pk}")


@page("POST", writes=OWNER)
def remove_place(request: HttpRequest, pk: int) -> HttpResponse:
    """Gone, where nothing ever lay in it; a place with a history is kept for what it says of parts."""
    place = get_object_or_404(Place, pk=pk, type__in=MADE_HERE)
    try:
        place.delete()
    except ProtectedError:
        form = PlaceForm(instance=place)
        wrong = f"{place.name} stays: something is or was in it, and the history of parts names it."
        return _form(request, form, place, wrong=wrong)
    notify(request, f"{place.name} is removed.")
    return redirect("drawers")


def _form(
    request: HttpRequest, form: PlaceForm, place: Place | None = None, *, wrong: str = "", status: int = 400
) -> HttpResponse:
    where = paths()
    choices = {
        "form": form,
        "place": place,
        "wrong": wrong,
        "storage": [(pk, path) for pk, path in storage(where) if place is None or pk != place.pk],
        "types": MADE_HERE,
    }
    return render(request, "bench/place.html", choices, status=status)
