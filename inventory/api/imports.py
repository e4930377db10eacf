"""`imports/`: a spreadsheet comes in, whole or not at all."""

from contextlib import ExitStack
from typing import Any, cast

from drf_spectacular.utils import (
    OpenApiExample,
    OpenApiResponse,
    PolymorphicProxySerializer,
    extend_schema,
)
from rest_framework import serializers
from rest_framework.exceptions import ErrorDetail
from rest_framework.parsers import MultiPartParser
from rest_framework.request import Request
from rest_framework.response import Response

from inventory import sheets
from inventory.api.fields import StrictSerializer
from inventory.api.problems import MEDIA_TYPE, Problem, Refusal
from inventory.api.viewsets import Conventions
from inventory.refusals import Code
from inventory.sheets import free

REPORT = {
    "as": "stock", "dry_run": False, "rows": 351, "created": 12, "updated": 3, "unchanged": 336,
    "unknown_columns": ["Colour"], "notes": ["Places made: Cabinet A / Row 3 / Drawer 12."],
}  # fmt: skip
PREVIEW = {
    "form": "any", "as": "stock", "dry_run": True, "notes": [], "rows": 2, "problems": 1, "to_settle": 1,
    "tables": [
        {
            "sheet": "Stock", "first_row": 14, "first_column": "A",
            "mapping": {"Wert": "value", "Anzahl": "quantity"},
            "why": {"Wert": "by its heading", "Anzahl": "by its heading"},
            "conventions": {"Wert": "decimal comma, 2,2 shows it"},
            "questions": [
                {
                    "column": "Wert", "asks": "unit", "example": "1000",
                    "choices": [
                        {"unit": "ohm", "means": "ohms: 1000 is 1k resistor"},
                        {"unit": "pF", "means": "pF: 1000 is 1n capacitor"},
                    ],
                }
            ],
            "rows": [
                {
                    "row": 15, "typed": "2,2k 5% | ca. 20", "cells": {"Wert": "2,2k 5%", "Anzahl": "ca. 20"},
                    "spec": {"kind": "resistor", "value": "2200", "tolerance_percent": "5"},
                    "spec_text": "2k2 5 % resistor", "quantity": 20, "refs": [], "place": "",
                    "doubt": ["about 20: count them when you can"], "problem": [], "choices": [],
                },
                {
                    "row": 16, "typed": "1.000 | 4", "cells": {"Wert": "1.000", "Anzahl": "4"},
                    "spec": None, "spec_text": "", "quantity": 4, "refs": [], "place": "", "doubt": [],
                    "problem": ["Wert: 1000 has no unit: say which it is of 1k resistor, 1n capacitor"],
                    "choices": [
                        {
                            "spec": {"kind": "resistor", "value": "1000"},
                            "spec_text": "1k resistor", "why": "1000 ohms",
                        },
                        {
                            "spec": {"kind": "capacitor", "value": "0.000000001"},
                            "spec_text": "1n capacitor", "why": "1000 pF",
                        },
                    ],
                },
            ],
            "skipped": [{"row": 17, "typed": "Summe | 20", "reason": "a total"}],
        }
    ],
}  # fmt: skip
BAD_CELL = sheets.BadCell("Drawers", 17, "Qty", "a few", "expected a whole number from 0 to 1,000,000,000")


class ImportSerializer(StrictSerializer):
    file = serializers.FileField(
        allow_empty_file=True,
        help_text="An xlsx workbook or a csv text table; with `form=any` also xls and ods, however laid out.",
    )
    dry_run = serializers.BooleanField(default=False, help_text="Say what it would do, and do nothing.")
    form = serializers.ChoiceField(
        choices=["ours", "any"],
        default="ours",
        help_text="`ours`: a sheet with our headings. `any`: a list as people have it, read row by row.",
    )
    mapping = serializers.CharField(
        required=False,
        help_text='Of `any`, JSON: heading -> what the column holds, `{"Wert": "value", "Nr": ""}`.',
    )
    corrections = serializers.CharField(
        required=False,
        help_text="Of `any`, JSON: a list of objects. Which rows: `row` (and `sheet`, and "
        "`first_column` of two tables side by side), or `column` and "
        "`typed` for every row with that text. What of them: `text`, `spec`, `quantity`, `place`, `refs`, "
        "`skip`. "
        "`column` and `decimal` (`,` or `.`) say how the figures of a column are written, "
        f"`column` and `unit` what those without a unit are: {', '.join(free.UNITS_OF_FIGURES)}.",
    )
    place = serializers.CharField(
        required=False, max_length=400, help_text="Of `any` as stock: where rows go that name no place."
    )
    design = serializers.CharField(required=False, max_length=120, help_text="Of `any` as design: its name.")
    revision = serializers.CharField(
        required=False, allow_blank=True, max_length=32, help_text="Of `any` as design: its revision."
    )

    def get_fields(self) -> dict[str, Any]:
        fields = super().get_fields()
        # Not declared above: `as` is no name that a class body takes.
        fields["as"] = serializers.ChoiceField(
            choices=list(sheets.IMPORTS),
            required=False,
            help_text="What is in the file; with `form=any` stock (also where it is not said) or design.",
        )
        return fields

    def validate(self, attrs: dict[str, Any]) -> dict[str, Any]:
        any_form = attrs["form"] == "any"
        wrong: dict[str, ErrorDetail] = {}
        if not any_form:
            if "as" not in attrs:
                wrong["as"] = ErrorDetail("expected what is in the file", "required")
            for name in ("mapping", "corrections", "place", "design", "revision"):
                if name in attrs:
                    wrong[name] = ErrorDetail("only goes with form=any", "contradiction")
        elif attrs.setdefault("as", "stock") not in free.TABLES:
            wrong["as"] = ErrorDetail(
                f"with form=any expected one of {', '.join(free.TABLES)}", "invalid_choice"
            )
        elif attrs["as"] == "design" and not attrs.get("design") and not attrs["dry_run"]:
            wrong["design"] = ErrorDetail("expected the name of the design", "required")
        if wrong:
            raise serializers.ValidationError(wrong)
        return attrs


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


class PartChoiceSerializer(serializers.Serializer[Any]):
    """Given back as the `spec` of a correction of the row it settles the row."""

    spec = serializers.DictField()
    spec_text = serializers.CharField()
    why = serializers.CharField(help_text="The figure and the unit that it is taken in.")


class RowReadSerializer(serializers.Serializer[Any]):
    row = serializers.IntegerField(help_text="As the spreadsheet counts.")
    typed = serializers.CharField()
    cells = serializers.DictField(child=serializers.CharField(), help_text="Heading -> what was typed.")
    spec = serializers.DictField(allow_null=True, help_text="What it is read as, in the fields of a Spec.")
    spec_text = serializers.CharField()
    quantity = serializers.IntegerField(allow_null=True)
    refs = serializers.ListField(child=serializers.CharField())
    place = serializers.CharField()
    doubt = serializers.ListField(child=serializers.CharField(), help_text="What is not certain.")
    problem = serializers.ListField(child=serializers.CharField(), help_text="What keeps the list out.")
    choices = PartChoiceSerializer(many=True, help_text="The parts that it may mean, where that is asked.")


class ChoiceSerializer(serializers.Serializer[Any]):
    """A correction of the column with this `decimal` or this `unit` settles it."""

    decimal = serializers.CharField(required=False)
    unit = serializers.CharField(required=False)
    means = serializers.CharField()


class FiguresAskedSerializer(serializers.Serializer[Any]):
    column = serializers.CharField()
    asks = serializers.ChoiceField(
        choices=["decimal", "unit"], help_text="Which sign is the decimal one, or what bare figures are in."
    )
    example = serializers.CharField()
    choices = ChoiceSerializer(many=True)


class SkippedRowSerializer(serializers.Serializer[Any]):
    row = serializers.IntegerField()
    typed = serializers.CharField()
    reason = serializers.CharField()


class TableReadSerializer(serializers.Serializer[Any]):
    sheet = serializers.CharField()
    first_row = serializers.IntegerField(help_text="The row of its headings.")
    first_column = serializers.CharField(help_text="Where it begins: A, or E of the second side by side.")
    mapping = serializers.DictField(child=serializers.CharField(allow_blank=True))
    why = serializers.DictField(child=serializers.CharField())
    conventions = serializers.DictField(child=serializers.CharField())
    questions = FiguresAskedSerializer(many=True)
    rows = RowReadSerializer(many=True)
    skipped = SkippedRowSerializer(many=True)


class ListReadSerializer(serializers.Serializer[Any]):
    """The preview of a list in any form."""

    form = serializers.CharField()
    dry_run = serializers.BooleanField()
    tables = TableReadSerializer(many=True)
    notes = serializers.ListField(child=serializers.CharField())
    rows = serializers.IntegerField(help_text="Rows that are read as parts.")
    problems = serializers.IntegerField(help_text="How many things keep the list from being imported.")
    to_settle = serializers.IntegerField(help_text="How many rows have such a thing.")

    def get_fields(self) -> dict[str, Any]:
        return {"as": serializers.ChoiceField(choices=list(free.TABLES)), **super().get_fields()}


def _problem(bad: sheets.BadRows) -> Problem:
    cells = [cell.as_dict() for cell in bad.errors]
    return Problem(422, str(bad), Code.BAD_CELLS, cells, {"errors_total": bad.total})


class ImportView(Conventions):
    """Spreadsheets in: stock, parts lists of designs, surveys of donor boards, the buy list marked."""

    parser_classes = [MultiPartParser]

    def initial(self, request: Request, *args: Any, **kwargs: Any) -> None:
        super().initial(request, *args, **kwargs)
        if request.method == "POST":  # the slow half, before the transaction in which everything is written
            self.asked = _asked(request)
            if self.asked["form"] == "any":
                self.parts = _read_any(self.asked)
                if not self.asked["dry_run"]:
                    importing = free.prepared_list(self.parts, _target(self.asked), by=self.person)
                    self.import_now = self.until_answered.enter_context(importing)
            else:
                sheet = _read(self.asked)
                if self.asked["dry_run"]:  # it needs no transaction here, and nobody waits for it
                    self.preview = self._tried(sheet)
                else:
                    importing = sheets.prepared(sheet, by=self.person)
                    self.import_now = self.until_answered.enter_context(importing)

    def dispatch(self, request: Any, *args: Any, **kwargs: Any) -> Any:
        with ExitStack() as self.until_answered:
            return super().dispatch(request, *args, **kwargs)

    def _tried(self, sheet: sheets.ReadSheet) -> sheets.Report:
        try:
            return sheets.import_read(sheet, by=self.person, dry_run=True)
        except sheets.BadRows as bad:
            raise _ImportRefused(_problem(bad)) from None

    @extend_schema(
        operation_id="imports_create",
        request={"multipart/form-data": ImportSerializer},
        examples=[
            OpenApiExample("A stock sheet", {"file": "drawers.xlsx", "as": "stock"}, request_only=True),
            OpenApiExample("A stock sheet", REPORT, response_only=True, status_codes=["200"]),
            OpenApiExample(
                "A list in any form",
                {"file": "workshop.ods", "form": "any", "dry_run": True, "mapping": '{"Wert": "value"}'},
                request_only=True,
            ),
            OpenApiExample("Its preview", PREVIEW, response_only=True, status_codes=["200"]),
            OpenApiExample(
                "A bad cell",
                _problem(sheets.BadRows([BAD_CELL], 1)).body(),
                media_type=MEDIA_TYPE,
                response_only=True,
                status_codes=["422"],
            ),
        ],
        responses={
            200: PolymorphicProxySerializer(
                component_name="ImportAnswer",
                serializers=[ReportSerializer, ListReadSerializer],
                resource_type_field_name=None,
            ),
            (422, MEDIA_TYPE): OpenApiResponse(BadCellsSerializer, "Bad cells, or a damaged file"),
        },
    )
    def post(self, request: Request) -> Response:
        """Import a spreadsheet, whole or not at all.

        A dry run says what it would do.  Of a list in any form it answers each table with what its columns
        are taken for, and each row's reading beside what was typed, with what is doubtful and what keeps it
        out; `mapping` and `corrections` given back change that.
        """
        dry_run = self.asked["dry_run"]
        try:
            if dry_run and self.asked["form"] == "any":
                about = {"form": "any", "as": self.asked["as"], "dry_run": True}
                return Response(about | self.parts.as_dict())
            report = self.preview if dry_run else self.import_now()
        except sheets.BadRows as bad:
            raise _ImportRefused(_problem(bad)) from None
        return Response(report.as_dict())


class _ImportRefused(Refusal):
    """A refusal with the status of its problem."""

    def __init__(self, problem: Problem) -> None:
        super().__init__(problem.detail, code=problem.code, errors=problem.errors, **problem.facts)
        self.status_code = problem.status


def _asked(request: Request) -> dict[str, Any]:
    serializer = ImportSerializer(data=request.data)
    serializer.is_valid(raise_exception=True)
    return cast(dict[str, Any], serializer.validated_data)


def _read(asked: dict[str, Any]) -> sheets.ReadSheet:
    file = asked["file"]
    try:
        return sheets.read_sheet(file, name=file.name, kind=asked["as"])
    except sheets.UnreadableFile as refused:
        raise _unreadable(refused) from None


def _read_any(asked: dict[str, Any]) -> free.FreeList:
    file = asked["file"]
    try:
        mapping = free.read_mapping(asked["mapping"]) if "mapping" in asked else None
        corrections = free.read_corrections(asked["corrections"]) if "corrections" in asked else []
        return free.read_list(file, file.name, mapping=mapping, corrections=corrections)
    except sheets.BadOption as refused:
        detail = ErrorDetail(refused.detail, Code.UNREADABLE)
        raise serializers.ValidationError({refused.name: [detail]}) from None
    except sheets.UnreadableFile as refused:
        raise _unreadable(refused) from None


def _target(asked: dict[str, Any]) -> free.ImportTarget:
    names = ("place", "design", "revision")
    return free.ImportTarget(asked["as"], **{name: asked.get(name, "") for name in names})


def _unreadable(refused: sheets.UnreadableFile) -> "_ImportRefused":
    code = {413: Code.TOO_LARGE, 415: Code.ANOTHER_KIND_OF_FILE}.get(refused.status, Code.DAMAGED)
    return _ImportRefused(Problem(refused.status, refused.detail, code))
