"""`imports/`: a spreadsheet comes in, whole or not at all."""

from typing import Any, cast

from drf_spectacular.utils import OpenApiExample, OpenApiResponse, extend_schema
from rest_framework import serializers
from rest_framework.parsers import MultiPartParser
from rest_framework.request import Request
from rest_framework.response import Response

from inventory import sheets
from inventory.api.fields import StrictSerializer
from inventory.api.problems import MEDIA_TYPE, Problem, Refusal
from inventory.api.viewsets import Conventions

REPORT = {
    "as": "stock", "dry_run": False, "rows": 351, "created": 12, "updated": 3, "unchanged": 336,
    "unknown_columns": ["Colour"], "notes": ["Places made: Cabinet A / Row 3 / Drawer 12."],
}  # fmt: skip
BAD_CELL = sheets.BadCell("Drawers", 17, "Qty", "a few", "want a whole number from 0 to 1,000,000,000")


class ImportSerializer(StrictSerializer):
    file = serializers.FileField(allow_empty_file=True, help_text="An xlsx workbook or a csv text table.")
    dry_run = serializers.BooleanField(default=False, help_text="Do it, report it, and take it back.")

    def get_fields(self) -> dict[str, Any]:
        fields = super().get_fields()
        # Not declared above: `as` is no name that a class body takes.
        fields["as"] = serializers.ChoiceField(choices=list(sheets.IMPORTS), help_text="What is in the file.")
        return fields


class ReportSerializer(serializers.Serializer[Any]):
    """What came of the rows: each is counted once, as created, updated or unchanged."""

    dry_run = serializers.BooleanField()
    rows = serializers.IntegerField()
    created = serializers.IntegerField()
    updated = serializers.IntegerField()
    unchanged = serializers.IntegerField()
    unknown_columns = serializers.ListField(
        child=serializers.CharField(), help_text="Headings that were not read."
    )
    notes = serializers.ListField(child=serializers.CharField(), help_text="What the person should know.")

    def get_fields(self) -> dict[str, Any]:
        return {"as": serializers.ChoiceField(choices=list(sheets.IMPORTS)), **super().get_fields()}


class BadCellSerializer(serializers.Serializer[Any]):
    sheet = serializers.CharField()
    row = serializers.IntegerField(help_text="As the spreadsheet counts: the first row is 1.")
    column = serializers.CharField(help_text="The heading, as it stands in the sheet.")
    found = serializers.CharField()
    detail = serializers.CharField(help_text="What would be accepted.")


class BadCellsSerializer(serializers.Serializer[Any]):
    """Nothing is kept.  `errors` names the first thousand bad cells, `errors_total` counts them all."""

    type = serializers.CharField()
    title = serializers.CharField()
    status = serializers.IntegerField()
    detail = serializers.CharField()
    code = serializers.CharField(required=False)
    errors = BadCellSerializer(many=True, required=False)  # type: ignore[assignment]
    errors_total = serializers.IntegerField(required=False)


def _problem(bad: sheets.BadRows) -> Problem:
    cells = [cell.as_dict() for cell in bad.errors]
    return Problem(422, str(bad), "bad_cells", cells, {"errors_total": bad.total})


class ImportView(Conventions):
    """Spreadsheets in: stock, parts lists of designs, surveys of donor boards, the buy list marked."""

    parser_classes = [MultiPartParser]

    def initial(self, request: Request, *args: Any, **kwargs: Any) -> None:
        super().initial(request, *args, **kwargs)
        if request.method == "POST":  # the slow half, before the transaction in which everything is written
            self.asked, self.sheet = _read(request)

    @extend_schema(
        operation_id="imports_create",
        request={"multipart/form-data": ImportSerializer},
        examples=[
            OpenApiExample("A stock sheet", {"file": "drawers.xlsx", "as": "stock"}, request_only=True),
            OpenApiExample("A stock sheet", REPORT, response_only=True, status_codes=["200"]),
            OpenApiExample(
                "A bad cell",
                _problem(sheets.BadRows([BAD_CELL], 1)).body(),
                media_type=MEDIA_TYPE,
                response_only=True,
                status_codes=["422"],
            ),
        ],
        responses={
            200: ReportSerializer,
            (422, MEDIA_TYPE): OpenApiResponse(BadCellsSerializer, "Bad cells, or a damaged file"),
        },
    )
    def post(self, request: Request) -> Response:
        """Import a spreadsheet.  A dry run does everything, reports it, and takes it back."""
        try:
            report = sheets.land(self.sheet, by=self.person, dry_run=self.asked["dry_run"])
        except sheets.BadRows as bad:
            raise _Refused(_problem(bad)) from None
        return Response(report.as_dict())


class _Refused(Refusal):
    """A refusal with the status of its problem."""

    def __init__(self, problem: Problem) -> None:
        super().__init__(problem.detail, code=problem.code, errors=problem.errors, **problem.facts)
        self.status_code = problem.status


def _read(request: Request) -> tuple[dict[str, Any], sheets.ReadSheet]:
    serializer = ImportSerializer(data=request.data)
    serializer.is_valid(raise_exception=True)
    asked = cast(dict[str, Any], serializer.validated_data)
    file = asked["file"]
    try:
        return asked, sheets.read_sheet(file, name=file.name, kind=asked["as"])
    except sheets.UnreadableFile as refused:
        code = {413: "too_large", 415: "another_kind_of_file"}.get(refused.status, "damaged")
        raise _Refused(Problem(refused.status, refused.detail, code)) from None
