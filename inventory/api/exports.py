"""`exports/`: spreadsheets out, sent as they are written; and empty ones to fill in."""

from collections.abc import Iterator
from itertools import chain

from django.http import StreamingHttpResponse
from django.urls import URLPattern, path
from django.utils import timezone
from drf_spectacular.types import OpenApiTypes
from drf_spectacular.utils import OpenApiExample, OpenApiParameter, extend_schema
from rest_framework.exceptions import ErrorDetail
from rest_framework.request import Request

from inventory import sheets
from inventory.api.problems import BadQuery
from inventory.api.viewsets import Conventions
from inventory.refusals import Code

XLSX, CSV = sheets.FORMS["xlsx"], sheets.FORMS["csv"]
_WORKBOOK = {(200, XLSX): OpenApiTypes.BINARY}
_TEXT = {(200, CSV): OpenApiTypes.STR}
_HEADINGS = OpenApiExample("The headings", "Name,Kind,…\r\n", media_type=CSV)
_LINES = OpenApiExample("The first lines", "Lot,Name,Kind,…\r\n5,,capacitor,…\r\n", media_type=CSV)


class ExportView(Conventions):
    """One export in one form; `export_urls` says which."""

    export = ""

    def sent(self, request: Request, form: str) -> StreamingHttpResponse:
        options = {name: request.query_params.getlist(name) for name in request.query_params}
        try:
            pieces = sheets.export(self.export, form, options)
        except sheets.BadOption as refused:
            raise BadQuery({refused.name: [ErrorDetail(refused.detail, Code.UNREADABLE)]}) from None
        return _download(pieces, f"{self.export}-{timezone.localdate()}", form)


class WorkbookView(ExportView):
    @extend_schema(responses=_WORKBOOK)
    def get(self, request: Request) -> StreamingHttpResponse:
        """The workbook (xlsx)."""
        return self.sent(request, "xlsx")


class TextTableView(ExportView):
    @extend_schema(responses=_TEXT, examples=[_LINES])
    def get(self, request: Request) -> StreamingHttpResponse:
        """The text table (csv); of a workbook its first sheet."""
        return self.sent(request, "csv")


class EmptyWorkbookView(Conventions):
    kind = ""

    @extend_schema(responses=_WORKBOOK)
    def get(self, request: Request) -> StreamingHttpResponse:
        """An empty workbook to fill in, with drop-downs and a sheet of notes."""
        return _download(sheets.template(self.kind), f"{self.kind}-empty", "xlsx")


class EmptyTextTableView(Conventions):
    kind = ""

    @extend_schema(responses=_TEXT, examples=[_HEADINGS])
    def get(self, request: Request) -> StreamingHttpResponse:
        """An empty text table to fill in: the headings alone, those of the first sheet."""
        return _download(sheets.template(self.kind, "csv"), f"{self.kind}-empty", "csv")


def _download(pieces: Iterator[bytes], name: str, form: str) -> StreamingHttpResponse:
    first = next(pieces, b"")  # what goes wrong with the first rows still gets a proper answer
    headers = {"Content-Disposition": f'attachment; filename="{name}.{form}"'}
    return StreamingHttpResponse(chain([first], pieces), content_type=sheets.FORMS[form], headers=headers)


def export_urls() -> list[URLPattern]:
    """The addresses of all that can be exported, and of the empty sheets."""
    urls = []
    for name, export in sheets.EXPORTS.items():
        options = [
            OpenApiParameter(each, str, description=option.about, required=option.needed, many=option.many)
            for each, option in export.options.items()
        ]
        for form, view in (("xlsx", WorkbookView), ("csv", TextTableView)):
            found = view.as_view(export=name, query_parameters=options)
            urls.append(path(f"exports/{name}.{form}", found, name=f"export-{name}-{form}"))
    for kind in sheets.IMPORTS:
        for form, empty in (("xlsx", EmptyWorkbookView), ("csv", EmptyTextTableView)):
            address = f"exports/templates/{kind}.{form}"
            urls.append(path(address, empty.as_view(kind=kind), name=f"template-{kind}-{form}"))
    return urls
