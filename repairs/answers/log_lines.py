"""Lines of a bench log as they are answered: in `jobs/{id}/log/`, in the report and at a terminal."""

from collections.abc import Iterable, Sequence
from datetime import UTC, datetime
from typing import Annotated, Any

from drf_spectacular.utils import OpenApiExample, extend_schema_serializer
from pydantic import GetPydanticSchema, PlainSerializer, SerializationInfo, WithJsonSchema
from pydantic_core import core_schema
from rest_framework import serializers
from rest_framework.request import Request

from inventory.answers import COMPONENT
from inventory.api.photo_links import PictureSerializer, pictures
from repairs.benchlog import LogLine

LINE = {
    "at": "2026-11-22T09:10:00Z", "kind": "fit", "text": "ic 2716, dip: Tray 1 to Plover C bare IC10",
    "by": "robin", "row": 204, "note": "", "photos": [],
}  # fmt: skip


@extend_schema_serializer(examples=[OpenApiExample("A piece was fitted", LINE, response_only=True)])
class LineSerializer(serializers.Serializer[Any]):
    """`picture`: of the job, or of its board; those of a note, a trial or a confirmation are on its line."""

    at = serializers.DateTimeField()
    kind = serializers.CharField(help_text="A movement's kind, or note, task, done, trial, link, rail …")
    text = serializers.CharField()
    by = serializers.CharField(allow_blank=True)
    row = serializers.IntegerField(help_text="The id of what says more.")
    note = serializers.CharField(allow_blank=True)
    photos = PictureSerializer(many=True)


def lines_as_json(lines: Iterable[LogLine], request: Request | None) -> list[dict[str, Any]]:
    """Lines of a time line as the API answers them."""
    rows = [{**vars(line), "photos": pictures(line.photos, request)} for line in lines]
    return [dict(each) for each in LineSerializer(rows, many=True).data]


def _of_answer(lines: Sequence[LogLine], info: SerializationInfo) -> list[dict[str, Any]]:
    return lines_as_json(lines, (info.context or {}).get("request"))


LogLines = Annotated[
    Sequence[LogLine],
    GetPydanticSchema(lambda *_: core_schema.any_schema()),
    PlainSerializer(_of_answer),
    WithJsonSchema({"type": "array", "items": {COMPONENT: "Line"}}),
]
EXAMPLE_LINE = LogLine(
    datetime(2026, 11, 22, 9, 10, tzinfo=UTC),
    "fit",
    "ic 2716, dip: Tray 1 to Plover C bare IC10",
    "robin",
    204,
)
