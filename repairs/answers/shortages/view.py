"""`shortages/`: what open jobs still lack after the best use of everything free."""

from collections.abc import Sequence

from django.http import HttpResponse, StreamingHttpResponse
from django.http.response import HttpResponseBase
from django.utils import timezone
from drf_spectacular.utils import OpenApiExample, OpenApiParameter, extend_schema
from rest_framework.request import Request

from inventory import sheets
from inventory.answers import as_json, as_text, in_pieces
from inventory.api.lists import Pages, bad_query
from inventory.api.viewsets import Conventions
from inventory.refusals import Code
from inventory.sheets.exports import written
from repairs.answers import document  # noqa: F401  (makes answers known to the document)
from repairs.answers.shortages.answer import Shortages
from repairs.answers.shortages.question import SHORTAGES

MAX_WHOLE = 500
"""Rows that are answered in one piece."""


class ShortagesView(Conventions):
    """What open jobs still lack, by requirement, and what the best plan takes from where.

    The plan is always over all open jobs; `job` only chooses what is shown.  All rows are answered at once
    unless `page` or `page_size` is given.
    """

    query_parameters = (
        *SHORTAGES.described,
        OpenApiParameter("format", str, enum=["json", *sheets.FORMS], description="Else as at exports/."),
        OpenApiParameter("page", {"type": "integer", "minimum": 1}),
        OpenApiParameter("page_size", {"type": "integer", "minimum": 1, "maximum": Pages.max_page_size}),
    )

    @extend_schema(
        responses=Shortages,
        operation_id="shortages_list",
        examples=[
            OpenApiExample("One requirement", as_json(Shortages.example()), response_only=True),
            OpenApiExample("Under an assumption", as_json(Shortages.example_supposed()), response_only=True),
        ],
    )
    def get(self, request: Request) -> HttpResponseBase:
        form = request.query_params.get("format", "json")
        if form != "json" and form not in sheets.FORMS:
            raise bad_query("format", f"expected json, {' or '.join(sheets.FORMS)}", Code.INVALID_CHOICE)
        paged = request.query_params.keys() & {"page", "page_size"}
        if form != "json" and paged:
            raise bad_query(min(paged), f"a {form} file has no pages", Code.CONTRADICTION)
        answer = SHORTAGES.of_request(request)
        if form != "json":
            return _file(form, SHORTAGES.sheets(answer))
        if paged:
            pages = Pages()
            page = pages.paginate_queryset(answer.results, request)
            answer = Shortages(
                answer.totals, answer.count, pages.get_next_link(), pages.get_previous_link(), page or [],
                answer.difference,
            )  # fmt: skip
        if len(answer.results) > MAX_WHOLE:
            return StreamingHttpResponse(in_pieces(answer), content_type="application/json")
        return HttpResponse(as_text(answer), content_type="application/json")


def _file(form: str, book: Sequence[sheets.SheetOut]) -> HttpResponseBase:
    """The answer as a spreadsheet, whole."""
    return StreamingHttpResponse(
        written(book, form),
        content_type=sheets.FORMS[form],
        headers={"Content-Disposition": f'attachment; filename="shortages-{timezone.localdate()}.{form}"'},
    )
