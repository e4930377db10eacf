"""`designs/{id}/file/`, `designs/file/`: a design goes out and comes in as one file."""

import json
from dataclasses import asdict, dataclass
from typing import Annotated, Any, Self, cast

from django.http import HttpResponse
from django.shortcuts import get_object_or_404
from django.utils.text import slugify
from drf_spectacular.types import OpenApiTypes
from drf_spectacular.utils import OpenApiExample, OpenApiParameter, extend_schema
from pydantic import Field
from rest_framework import serializers
from rest_framework.exceptions import ErrorDetail, NotFound, ValidationError
from rest_framework.parsers import MultiPartParser
from rest_framework.request import Request
from rest_framework.response import Response

from inventory import attachments
from inventory.answers import Answer, as_json, one_of
from inventory.api.fields import RowField, StrictSerializer
from inventory.api.viewsets import Conventions
from inventory.models import Design
from inventory.pictures import photos
from inventory.refusals import Code, Refused
from repairs import design_files
from repairs.answers import document  # noqa: F401  (makes answers known to the document)
from repairs.design_files import Credit, Merged, Opened
from repairs.friends import evidence, lists
from repairs.friends.files import BadFile
from repairs.friends.keys import friend_behind, signer
from repairs.proving.cautions import DEFER
from repairs.sharing_models import DesignTaken, Friend

WITHOUT = OpenApiParameter(
    "without",
    str,
    many=True,
    enum=list(design_files.LEAVABLE),
    description="Leave this out. May be repeated.",
)
ATTACHMENT = OpenApiParameter(
    "attachment",
    str,
    many=True,
    description="With this data sheet or file that is kept with it, by its number or name. May be repeated.",
)
SCHEMAS = {"design": design_files.schema, "evidence": evidence.schema, "spare": lists.schema}
"""The formats of files by name, each with what makes its JSON Schema."""


@dataclass
class DesignFileLine(Answer):
    """One thing of the design, yours beside theirs."""

    key: str
    state: Annotated[str, one_of(design_files.STATES)]
    mine: str
    theirs: str
    takes: Annotated[str, one_of(["", *design_files.TAKES], "What is taken of it; blank: nothing to choose.")]


@dataclass
class DesignBrought(Answer):
    """What a file brings, or has brought, to a design."""

    title: str
    design: Annotated[int | None, Field(description="The design it goes into; null: it is a new one.")]
    taken: Annotated[int | None, Field(description="By which it is undone; null after a dry run.")]
    dry_run: bool
    caution: Annotated[str, Field(description="Where the design names a hazard.")]
    signed_by: Annotated[str, Field(description="Whose signature it is, found true; blank: there is none.")]
    friend: Annotated[
        int | None, Field(description="Whose file it is: as was said, or by its signature; null: not known.")
    ]
    lines: list[DesignFileLine]
    counts: dict[str, int]

    @classmethod
    def of(
        cls, opened: Opened, merged: Merged, design: Design | None, taken: DesignTaken | None,
        friend: Friend | None = None,
    ) -> Self:  # fmt: skip
        lines = [DesignFileLine(**asdict(line)) for line in merged.lines]
        counts = {state: sum(line.state == state for line in lines) for state in design_files.STATES}
        caution = f"{', '.join(merged.document.hazards).replace('_', ' ')}: {DEFER}"
        number = taken.design_id if taken is not None else design.pk if design is not None else None
        return cls(
            opened.document.title, number, taken.pk if taken is not None else None, taken is None,
            caution if merged.document.hazards else "", signer(opened.signature),
            friend.pk if friend is not None else None, lines, counts,
        )  # fmt: skip

    @classmethod
    def example(cls) -> Self:
        line = DesignFileLine("positions/R1", "differs", "4k7 resistor", "5k6 resistor", "theirs")
        counts = dict.fromkeys(design_files.STATES, 0) | {"differs": 1}
        return cls("Plover timer B", 4, 7, False, "", "", None, [line], counts)


class FileInSerializer(StrictSerializer):
    file = serializers.FileField(allow_empty_file=True, help_text="A zip as `designs/{id}/file/` gives it.")
    dry_run = serializers.BooleanField(default=False, help_text="Say what it would bring, and do nothing.")
    take = serializers.ChoiceField(
        design_files.TAKES, default=design_files.BOTH,
        help_text="Where both have a thing and they differ. Nothing that only yours has is ever taken out.",
    )  # fmt: skip
    choices = serializers.CharField(
        required=False,
        max_length=400_000,
        help_text='JSON: single lines otherwise, `{"positions/R1": "mine"}`.',
    )

    friend = RowField(
        queryset=Friend.objects.all(), required=False, allow_null=True,
        help_text="Whose file it is; left out, the friend whose key signed it.",
    )  # fmt: skip

    def validate_choices(self, text: str) -> dict[str, str]:
        try:
            read = json.loads(text)
        except (ValueError, RecursionError):
            read = None
        good = isinstance(read, dict) and all(each in design_files.TAKES for each in read.values())
        if not good:
            want = f"expected an object of keys and {', '.join(design_files.TAKES)}"
            raise ValidationError([ErrorDetail(want, Code.UNREADABLE)])
        return cast(dict[str, str], read)


class CreditSerializer(StrictSerializer):
    of = serializers.ChoiceField(design_files.SECTIONS)
    author = serializers.CharField(required=False, allow_blank=True, max_length=120)
    licence = serializers.CharField(required=False, allow_blank=True, max_length=120)
    source = serializers.CharField(  # type: ignore[assignment]
        required=False, allow_blank=True, max_length=400
    )


CREDITED = {
    "credits": [
        {
            "of": "design",
            "author": "Harbour radio club",
            "licence": "CC BY 4.0",
            "source": "drawn from a board",
        }
    ]
}


class CreditsSerializer(StrictSerializer):
    """Who made what of a design, under which licence, and where it is from."""

    credits = CreditSerializer(many=True, max_length=50)  # type: ignore[call-arg]


def opened_of(file: Any) -> Opened:
    """The uploaded file, read.  BadFile where it is none."""
    if (file.size or 0) > design_files.MAX_FILE:
        raise BadFile(Code.TOO_LARGE, f"at most {design_files.MAX_FILE} bytes are taken here", status=413)
    return design_files.read(file.read())


_IN: dict[str, Any] = {
    "request": {"multipart/form-data": FileInSerializer},
    "examples": [
        OpenApiExample("Look at it first", {"file": "plover.zip", "dry_run": True}, request_only=True),
        OpenApiExample("It came in", as_json(DesignBrought.example()), response_only=True),
    ],
    "responses": {200: DesignBrought},
}


class _TakesFiles(Conventions):
    parser_classes = [MultiPartParser]

    def initial(self, request: Request, *args: Any, **kwargs: Any) -> None:
        super().initial(request, *args, **kwargs)
        if request.method == "POST":  # the slow half, before the transaction in which everything is written
            serializer = FileInSerializer(data=request.data)
            serializer.is_valid(raise_exception=True)
            self.asked = cast(dict[str, Any], serializer.validated_data)
            self.opened = opened_of(self.asked["file"])

    def brought(self, design: Design | None) -> Response:
        how = self.asked["take"], self.asked.get("choices")
        taken, friend = None, self.asked.get("friend")
        if self.asked["dry_run"]:
            friend = friend_behind(friend, self.opened.signature)
            merged = design_files.preview(self.opened, design, *how)
        else:
            taken, merged = design_files.import_design(
                self.opened, design, *how, by=self.person, friend=friend
            )
            friend = taken.friend
        return Response(as_json(DesignBrought.of(self.opened, merged, design, taken, friend)))


class DesignFilesView(_TakesFiles):
    @extend_schema(operation_id="designs_file_create", **_IN)
    def post(self, request: Request) -> Response:
        """Bring a design in: into the one of its name and revision, or as a new one."""
        return self.brought(design_files.named_as(self.opened.document))


class DesignFileView(_TakesFiles):
    @property
    def query_parameters(self) -> Any:  # type: ignore[override]
        return (WITHOUT, ATTACHMENT) if self.request is None or self.request.method in ("GET", "HEAD") else ()

    @extend_schema(
        operation_id="designs_file_retrieve",
        responses={(200, "application/zip"): OpenApiTypes.BINARY},
    )
    def get(self, request: Request, pk: str) -> HttpResponse:
        """The design in one file: `design.json` and its pictures, with what was seen on its boards, and those
        of its data sheets and files that are named.

        No people, boards or places are named in it, but in notes, symptoms and causes.
        """
        design = get_object_or_404(Design, pk=pk)
        without = request.query_params.getlist("without")
        if unknown := sorted(set(without) - set(design_files.LEAVABLE)):
            detail = f"{unknown[0][:40]}: expected one of {', '.join(design_files.LEAVABLE)}"
            raise ValidationError({"without": [ErrorDetail(detail, Code.INVALID_CHOICE)]})
        try:
            with_it = design_files.files_named(design, request.query_params.getlist("attachment"))
        except Refused as unknown_file:
            problem = ErrorDetail(unknown_file.detail, unknown_file.code)
            raise ValidationError({"attachment": [problem]}) from None
        name = slugify(str(design)) or f"design-{design.pk}"
        try:
            file = design_files.file_of(design, without, with_it)
        except (photos.PhotoLost, attachments.AttachmentLost) as lost:
            raise NotFound(str(lost)) from None
        return HttpResponse(
            file,
            content_type="application/zip",
            headers={"Content-Disposition": f'attachment; filename="{name}.zip"'},
        )

    @extend_schema(operation_id="designs_file_merge", **_IN)
    def post(self, request: Request, pk: str) -> Response:
        """Bring a file into this design, whatever name stands in it."""
        return self.brought(get_object_or_404(Design, pk=pk))


class DesignFileUndo(Conventions):
    @extend_schema(request=None, responses={204: None}, operation_id="designs_file_undo")
    def post(self, request: Request, pk: str) -> Response:
        """Put a design back as it was before a file came in, with all that came beside it."""
        design_files.undo(get_object_or_404(DesignTaken, pk=pk))
        return Response(status=204)


class DesignCreditsView(Conventions):
    @extend_schema(
        responses=CreditsSerializer, operation_id="designs_credits_retrieve",
        examples=[OpenApiExample("A club drew it", CREDITED, response_only=True)],
    )  # fmt: skip
    def get(self, request: Request, pk: str) -> Response:
        """Who made what of the design."""
        return self.answer(get_object_or_404(Design, pk=pk))

    @extend_schema(
        request=CreditsSerializer, responses=CreditsSerializer, operation_id="designs_credits_update",
        examples=[OpenApiExample("A club drew it", CREDITED)],
    )  # fmt: skip
    def put(self, request: Request, pk: str) -> Response:
        """Say who made what of the design, in place of what was said."""
        design = get_object_or_404(Design, pk=pk)
        serializer = CreditsSerializer(data=request.data)
        serializer.is_valid(raise_exception=True)
        design_files.set_credits(design, [Credit(**each) for each in serializer.validated_data["credits"]])
        return self.answer(design)

    def answer(self, design: Design) -> Response:
        rows = design.credits.order_by("id").values("of", "author", "licence", "source")
        return Response({"credits": list(rows)})


class SchemaView(Conventions):
    @extend_schema(
        responses={(200, "application/schema+json"): OpenApiTypes.OBJECT}, operation_id="schemas_retrieve"
    )
    def get(self, request: Request, name: str) -> HttpResponse:
        """The JSON Schema of a format of files: design, evidence, spare."""
        if name not in SCHEMAS:
            raise NotFound(f"there is no format {name[:40]}; there are {', '.join(SCHEMAS)}")
        return HttpResponse(
            json.dumps(SCHEMAS[name](), indent=2), content_type="application/schema+json; charset=utf-8"
        )
