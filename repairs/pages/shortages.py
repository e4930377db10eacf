"""Shortages: one table across jobs, where each piece would come from, and why the nearest were refused."""

from django.http import HttpRequest, HttpResponse
from django.shortcuts import render

from inventory.pages.frame import page
from inventory.spec import GRADES
from repairs.planning import Tier
from repairs.shortages import Row, shortages, totals

TIERS = {
    Tier.DRAWER: "in a drawer", Tier.DONOR: "on a donor", Tier.ON_ORDER: "on order", Tier.BORROW: "to borrow",
}  # fmt: skip
WORDS = dict(zip(GRADES, ("same", "drop-in", "with a note", "ask", "no"), strict=True))


@page()
def table(request: HttpRequest) -> HttpResponse:
    """What open jobs lack; `borrow` also draws on working boards, `all` shows what lacks nothing too."""
    borrow = bool(request.GET.get("borrow"))
    rows = shortages(borrow=borrow)
    shown = (
        rows if request.GET.get("all") else [row for row in rows if row.needed > row.fitted + row.promised]
    )
    return render(
        request,
        "bench/shortages.html",
        {"rows": [_told(row) for row in shown], "totals": totals(rows), "borrow": borrow},
    )


def _told(row: Row) -> dict[str, object]:
    return {
        "row": row,
        "jobs": [waiting for waiting in row.jobs if waiting.lacking],
        "take": [
            {
                "lot": take.piece.lot,
                "where": f"{take.piece.place_name} {take.piece.ref}".strip() or TIERS[take.tier],
                "tier": TIERS[take.tier],
                "quantity": take.quantity,
                "grade": WORDS[take.fit.grade],
                "reasons": [reason.rule for reason in take.fit.reasons if reason.grade != "same"],
            }
            for take in row.take
        ],
        "refused": [
            {
                "lot": miss.piece.lot,
                "grade": WORDS[miss.fit.grade],
                "reasons": [
                    f"{reason.property}: {reason.required} wanted, {reason.offered} offered"
                    for reason in miss.fit.reasons
                    if reason.grade == miss.fit.grade
                ],
            }
            for miss in row.refused
        ],
    }
