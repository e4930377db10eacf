"""Print: labels for bags and drawers, on the sheets of labels that there are."""

from urllib.parse import urlsplit

from django.core.paginator import Paginator
from django.http import HttpRequest, HttpResponse
from django.shortcuts import render

from inventory.bench_settings import settings_of_bench
from inventory.labels import (
    KINDS,
    MAX_ADDRESS,
    MAX_COPIES,
    MAX_LABELS,
    STOCKS,
    is_address,
    labels_for,
    sheets,
)
from inventory.labels_pdf import pdf
from inventory.models import Place
from inventory.pages.drawers import storage
from inventory.pages.frame import number, page, words
from inventory.pages.picking import in_box
from inventory.places import paths
from inventory.whole_numbers import whole_numbers

MAX_LISTED = 2000
ON_A_PAGE = 120
"""So many labels, in whole sheets, are laid out at once: each has a code, which takes the most of a page."""
LOOPBACK = ("localhost", "127.0.0.1", "[::1]", "0.0.0.0")


@page()
def labels(request: HttpRequest) -> HttpResponse:
    """What will be printed, as it is asked for; on paper, the sheets themselves."""
    usual = settings_of_bench()
    first = STOCKS.get(usual.labels, next(iter(STOCKS.values())))
    stock = STOCKS.get(request.GET.get("stock", ""), first)
    given = words(request, "address", MAX_ADDRESS) or usual.address
    here = request.build_absolute_uri("/").rstrip("/")
    wrong = (
        ""
        if not given or is_address(given)
        else f"{given[:60]} is not an address such as http://10.0.0.7:8000"
    )
    base = given.rstrip("/") if given and not wrong else here
    start = number(request, "start", 1)
    if not 1 <= start <= stock.on_a_sheet:
        wrong = wrong or f"This sheet has the positions 1 to {stock.on_a_sheet}."
    what = request.GET.get("what", "bags")
    box = in_box(request, "place", Place.objects.all(), "drawers")
    where = paths()
    made = labels_for(
        lots=_lots_named(request), place=box.row.pk if box.row else 0, what=what, base=base, where=where,
        most=MAX_LISTED,
    )  # fmt: skip
    copies = min(max(1, number(request, "copies", 1)), MAX_COPIES)
    made = [label for label in made for _copy in range(copies)]
    marks = "marks" in request.GET
    laid_out = sheets(made[:MAX_LISTED], stock, start) if made and not wrong else []
    leaf = Paginator(laid_out, max(1, ON_A_PAGE // stock.on_a_sheet)).get_page(number(request, "page", 1))
    shown = [label for sheet in leaf for label in sheet if label]
    whole = len(made) <= MAX_LABELS
    if "pdf" in request.GET and laid_out:
        printed, first_cell = (made, start) if whole else (shown, start if leaf.number == 1 else 1)
        return HttpResponse(
            pdf(printed, stock, start=first_cell, marks=marks),
            content_type="application/pdf",
            headers={"Content-Disposition": 'inline; filename="labels.pdf"'},
        )
    return render(
        request,
        "bench/print.html",
        {
            "stocks": STOCKS.values(),
            "stock": stock,
            "kinds": KINDS,
            "what": what,
            "places": storage(where),
            "place": box,
            "lots": _lots_named(request),
            "start": start,
            "copies": copies,
            "marks": marks,
            "address": given or here,
            "this_machine_alone": urlsplit(base).hostname in LOOPBACK,
            "wrong": wrong,
            "labels": shown,
            "count": min(len(made), MAX_LISTED),
            "too_many": len(made) > MAX_LISTED,
            "most": MAX_LISTED,
            "page": leaf,
            "sheets": list(leaf),
            "whole": whole,
        },
        status=400 if wrong or box.wrong else 200,
    )


def _lots_named(request: HttpRequest) -> list[int]:
    return whole_numbers(request.GET.getlist("lot"))[:MAX_LABELS]
