"""Drawers: find by value, number, marking or place; the tree of places with what each holds."""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass

from django.core.paginator import Paginator
from django.db.models import Exists, OuterRef, Prefetch
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, render

from inventory.ledger import Refused
from inventory.lots import matching
from inventory.models import Holding, Lot, Movement, Place
from inventory.ownership import owned_by
from inventory.pages.attachments import files_of
from inventory.pages.frame import number, page, who, words
from inventory.pages.life import life
from inventory.pages.picking import picked
from inventory.pictures import photos
from inventory.places import DEEPEST, find_or_make, named, names_in, paths, tree, walking, within
from inventory.refusals import Code
from inventory.roles import BENCH, may_act_as
from inventory.spec import KINDS
from inventory.stock import held_within, with_free
from inventory.traces import trace_lot

ON_A_PAGE = 30
MAX_PLACES = 12
BRANCHES_ON_A_PAGE = 60
UNFOLDED = 24
"""A tree of so many places is shown as it is."""
KEPT = (Place.Type.DRAWER, Place.Type.TRAY)
"""Where pieces are put away."""


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
        lots = lots.filter(matching(asked_for))
    if condition in Lot.Condition.values:
        lots = lots.filter(condition=condition)
    if kind in KINDS:
        lots = lots.filter(part__spec__kind=kind)
    if free:
        lots = with_free(lots)
    owner = words(request, "owner", 150)
    if owner:
        lots = owned_by(lots, owner, who(request))
    asked = bool(asked_for or owner or place or condition in Lot.Condition.values or kind in KINDS or free)
    held = Prefetch("holdings", Holding.objects.filter(quantity__gt=0).order_by("id"))
    shown = Paginator(
        lots.select_related("part__spec", "origin_board", "owner").prefetch_related(held), ON_A_PAGE
    ).get_page(number(request, "page", 1))
    all_of_it = bool(place and not (asked_for or owner or condition or kind or free))
    where, cabinets = paths(), _cabinets(place) if all_of_it or not asked else []
    levels = 1
    branches = _folded(cabinets, levels)
    if not asked:
        of_tree = Paginator(branches, BRANCHES_ON_A_PAGE).get_page(number(request, "page", 1))
        branches = list(of_tree)
    makes_places = not asked and place is None and may_act_as(request.user, BENCH)
    labels = [(lot, [(h, where[h.place_id]) for h in lot.holdings.all()]) for lot in shown] if asked else []
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
            "owner": owner,
            "place": place,
            "where": where[place.pk] if place else "",
            "places": places[:MAX_PLACES],
            "more_places": len(places[MAX_PLACES:]),
            "asked": asked,
            "all_of_it": all_of_it,
            "page": shown if asked else of_tree,
            "ticking": bool(labels and request.GET.get("tick")) and may_act_as(request.user, BENCH),
            "all_ticked": request.GET.get("tick") == "all",
            "storage": storage(where) if request.GET.get("tick") or makes_places else [],
            "makes_places": makes_places,
            "types": [*KEPT, Place.Type.PERSON],
            "labels": labels,
            "alike": _alike(labels),
            "cabinets": cabinets,
            "tree": branches,
            "levels": levels,
            "no_drawer": not any(each.place.type in KEPT for each in cabinets),
        },
    )


Labelled = tuple[Lot, list[tuple[Holding, str]]]


def _alike(labels: Iterable[Labelled]) -> list[list[Labelled]]:
    """Lots of one part, marking, condition, owner and place together."""
    groups: dict[object, list[Labelled]] = {}
    for lot, held in labels:
        places = tuple((holding.place_id, holding.ref) for holding, _path in held)
        groups.setdefault((lot.part_id, lot.marking, lot.condition, lot.owner_id, places), []).append(
            (lot, held)
        )
    return list(groups.values())


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


def lot_shown(
    request: HttpRequest, pk: int, *, wrong: str = "", holding: int = 0, correcting: bool = False
) -> HttpResponse:
    """The page of a lot; where something was refused it says what, and keeps what was typed."""
    this = get_object_or_404(Lot.objects.select_related("part__spec", "origin_board", "owner"), pk=pk)
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
            **files_of(this.part),
            "may_write": may_act_as(request.user, BENCH),
            "wrong": wrong,
            "correcting": request.POST if correcting else {},
            "typed": request.POST if holding else {},
            "typed_for": holding,
            "last_place": usual_place(request),
        },
        status=400 if wrong else 200,
    )


def picked_place(request: HttpRequest, name: str) -> Place | None:
    """The place that a form picked, or the drawer whose name was typed, made where it is not there.

    Refused where the name cannot be that of a drawer.
    """
    typed = words(request, "new_place", 400)
    if not typed:
        return picked(request, name, Place.objects.all(), "drawers")
    longest = Place._meta.get_field("name").max_length or 0
    if any(len(each) > longest for each in names_in(typed)):
        raise Refused(
            Code.UNREADABLE, f"{typed[:40]}… is too long: a drawer's name has at most {longest} characters."
        )
    try:
        place = find_or_make(typed)
    except ValueError as error:
        raise Refused(Code.UNREADABLE, str(error)) from None
    if place.type not in KEPT:
        raise Refused(Code.UNREADABLE, f"{place.name} is not a usable name for a drawer: choose another.")
    return place


def storage(where: Mapping[int, str]) -> list[tuple[int, str]]:
    """Drawers and trays by path."""
    kept = Place.objects.filter(type__in=KEPT).values_list("id", flat=True)
    return sorted(((pk, where[pk]) for pk in kept), key=lambda pair: walking(pair[1]))


def usual_place(request: HttpRequest) -> int:
    """The drawer or tray that the person used last, else that to which a sound piece came last; 0 for none.

    Where chips wait while rails are measured, and what failed, says nothing of where the next one goes.
    """
    last: int = request.session.get("last_place") or 0
    if Place.objects.filter(pk=last, type__in=KEPT).exists():
        return last
    return last_sound_place(_BRINGING)


def last_sound_place(kinds: Sequence[str]) -> int:
    """The drawer or tray to which movements of these kinds brought a sound piece last; 0 for none."""
    came = Movement.objects.filter(kind__in=kinds, to_place__type__in=KEPT)
    sound = came.exclude(condition_after__in=(Lot.Condition.SUSPECT, Lot.Condition.FAULTY))
    return sound.order_by("-id").values_list("to_place_id", flat=True).first() or 0


_BRINGING = (Movement.Kind.RECEIVE, Movement.Kind.LIFT, Movement.Kind.MOVE)
FIRST_TRAY = "Tray 1"


def where_to(where: Mapping[int, str]) -> list[tuple[int, str]]:
    """Drawers and trays to put a piece into; on a bench that has none yet, the one that is made by it."""
    return storage(where) or [(0, f"{FIRST_TRAY}, a new one")]


def put_into(picked: Place | None) -> Place | None:
    """The drawer or tray that was picked of `where_to`; the first one of a bench is made by it."""
    if picked is None and not Place.objects.filter(type__in=KEPT).exists():
        picked = Place.objects.create(name=FIRST_TRAY, type=Place.Type.TRAY)
    return picked
