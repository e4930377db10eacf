"""Drawers: find by value, number, marking or place; the tree of places with what each holds."""

import re
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from typing import ClassVar

from django import forms
from django.core.paginator import Paginator
from django.db.models import Exists, OuterRef, Prefetch, Q
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render

from inventory import photos
from inventory.ledger import Refused
from inventory.models import Holding, Lot, Place
from inventory.pages.frame import number, page, say, words
from inventory.pages.life import life
from inventory.places import DEEPEST, SEPARATOR, find_or_make, named, names_in, paths, tree, walking, within
from inventory.roles import BENCH, may_act_as
from inventory.spec import KINDS, values_in_text
from inventory.stock import held_within, with_free
from inventory.traces import trace_lot

ON_A_PAGE = 40
MOST_PLACES = 12
UNFOLDED = 24
"""A tree of so many places is shown as it is."""
KEPT = (Place.Type.DRAWER, Place.Type.TRAY)
"""Where pieces are put away."""


_LOT = re.compile(r"\s*lot\s*([0-9]{1,9})\s*", re.IGNORECASE)


def found(typed: str) -> Q:
    """Lots that the words could mean: a value in any notation, a type, marking, name or maker, `lot 58`."""
    meant = Q()
    for kind, units in values_in_text(typed):
        meant |= Q(part__spec__kind=kind, part__spec__value=units)
    if said := _LOT.fullmatch(typed):  # as it stands on a bag
        meant |= Q(pk=int(said[1]))
    for column in ("part__name", "part__spec__number", "part__spec__text", "marking", "part__spec__make"):
        meant |= Q(**{f"{column}__icontains": typed})
    return meant


@page()
def drawers(request: HttpRequest) -> HttpResponse:
    """What was asked for; without a question, the cabinets."""
    asked_for = words(request, "q", 100)
    condition = request.GET.get("condition", "")
    kind = request.GET.get("kind", "")
    free = bool(request.GET.get("free"))
    place = Place.objects.filter(pk=number(request, "place")).first()
    # Asked of each lot: a join would bring one row for each holding, to be told apart afterwards.
    here = Holding.objects.filter(lot=OuterRef("pk"), quantity__gt=0)
    if place is not None:
        here = here.filter(place__in=within([place.pk]))
    lots = Lot.objects.filter(Exists(here)).order_by(
        "part__spec__kind", "part__spec__value", "part__name", "id"
    )
    if asked_for:
        lots = lots.filter(found(asked_for))
    if condition in Lot.Condition.values:
        lots = lots.filter(condition=condition)
    if kind in KINDS:
        lots = lots.filter(part__spec__kind=kind)
    if free:
        lots = with_free(lots)
    asked = bool(asked_for or place or condition in Lot.Condition.values or kind in KINDS or free)
    held = Prefetch("holdings", Holding.objects.filter(quantity__gt=0).order_by("id"))
    shown = Paginator(
        lots.select_related("part__spec", "origin_board").prefetch_related(held), ON_A_PAGE
    ).get_page(number(request, "page", 1))
    all_of_it = bool(place and not (asked_for or condition or kind or free))
    where, cabinets = paths(), _cabinets(place) if all_of_it or not asked else []
    levels = 1 if place else 2
    places = [] if place or not asked_for else _places(named(asked_for, where), where)
    return render(
        request,
        "bench/drawers.html",
        {
            "words": asked_for,
            "condition": condition,
            "conditions": Lot.Condition.values,
            "kind": kind,
            "kinds": KINDS,
            "free": free,
            "place": place,
            "where": where[place.pk] if place else "",
            "places": places[:MOST_PLACES],
            "more_places": len(places[MOST_PLACES:]),
            "asked": asked,
            "all_of_it": all_of_it,
            "page": shown,
            "labels": [(lot, [(h, where[h.place_id]) for h in lot.holdings.all()]) for lot in shown]
            if asked
            else [],
            "cabinets": cabinets,
            "tree": _folded(cabinets, levels),
            "levels": levels,
            "no_drawer": not any(each.place.type in KEPT for each in cabinets),
        },
    )


@dataclass(frozen=True)
class Inside:
    """A place in the tree: how deep it lies, and the lots and pieces in it and in everything within."""

    place: Place
    depth: int
    lots: int
    pieces: int
    path: str = ""


def _places(found: Iterable[int], where: Mapping[int, str]) -> list[Inside]:
    """Places by themselves, each with the path that leads to it."""
    known = Place.objects.exclude(type=Place.Type.OUTSIDE).in_bulk(list(found))
    held = held_within() if known else {}
    return [Inside(known[pk], 0, held[pk].lots, held[pk].pieces, where[pk]) for pk in found if pk in known]


def _cabinets(place: Place | None) -> list[Inside]:
    """The tree of places within, each before what is inside it."""
    places, contents = tree()
    held = held_within()
    found: list[Inside] = []
    waiting = [(pk, 0) for pk in reversed(contents[place.pk if place else None])]
    while waiting:
        pk, depth = waiting.pop()
        each = places[pk]
        if each.type in (Place.Type.BOARD, Place.Type.OUTSIDE):
            continue
        found.append(Inside(each, depth, held[pk].lots, held[pk].pieces))
        waiting += [(inner, depth + 1) for inner in reversed(contents[pk])]
    return found


Branch = tuple[Inside, list[tuple[Inside, int]]]
"""A place, and what lies deeper in it with the steps from the first of that."""


def _folded(cabinets: list[Inside], levels: int) -> list[Branch]:
    """The first levels of the tree; what lies deeper is folded away where there is much of it."""
    levels = levels if len(cabinets) > UNFOLDED else DEEPEST
    found: list[Branch] = []
    for each in cabinets:
        if each.depth < levels:
            found.append((each, []))
        else:
            found[-1][1].append((each, each.depth - levels))
    return found


@page()
def lot(request: HttpRequest, pk: int) -> HttpResponse:
    """One lot: its label, what it is promised to, and its life from the donor to now."""
    return lot_shown(request, pk)


def lot_shown(request: HttpRequest, pk: int, *, wrong: str = "", holding: int = 0) -> HttpResponse:
    """The page of a lot; where something was refused it says what, and keeps what was typed for `holding`."""
    this = get_object_or_404(Lot.objects.select_related("part__spec", "origin_board"), pk=pk)
    where = paths()
    trace = trace_lot(this)
    return render(
        request,
        "bench/lot.html",
        {
            "lot": this,
            "now": [(there.holding, where[there.holding.place_id], there.mixed) for there in trace.now],
            "life": life(trace, where),
            "storage": storage(where),
            "conditions": Lot.Condition.values,
            "photos": photos.of("lot", pk),
            "may_write": may_act_as(request.user, BENCH),
            "wrong": wrong,
            "typed": request.POST if holding else {},
            "typed_for": holding,
            "last_place": request.session.get("last_place", 0),
        },
        status=400 if wrong else 200,
    )


class PlaceForm(forms.ModelForm):  # type: ignore[type-arg]
    class Meta:
        model = Place
        fields = ("name", "type", "within")
        error_messages: ClassVar = {"name": {"required": "Write down what stands on it."}}

    def clean_type(self) -> str:
        kind: str = self.cleaned_data["type"]
        if kind not in (Place.Type.DRAWER, Place.Type.TRAY, Place.Type.PERSON):
            raise forms.ValidationError("A place made here is a drawer, a tray or a person.")
        return kind

    def clean_within(self) -> Place | None:
        above: Place | None = self.cleaned_data["within"]
        if above is None:
            return None
        if above.type not in (Place.Type.DRAWER, Place.Type.TRAY):
            raise forms.ValidationError("It can be inside a drawer or a tray.")
        if paths()[above.pk].count(SEPARATOR) + 2 > DEEPEST:
            raise forms.ValidationError(f"Places lie at most {DEEPEST} deep.")
        return above

    def clean(self) -> None:
        name, above = self.cleaned_data.get("name"), self.cleaned_data.get("within")
        if name and Place.objects.filter(name=name, within=above).exists():
            there = f"{name} is in {above.name}" if above else f"{name} is there"
            self.add_error(
                "name", f"{there} already: open it in the drawers, or write something else on this."
            )


@page("POST")
def make_place(request: HttpRequest) -> HttpResponse:
    """A new drawer, tray or person to lend to."""
    form = PlaceForm(request.POST)
    if not form.is_valid():
        told = {"form": form, "storage": storage(paths()), "types": Place.Type.values[:3]}
        return render(request, "bench/place.html", told, status=400)
    place = form.save()
    say(request, f"{place.name} is there.")
    return redirect("more")


def picked_place(request: HttpRequest, name: str) -> Place | None:
    """The place that a form picked, or the drawer whose name was typed, made where it is not there.

    Refused where the name cannot be that of a drawer.
    """
    typed = words(request, "new_place", 400)
    if not typed:
        return Place.objects.filter(pk=number(request, name)).first()
    longest = Place._meta.get_field("name").max_length or 0
    if any(len(each) > longest for each in names_in(typed)):
        raise Refused(
            "no_place", f"{typed[:40]}… is too long: a drawer's name has at most {longest} characters."
        )
    try:
        place = find_or_make(typed)
    except ValueError as error:
        raise Refused("no_place", str(error)) from None
    if place.type not in KEPT:
        raise Refused("no_place", f"{place.name} is no drawer: give the drawer another name.")
    return place


def storage(where: Mapping[int, str]) -> list[tuple[int, str]]:
    """Drawers and trays by path."""
    kept = Place.objects.filter(type__in=KEPT).values_list("id", flat=True)
    return sorted(((pk, where[pk]) for pk in kept), key=lambda pair: walking(pair[1]))
