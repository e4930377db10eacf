"""Shortages: one table across jobs, each line with where its pieces would come from, and promising them."""

from collections.abc import Iterable, Mapping, Sequence
from fractions import Fraction

from django.core.paginator import Paginator
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import render
from django.urls import reverse

from inventory.models import Lot
from inventory.pages.frame import back, number, page, say, who
from inventory.refs import write_refs
from inventory.roles import BENCH, may_act_as
from repairs import shortages as planned
from repairs.making_up import Way, made_up_for
from repairs.planning import Tier
from repairs.shortages import Miss, Row, Taken, shortages, totals
from repairs.telling import TIERS, grade, noted, objections, pieces, settled

ON_A_PAGE = 60
FROM_HERE = (Tier.DRAWER, Tier.DONOR)
"""Where pieces are that can be promised."""


@page()
def table(request: HttpRequest) -> HttpResponse:
    """What open jobs lack, short lines first; `borrow` draws on working boards, `all` shows every line."""
    borrow = bool(request.GET.get("borrow"))
    whole = bool(request.GET.get("all"))
    rows = shortages(borrow=borrow)
    shown = [row for row in rows if whole or row.needed > row.fitted + row.promised]
    shown.sort(key=lambda row: not row.short)
    of_page = Paginator(shown, ON_A_PAGE).get_page(number(request, "page", 1))
    known = _lots(of_page)
    return render(
        request,
        "bench/shortages.html",
        {
            "page": of_page,
            "rows": [_told(row, known, promising=not borrow) for row in of_page],
            "totals": totals(rows),
            "borrow": borrow,
            "all": whole,
            "may_write": may_act_as(request.user, BENCH),
        },
    )


@page()
def line(request: HttpRequest, pk: int) -> HttpResponse:
    """One line of the table with everything that is known of it."""
    row = next((row for row in shortages() if row.stored == pk), None)
    if row is None:
        raise Http404("No open job requires this.")
    told = _told(row, _lots([row])) | {"may_write": may_act_as(request.user, BENCH)}
    if row.short:
        told["made_up"] = _made_up(row)
    return render(request, "bench/shortage.html", told)


def _lots(rows: Iterable[Row]) -> Mapping[int | None, str]:
    """What the pieces of these rows are, by their lots."""
    named = [each.piece for row in rows for each in row.take] + [
        each.piece for row in rows for each in row.refused
    ]
    return dict(
        Lot.objects.filter(pk__in={piece.lot for piece in named if piece.lot}).values_list(
            "pk", "part__spec__text"
        )
    )


def _made_up(row: Row) -> dict[str, object]:
    """What pieces that no job needs could be joined to for it, and why none may be where that is so."""
    found = made_up_for(row.spec)
    return {
        "refused": found.refused,
        "ways": [
            {
                "arrangement": str(way.made.arrangement),
                "error": _percent(way.made.error),
                "spread": _spread(way),
                "parts": [
                    {
                        "lot": part.piece.lot,
                        "where": f"{part.piece.place_name} {part.piece.ref}".strip(),
                        "text": part.spec.text,
                        "tier": TIERS[part.tier],
                    }
                    for part in way.parts
                ],
                "steps": way.steps,
                "notes": way.made.notes,
                "cautions": [caution.text for caution in way.cautions],
            }
            for way in found.ways
        ],
    }


def _spread(way: Way) -> str:
    low, high = way.made.low, way.made.high
    return "" if low is None or high is None else f"{_percent(low)} to {_percent(high)} at worst"


def _percent(share: Fraction) -> str:
    return f"{float(share) * 100:+.2f} %"


@page("POST")
def promise(request: HttpRequest, pk: int) -> HttpResponse:
    """Promise what the plan takes for this line, to every job that lacks it."""
    outcome = planned.reserve_requirement(pk, by=who(request))
    made = sum(promise.quantity for promise in outcome.made)
    short = sum(lack.quantity for lack in outcome.lacking)
    still = (
        f" Still lacking {pieces(short)}{_refs(outcome.lacking)}." if short else " Nothing of it is lacking."
    )
    to = ", ".join(dict.fromkeys(promise.need.job.name for promise in outcome.made))
    told = f"{pieces(made)} promised to {to}." if made else "Nothing was left to promise."
    say(request, told + still, promises=outcome.made)
    return back(request, reverse("shortages"))


def _refs(lacking: Sequence[planned.Lack]) -> str:
    refs = write_refs(lack.need.ref for lack in lacking if lack.need.ref)
    return f": {refs}" if refs else ""


def _told(row: Row, known: Mapping[int | None, str], *, promising: bool = True) -> dict[str, object]:
    names = {waiting.job: waiting.name for waiting in row.jobs}
    return {
        "row": row,
        "value": row.spec.value_text or row.spec.number or row.spec.kind,
        "jobs": [waiting for waiting in row.jobs if waiting.lacking],
        "take": [_take(take, names, known) for take in row.take],
        "refused": [_miss(miss, known) for miss in row.refused],
        "to_promise": sum(take.quantity for take in row.take if take.tier in FROM_HERE) if promising else 0,
    }


def _take(take: Taken, names: dict[int, str], known: Mapping[int | None, str]) -> dict[str, object]:
    return {
        "lot": take.piece.lot,
        "text": known.get(take.piece.lot, ""),
        "where": f"{take.piece.place_name} {take.piece.ref}".strip(),
        "tier": TIERS[take.tier],
        "quantity": take.quantity,
        "job": names[take.job],
        "grade": grade(take.fit),
        "reasons": noted(take.fit),
    }


def _miss(miss: Miss, known: Mapping[int | None, str]) -> dict[str, object]:
    return {
        "lot": miss.piece.lot,
        "text": known.get(miss.piece.lot, ""),
        "where": f"{miss.piece.place_name} {miss.piece.ref}".strip(),
        "tier": TIERS[miss.tier],
        "grade": grade(miss.fit),
        "reasons": objections(miss.fit),
        "settled_by": settled(miss.settled_by),
    }
