"""`attachments/`: files kept with a part or a design, and the file itself."""

from typing import Any, cast

from django.db.models import QuerySet
from django.http import HttpResponse, QueryDict
from django.shortcuts import get_object_or_404
from django.utils.http import content_disposition_header
from django_filters import ModelChoiceFilter
from drf_spectacular.types import OpenApiTypes
from drf_spectacular.utils import OpenApiExample, extend_schema, extend_schema_serializer
from rest_framework import serializers
from rest_framework.exceptions import ErrorDetail, NotFound, ValidationError
from rest_framework.parsers import MultiPartParser
from rest_framework.request import Request
from rest_framework.response import Response
from rest_framework.reverse import reverse

from inventory import attachments
from inventory.api.fields import RowField, StrictSerializer
from inventory.api.lists import AskedFilters, YesNoFilter
from inventory.api.parsers import JsonBody
from inventory.api.versions import claim
from inventory.api.viewsets import Conventions, NounViewSet
from inventory.models import Attachment, Design, Part
from inventory.refusals import Code

ANSWERED = {
    "id": 4, "name": "BC547 data sheet.pdf", "type": "application/pdf", "size": 214_770, "part": 12,
    "design": None,
    "sha256": "9f86d081884c7d659a2feaa0c55ad015a3bf4f1b2b0b822cd15d6c15b0f00a08",
    "download": "http://localhost:8000/api/v1/attachments/4/file", "by": "robin",
    "at": "2026-11-20T20:15:00Z",
    "version": 1,
}  # fmt: skip
SAVED_ONLY = "default-src 'none'; sandbox"
"""The Content-Security-Policy of the file: where a browser shows it after all, nothing in it runs."""


class OwnerSerializer(StrictSerializer):
    """What a file is with: a part or a design, never both."""

    part = RowField(queryset=Part.objects.all(), required=False, allow_null=True)
    design = RowField(queryset=Design.objects.all(), required=False, allow_null=True)
    name = serializers.CharField(
        required=False, max_length=400,
        help_text="Left out: that of the file. It is made to end as a file of its type does.",
    )  # fmt: skip

    def validate(self, attrs: dict[str, Any]) -> dict[str, Any]:
        if attrs.get("part") and attrs.get("design"):
            detail = "a file is with a part or with a design"
            raise ValidationError({"design": [ErrorDetail(detail, Code.CONTRADICTION)]})
        return attrs


@extend_schema_serializer(examples=[OpenApiExample("A data sheet", ANSWERED, response_only=True)])
class AttachmentSerializer(OwnerSerializer):
    id = serializers.IntegerField(read_only=True)
    file = serializers.FileField(
        write_only=True, allow_empty_file=True,
        help_text="A PDF, a JPEG, PNG or WebP picture, or plain text in UTF-8: by its content, not its name.",
    )  # fmt: skip
    type = serializers.ChoiceField(Attachment.Type.choices, read_only=True)
    size = serializers.IntegerField(read_only=True, help_text="Bytes.")
    sha256 = serializers.CharField(source="content", read_only=True)
    download = serializers.SerializerMethodField(help_text="Where the file is.")
    by = serializers.CharField(source="by.username", read_only=True, default=None, allow_null=True)
    at = serializers.DateTimeField(read_only=True)
    version = serializers.IntegerField(read_only=True)

    def validate(self, attrs: dict[str, Any]) -> dict[str, Any]:
        if not (attrs.get("part") or attrs.get("design")):
            detail = "say the part or the design that it is with"
            raise ValidationError({"part": [ErrorDetail(detail, Code.REQUIRED)]})
        return super().validate(attrs)

    def get_download(self, row: Attachment) -> str:
        return str(reverse("attachment-file", args=[row.pk], request=self.context.get("request")))


@extend_schema_serializer(
    examples=[
        OpenApiExample("Another name", {"name": "BC547, 1996.pdf"}, request_only=True),
        OpenApiExample("Taken off the part", {"part": None}, request_only=True),
    ]
)
class AttachmentChangeSerializer(OwnerSerializer):
    """What can be changed; another file is another attachment.  With neither part nor design it is kept."""


class AttachmentFilters(AskedFilters):
    part = ModelChoiceFilter(queryset=Part.objects.all())
    design = ModelChoiceFilter(queryset=Design.objects.all())
    attached = YesNoFilter(method="is_attached", help_text="With a part or a design.")

    class Meta:
        model = Attachment
        fields: list[str] = []

    def is_attached(self, rows: QuerySet[Attachment], name: str, wanted: bool) -> QuerySet[Attachment]:
        return rows.exclude(part=None, design=None) if wanted else rows.filter(part=None, design=None)


class AttachmentViewSet(NounViewSet):
    """Data sheets and other files with parts and designs."""

    model = Attachment
    http_method_names = ["get", "head", "post", "patch", "delete"]
    serializer_class = AttachmentSerializer
    change_serializer_class = AttachmentChangeSerializer
    filterset_class = AttachmentFilters
    search_texts = ("name",)
    orderings = {"name": "name", "size": "size", "at": "at"}

    def get_parsers(self) -> list[Any]:
        return [MultiPartParser()] if self.request is None or self.request.method == "POST" else [JsonBody()]

    def get_queryset(self) -> QuerySet[Attachment]:
        return Attachment.objects.select_related("by")

    @extend_schema(
        request={"multipart/form-data": AttachmentSerializer},
        examples=[
            OpenApiExample("A data sheet", {"file": "bc547.pdf", "part": 12}, request_only=True),
            OpenApiExample("A data sheet", ANSWERED, response_only=True, status_codes=["201"]),
        ],
    )
    def create(self, request: Request, *args: Any, **kwargs: Any) -> Response:
        """Keep a file with a part or a design, byte for byte: at most 15 MiB, and 20 files with each."""
        serializer = AttachmentSerializer(
            data=cast(QueryDict, request.data), context=self.get_serializer_context()
        )
        serializer.is_valid(raise_exception=True)
        data = cast(dict[str, Any], serializer.validated_data)
        row = attachments.keep(
            data["file"].read(),
            data.get("name") or data["file"].name,
            to=data.get("part") or data["design"],
            by=self.person,
        )
        return self.answer(row, 201, Location=self.address(row))

    def change(self, row: Attachment, data: dict[str, Any]) -> None:
        if "name" in data:
            claim(row, name=attachments.fit_name(data["name"], Attachment.Type(row.type)))
        if owner := data.get("part") or data.get("design"):
            attachments.put(row, owner)
        elif "part" in data or "design" in data:
            attachments.take_off(row)

    def remove(self, row: Attachment) -> None:
        attachments.remove(row)


class AttachmentFile(Conventions):
    @extend_schema(
        responses={(200, each): OpenApiTypes.BINARY for each in Attachment.Type.values},
        operation_id="attachments_file",
    )
    def get(self, request: Request, pk: int) -> HttpResponse:
        """The file as it was sent, to be saved: never shown inside a page."""
        return file_answer(get_object_or_404(Attachment, pk=pk))


def file_answer(row: Attachment) -> HttpResponse:
    """The file to be saved under its name (RFC 6266), of no other type than it is (`nosniff`)."""
    try:
        data = attachments.file_of(row).read_bytes()
    except attachments.AttachmentLost as lost:
        raise NotFound(str(lost)) from None
    kind = "text/plain; charset=utf-8" if row.type == Attachment.Type.TEXT else row.type
    return HttpResponse(
        data, content_type=kind,
        headers={
            "Content-Disposition": content_disposition_header(True, row.name),
            "Cache-Control": "private, max-age=86400, immutable", "X-Content-Type-Options": "nosniff",
            "Content-Security-Policy": SAVED_ONLY,
        },
    )  # fmt: skip
