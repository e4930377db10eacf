"""Shortages: one table across jobs, each line with where its pieces would come from, and promising them."""

from collections.abc import Sequence

from django.core.paginator import Paginator
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import render
from django.urls import reverse

from inventory.pages.frame import back, notify, number, page, who
from inventory.refs import write_refs
from inventory.roles import BENCH, may_act_as
from repairs.answers.make_up import made_up_for
from repairs.answers.shortages import LackingNeed, counts, reserve_requirement, shortages
from repairs.asks import waiting
from repairs.explanations import pieces
from repairs.models import PieceAsk

ON_A_PAGE = 30


@page()
def table(request: HttpRequest) -> HttpResponse:
    """What open jobs lack, short lines first; `borrow` draws on working boards, `all` shows every line."""
    borrow = bool(request.GET.get("borrow"))
    whole = bool(request.GET.get("all"))
    rows = shortages(borrow=borrow)
    shown = [row for row in rows if whole or row.lacking]
    shown.sort(key=lambda row: (not row.to_find, not row.short))
    return render(
        request,
        "bench/shortages.html",
        {
            "page": Paginator(shown, ON_A_PAGE).get_page(number(request, "page", 1)),
            "totals": counts(rows),
            "borrow": borrow,
            "all": whole,
            "may_write": may_act_as(request.user, BENCH),
        },
    )


@page()
def line(request: HttpRequest, pk: int) -> HttpResponse:
    """One line of the table with everything that is known of it."""
    row = next((row for row in shortages() if row.requirement == pk), None)
    if row is None:
        raise Http404("No open job requires this.")
    context = {
        "row": row,
        "may_write": may_act_as(request.user, BENCH),
        "misses": [miss for miss in row.refused if miss.in_the_way != "owner"],  # those are asked for
        "asks": waiting(PieceAsk.objects.filter(need__spec=pk)),
    }
    if row.short:
        context["made_up"] = made_up_for(row.spec)
    return render(request, "bench/shortage.html", context)


@page("POST")
def reserve(request: HttpRequest, pk: int) -> HttpResponse:
    """Promise what the plan takes for this line, to every job that lacks it."""
    outcome = reserve_requirement(pk, by=who(request))
    made = sum(promise.quantity for promise in outcome.made)
    short = sum(lack.quantity for lack in outcome.lacking)
    still = (
        f" Still lacking {pieces(short)}{_refs(outcome.lacking)}." if short else " Nothing of it is lacking."
    )
    to = ", ".join(dict.fromkeys(promise.need.job.name for promise in outcome.made))
    message = f"{pieces(made)} reserved for {to}." if made else "Nothing was left to reserve."
    notify(request, message + still, promises=outcome.made)
    return back(request, reverse("shortages"))


def _refs(lacking: Sequence[LackingNeed]) -> str:
    refs = write_refs(lack.need.ref for lack in lacking if lack.need.ref)
    return f": {refs}" if refs else ""
