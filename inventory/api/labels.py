"""`labels.pdf`: labels for bags and drawers, at their true size."""

from django.http import HttpResponse
from drf_spectacular.types import OpenApiTypes
from drf_spectacular.utils import OpenApiParameter, extend_schema
from rest_framework.exceptions import NotFound
from rest_framework.request import Request

from inventory.api.lists import bad_query, number_asked
from inventory.api.viewsets import Conventions
from inventory.bench_settings import settings_of_bench
from inventory.labels import KINDS, MAX_COPIES, MAX_LABELS, STOCKS, is_address, labels_for
from inventory.labels_pdf import pdf
from inventory.places import paths
from inventory.refusals import Code
from inventory.whole_numbers import whole_number as number_of

_ID = {"type": "integer", "minimum": 1}


class LabelsView(Conventions):
    """Labels as a PDF: of the lots named, or of what is in a place."""

    query_parameters = (
        OpenApiParameter("lot", int, many=True, description="Lots to label."),
        OpenApiParameter("place", _ID, description="Without lots: a place, with all inside it."),
        OpenApiParameter("what", {"type": "string", "enum": list(KINDS), "default": "bags"}),
        OpenApiParameter(
            "stock", {"type": "string", "enum": list(STOCKS)},
            description="The sheet or roll; that of the settings, or the first of these.",
        ),
        OpenApiParameter(
            "start", {**_ID, "default": 1}, description="The first free position of the first sheet."
        ),
        OpenApiParameter("copies", {**_ID, "maximum": MAX_COPIES, "default": 1}),
        OpenApiParameter("marks", bool, description="With marks to cut along (false)."),
        OpenApiParameter("address", str, description="That the codes lead to; else as in the settings."),
    )  # fmt: skip

    @extend_schema(responses={(200, "application/pdf"): OpenApiTypes.BINARY}, operation_id="labels_pdf")
    def get(self, request: Request) -> HttpResponse:
        sent, usual = request.query_params, settings_of_bench()
        name = sent.get("stock") or usual.labels or next(iter(STOCKS))
        what, marks = sent.get("what", "bags"), sent.get("marks", "false")
        for parameter, given, known in (
            ("stock", name, STOCKS), ("what", what, KINDS), ("marks", marks, ("true", "false"))
        ):  # fmt: skip
            if given not in known:
                raise bad_query(parameter, f"expected one of {', '.join(known)}", Code.INVALID_CHOICE)
        stock = STOCKS[name]
        base = sent.get("address") or usual.address or request.build_absolute_uri("/")
        if not is_address(base):
            raise bad_query("address", "expected an address such as http://10.0.0.7:8000")
        lots = [number_of(text) or 0 for text in sent.getlist("lot")]
        if not all(lots) or bool(lots) == ("place" in sent):
            raise bad_query("lot", "expected the ids of lots, or else of one place")
        start = number_asked(request, "start", 1, stock.on_a_sheet)
        copies = number_asked(request, "copies", 1, MAX_COPIES)
        place = number_asked(request, "place", 1)
        made = labels_for(lots=lots, place=place, what=what, base=base.rstrip("/"), where=paths())
        if not made:
            raise NotFound("there is nothing to label")
        if len(made) * copies > MAX_LABELS:
            raise bad_query("copies", f"at most {MAX_LABELS} labels are made at once", Code.TOO_MANY)
        sheets = [label for label in made for _copy in range(copies)]
        return HttpResponse(
            pdf(sheets, stock, start=start, marks=marks == "true"),
            content_type="application/pdf",
            headers={"Content-Disposition": 'attachment; filename="labels.pdf"'},
        )
