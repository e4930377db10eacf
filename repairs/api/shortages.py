"""`shortages/`: what open jobs still lack after the best use of everything free."""

from collections.abc import Iterator, Mapping, Sequence
from json import JSONEncoder
from typing import Any

from django.http import HttpResponse, StreamingHttpResponse
from django.http.response import HttpResponseBase
from django.urls import reverse
from django.utils import timezone
from drf_spectacular.utils import OpenApiExample, OpenApiParameter, extend_schema, extend_schema_serializer
from rest_framework import serializers
from rest_framework.request import Request
from rest_framework.response import Response

from inventory import sheets
from inventory.api.designs import ReasonSerializer
from inventory.api.fields import SpecSerializer
from inventory.api.lists import Pages, bad_query
from inventory.api.viewsets import Conventions
from inventory.spec import GRADES, Spec, fits
from repairs.api.fields import open_jobs, reasons, truth
from repairs.planning import Tier
from repairs.planning.made_up import refused_place
from repairs.planning.refusals import settled_by
from repairs.shortages import COUNTS, Row, shortages, totals
from repairs.what_if import BadAssumption, Supposed, suppose

TIERS = [tier.name.lower() for tier in Tier]

_FILM, _HIGHER, _LOWER = (
    Spec.from_dict({"kind": "capacitor", "value": "100n", "volts": volts, "dielectric": "film"})
    for volts in ("63", "100", "16")
)
_SUMS = {
    "needed": 4, "fitted": 1, "promised": 0, "free": 0, "on_donors": 1, "on_order": 0, "borrowed": 0,
    "short": 2,
}  # fmt: skip
ANSWERED: dict[str, Any] = {
    "totals": {"rows": 1, "jobs": 1, **_SUMS},
    "count": 1, "next": None, "previous": None,
    "results": [
        {
            "requirement": 17, "spec": _FILM.to_dict(), "spec_text": _FILM.text, **_SUMS,
            "made_up": "/api/v1/made-up/?requirement=17",
            "jobs": [
                {
                    "job": 4, "name": "Plover C rebuild", "refs": ["C7", "C8", "C9", "C12"],
                    "needed": 4, "fitted": 1, "promised": 0, "short": 2,
                }
            ],
            "take": [
                {
                    "job": 4, "lot": 8, "place": 40, "place_name": "Plover donor", "ref": "C3",
                    "tier": "donor", "quantity": 1, "grade": "drop_in",
                    "reasons": reasons(fits(_FILM, _HIGHER)),
                }
            ],
            "refused": [
                {
                    "lot": 9, "place": 12, "place_name": "Drawer 7", "ref": "", "tier": "drawer",
                    "grade": "no", "reasons": reasons(fits(_FILM, _LOWER)), "in_the_way": "volts",
                    "settled_by": "",
                }
            ],
        }
    ],
}  # fmt: skip

ASSUMED = r"^(park:.+|priority:.+:[1-5]|borrow|strip:.+|buy:.+:[0-9]{1,7})$"
SUPPOSED: dict[str, Any] = {
    **ANSWERED,
    "difference": {
        "assumed": ["Tern C rebuild is parked"], "now": {**_SUMS, "short": 3}, "completed": [],
        "worse_off": [],
        "jobs": [{"job": 4, "name": "Plover C rebuild", "short_now": 3, "short_then": 2}],
    },
}  # fmt: skip


class WaitingJobSerializer(serializers.Serializer[Any]):
    job = serializers.IntegerField()
    name = serializers.CharField()
    refs = serializers.ListField(child=serializers.CharField())
    needed = serializers.IntegerField()
    fitted = serializers.IntegerField()
    promised = serializers.IntegerField()
    short = serializers.IntegerField()


class PiecesSerializer(serializers.Serializer[Any]):
    """Pieces of a lot at a place.  What is on order has no lot and no place yet."""

    lot = serializers.IntegerField(allow_null=True)
    place = serializers.IntegerField(allow_null=True)
    place_name = serializers.CharField(allow_blank=True)
    ref = serializers.CharField(allow_blank=True)
    tier = serializers.ChoiceField(TIERS)
    grade = serializers.ChoiceField(GRADES)
    reasons = ReasonSerializer(many=True)


class RefusedSerializer(PiecesSerializer):
    """Pieces that were not planned, nearest miss first."""

    in_the_way = serializers.CharField(help_text="The property that stands in the way: of the first reason.")
    settled_by = serializers.CharField(
        allow_blank=True,
        help_text="look (at it), data_sheet or test: what would make it a yes or a clear no; else blank.",
    )


class TakeSerializer(PiecesSerializer):
    """Pieces that the plan takes for a job."""

    job = serializers.IntegerField()
    quantity = serializers.IntegerField()


class CountsSerializer(serializers.Serializer[Any]):
    """needed = fitted + promised + free + on_donors + on_order + short."""

    needed = serializers.IntegerField(help_text="Pieces of open needs, with those promised or fitted.")
    fitted = serializers.IntegerField()
    promised = serializers.IntegerField()
    free = serializers.IntegerField(help_text="Taken from drawers and trays.")
    on_donors = serializers.IntegerField(help_text="Taken off boards.")
    on_order = serializers.IntegerField(help_text="Taken from what is on order.")
    borrowed = serializers.IntegerField(help_text="The part of `on_donors` that comes off working boards.")
    short = serializers.IntegerField()


class RowSerializer(CountsSerializer):
    """One requirement."""

    requirement = serializers.IntegerField(help_text="Names the requirement, as at made-up/.")
    spec = SpecSerializer()
    spec_text = serializers.CharField()
    jobs = WaitingJobSerializer(many=True)
    take = TakeSerializer(many=True)
    refused = RefusedSerializer(many=True)
    made_up = serializers.CharField(
        allow_null=True,
        help_text="Where to ask what free pieces make it up; null: nothing is short or none may.",
    )


class TotalsSerializer(CountsSerializer):
    rows = serializers.IntegerField()
    jobs = serializers.IntegerField()


class JobDifferenceSerializer(serializers.Serializer[Any]):
    job = serializers.IntegerField()
    name = serializers.CharField()
    short_now = serializers.IntegerField()
    short_then = serializers.IntegerField(allow_null=True, help_text="null: it is parked.")


class DifferenceSerializer(serializers.Serializer[Any]):
    """What the assumptions change, over all open jobs; `now` are the totals as they are."""

    assumed = serializers.ListField(child=serializers.CharField())
    now = CountsSerializer()
    completed = serializers.ListField(
        child=serializers.IntegerField(), help_text="Jobs that lack something now and nothing then."
    )
    worse_off = serializers.ListField(child=serializers.IntegerField(), help_text="Jobs that lack more.")
    jobs = JobDifferenceSerializer(many=True)


@extend_schema_serializer(
    examples=[
        OpenApiExample("One requirement", ANSWERED, response_only=True),
        OpenApiExample("Under an assumption", SUPPOSED, response_only=True),
    ]
)
class ShortagesSerializer(serializers.Serializer[Any]):
    totals = TotalsSerializer()
    count = serializers.IntegerField()
    next = serializers.URLField(allow_null=True)
    previous = serializers.URLField(allow_null=True)
    results = RowSerializer(many=True)
    difference = DifferenceSerializer(required=False, help_text="Only where something is assumed.")


class Shortages(Conventions):
    """What open jobs still lack, by requirement, and what the best plan takes from where.

    The plan is always over all open jobs; `job` only chooses what is shown.  All rows are answered at once
    unless `page` or `page_size` is given.
    """

    query_parameters = (
        OpenApiParameter("job", int, many=True, description="Only these jobs. May be repeated."),
        OpenApiParameter("borrow", bool, description="Also draw on working boards."),
        OpenApiParameter("ask", bool, description="Also draw on pieces that a person must decide on."),
        OpenApiParameter(
            "assume",
            str,
            many=True,
            pattern=ASSUMED,
            description="Suppose it, store nothing: `park:JOB`, `priority:JOB:1` (to 5), `borrow`, "
            "`strip:BOARD` (a donor, wholly), `buy:PART:4` (pieces). By number or exact name. Repeated, they "
            "hold together, in the order given.",
        ),
        OpenApiParameter("format", str, enum=["json", *sheets.FORMS], description="Else as at exports/."),
        OpenApiParameter("page", {"type": "integer", "minimum": 1}),
        OpenApiParameter("page_size", {"type": "integer", "minimum": 1, "maximum": Pages.max_page_size}),
    )

    @extend_schema(responses=ShortagesSerializer, operation_id="shortages_list")
    def get(self, request: Request) -> HttpResponseBase:
        form = request.query_params.get("format", "json")
        if form in sheets.FORMS:
            return _sheet(request, form)
        if form != "json":
            raise bad_query("format", f"want json, {' or '.join(sheets.FORMS)}", "invalid_choice")
        rows, differs = _asked(request)
        if not request.query_params.keys() & {"page", "page_size"}:
            return HttpResponse(_text(rows, differs), content_type="application/json")
        pages = Pages()
        page = pages.paginate_queryset(rows, request)
        told = pages.get_paginated_response([*_rows_as_json(page or [])]).data
        return Response({"totals": _totals(rows), **differs, **told})


def _asked(request: Request) -> tuple[Sequence[Row], dict[str, Any]]:
    """The rows; under assumptions also what differs from now."""
    jobs, borrow, ask = open_jobs(request), truth(request, "borrow"), truth(request, "ask")
    said = request.query_params.getlist("assume")
    if not said:
        return shortages(jobs, borrow=borrow, ask=ask), {}
    try:
        found = suppose(said, jobs, borrow=borrow, ask=ask)
    except BadAssumption as refused:
        raise bad_query("assume", str(refused)) from None
    return found.rows, {"difference": difference(found)}


def difference(found: Supposed) -> dict[str, Any]:
    """What an assumption changes: the totals as they are, and each job that lacks more or less than now."""
    return {
        "assumed": list(found.assumed),
        "now": found.now,
        "completed": list(found.completed),
        "worse_off": list(found.worse_off),
        "jobs": [
            {
                "job": each.job, "name": found.names[each.job], "short_now": each.before,
                "short_then": each.after,
            }
            for each in found.changes
        ],
    }  # fmt: skip


def _sheet(request: Request, form: str) -> HttpResponseBase:
    """The same as a spreadsheet, whole."""
    if paged := request.query_params.keys() & {"page", "page_size"}:
        raise bad_query(min(paged), f"a {form} file has no pages", "contradiction")
    open_jobs(request), truth(request, "borrow"), truth(request, "ask")  # refused as they are for json
    options = {name: request.query_params.getlist(name) for name in request.query_params if name != "format"}
    try:
        pieces = sheets.export("shortages", form, options)
    except sheets.BadOption as refused:
        raise bad_query(refused.name, refused.detail) from None
    return StreamingHttpResponse(
        pieces,
        content_type=sheets.FORMS[form],
        headers={"Content-Disposition": f'attachment; filename="shortages-{timezone.localdate()}.{form}"'},
    )


def as_json(rows: Sequence[Row]) -> dict[str, Any]:
    """All rows with their totals, as the API answers them."""
    return {**_head(rows), "results": [*_rows_as_json(rows)]}


def _text(rows: Sequence[Row], differs: Mapping[str, Any]) -> str:
    """`as_json` as text, written row by row: the whole as dicts would take several times the memory."""
    write = JSONEncoder(ensure_ascii=False, separators=(",", ":")).encode
    return (
        f'{write({**_head(rows), **differs})[:-1]},"results":[{",".join(map(write, _rows_as_json(rows)))}]}}'
    )


def _head(rows: Sequence[Row]) -> dict[str, Any]:
    return {"totals": _totals(rows), "count": len(rows), "next": None, "previous": None}


def _totals(rows: Sequence[Row]) -> dict[str, int]:
    return {"rows": len(rows), "jobs": len({job.job for row in rows for job in row.jobs}), **totals(rows)}


def _made_up(row: Row) -> str | None:
    if not row.short or refused_place(row.spec):
        return None
    return f"{reverse('made-up')}?requirement={row.stored}"


def _rows_as_json(rows: Sequence[Row]) -> Iterator[dict[str, Any]]:
    """Plain dicts: thousands of rows with their pieces would keep serializers busy for seconds."""
    for row in rows:
        fits_told = {id(fit): fit for fit in (*(t.fit for t in row.take), *(m.fit for m in row.refused))}
        why = {key: reasons(fit) for key, fit in fits_told.items()}
        spec = row.spec.to_dict()
        yield {
            "requirement": row.stored,
            "spec": spec,
            "spec_text": spec["spec_text"],
            "made_up": _made_up(row),
            **{name: getattr(row, name) for name in COUNTS},
            "jobs": [
                {
                    "job": job.job, "name": job.name, "refs": job.refs, "needed": job.needed,
                    "fitted": job.fitted, "promised": job.promised, "short": job.short,
                }
                for job in row.jobs
            ],
            "take": [
                {
                    "job": job, "lot": piece.lot, "place": piece.place, "place_name": piece.place_name,
                    "ref": piece.ref, "tier": TIERS[tier], "quantity": quantity, "grade": fit.grade,
                    "reasons": why[id(fit)],
                }
                for piece, job, tier, quantity, fit in row.take
            ],
            "refused": [
                {
                    "lot": piece.lot, "place": piece.place, "place_name": piece.place_name, "ref": piece.ref,
                    "tier": TIERS[tier], "grade": fit.grade, "reasons": why[id(fit)],
                    "in_the_way": fit.reasons[0].property, "settled_by": settled_by(fit),
                }
                for piece, tier, fit in row.refused
            ],
        }  # fmt: skip
