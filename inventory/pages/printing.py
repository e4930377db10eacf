"""Print: labels for bags and drawers, on the sheets of labels that there are."""

from collections.abc import Mapping
from urllib.parse import urlsplit

from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.urls import reverse

from inventory.bench_settings import settings_of_bench
from inventory.labels import MOST, STOCKS, Label, of_lot, of_place, sheets
from inventory.models import Lot, Place
from inventory.pages.drawers import storage
from inventory.pages.frame import number, page, words
from inventory.places import paths, within

KINDS = {"bags": "the bags", "drawers": "the drawers"}
LOOPBACK = ("localhost", "127.0.0.1", "[::1]", "0.0.0.0")


@page()
def labels(request: HttpRequest) -> HttpResponse:
    """What will be printed, as it is asked for; on paper, the sheets themselves."""
    usual = settings_of_bench()
    first = STOCKS.get(usual.labels, next(iter(STOCKS.values())))
    stock = STOCKS.get(request.GET.get("stock", ""), first)
    given = words(request, "address", 200) or usual.address
    here = request.build_absolute_uri("/").rstrip("/")
    wrong = (
        "" if not given or _is_address(given) else f"{given[:60]} is no address such as http://10.0.0.7:8000"
    )
    base = given.rstrip("/") if given and not wrong else here
    start = number(request, "start", 1)
    if not 1 <= start <= stock.on_a_sheet:
        wrong = wrong or f"This sheet has the positions 1 to {stock.on_a_sheet}."
    what = request.GET.get("what", "bags")
    where = paths()
    made = _labels(request, what, where, base)
    copies = min(max(1, number(request, "copies", 1)), 50)
    made = [label for label in made for _copy in range(copies)]
    return render(
        request,
        "bench/print.html",
        {
            "stocks": STOCKS.values(),
            "stock": stock,
            "kinds": KINDS,
            "what": what,
            "places": storage(where),
            "place": number(request, "place"),
            "lots": _lots_named(request),
            "start": start,
            "copies": copies,
            "marks": "marks" in request.GET,
            "address": given or here,
            "this_machine_alone": urlsplit(base).hostname in LOOPBACK,
            "wrong": wrong,
            "labels": made[:MOST],
            "too_many": len(made) > MOST,
            "most": MOST,
            "sheets": sheets(made[:MOST], stock, start) if made and not wrong else [],
        },
        status=400 if wrong else 200,
    )


def _is_address(given: str) -> bool:
    try:
        parts = urlsplit(given)
        return (
            parts.scheme in ("http", "https") and bool(parts.hostname) and not parts.query and parts.port != 0
        )
    except ValueError:
        return False


def _lots_named(request: HttpRequest) -> list[int]:
    named = [
        each for each in request.GET.getlist("lot") if each.isascii() and each.isdigit() and len(each) < 10
    ]
    return [int(each) for each in named[:MOST]]


def _labels(request: HttpRequest, what: str, where: Mapping[int, str], base: str) -> list[Label]:
    """Of the lots named; else of the bags in a place, or of the drawers within it."""
    lots = Lot.objects.select_related("part__spec", "origin_board").order_by("id")
    if named := _lots_named(request):
        return [of_lot(lot, f"{base}{reverse('lot', args=[lot.pk])}") for lot in lots.filter(pk__in=named)]
    place = number(request, "place")
    if place not in where:
        return []
    inside = within([place])
    if what == "drawers":
        kept = Place.objects.filter(pk__in=inside, type__in=[Place.Type.DRAWER, Place.Type.TRAY])
        return [
            of_place(each, where[each.pk], f"{base}{reverse('drawers')}?place={each.pk}")
            for each in sorted(kept, key=lambda each: where[each.pk])
        ]
    held = lots.filter(holdings__place__in=inside, holdings__quantity__gt=0).distinct()[: MOST + 1]
    return [of_lot(lot, f"{base}{reverse('lot', args=[lot.pk])}") for lot in held]
