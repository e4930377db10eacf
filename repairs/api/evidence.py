"""`evidence/`: what was found out here goes out in one file, and what others found out comes in."""

from dataclasses import dataclass
from datetime import date, datetime
from typing import Annotated, Any, Self, cast

from django.http import HttpResponse
from django.shortcuts import get_object_or_404
from drf_spectacular.types import OpenApiTypes
from drf_spectacular.utils import OpenApiExample, OpenApiParameter, extend_schema
from pydantic import Field
from rest_framework import serializers
from rest_framework.parsers import MultiPartParser
from rest_framework.request import Request
from rest_framework.response import Response

from inventory.answers import Answer, WholeAnswer, answers, as_json
from inventory.api.fields import RowField, StrictSerializer, TrueOrFalse
from inventory.api.lists import bad_query
from inventory.api.versions import check_if_match, etag
from inventory.api.viewsets import Conventions
from inventory.refusals import Code
from repairs.answers import document  # noqa: F401  (makes answers known to the document)
from repairs.friends import evidence, findings
from repairs.friends.files import MAX_BYTES, BadFile
from repairs.friends.keys import signature_of
from repairs.sharing_models import EvidenceTaken, Friend

OTHERS = OpenApiParameter(
    "others", {"type": "string", "enum": ["true", "false"]},
    description="true: also what others found, with whose it is; not what is put away.",
)  # fmt: skip


@dataclass
class EvidenceFile(Answer):
    """What another workshop found out, as it is kept here: apart from what was found here."""

    id: int
    source: Annotated[str, Field(description="Whose it is.")]
    friend: int | None
    made: Annotated[date, Field(description="The day on the file.")]
    author: str
    licence: str
    from_where: Annotated[str, Field(description="Where the file says that it is from.")]
    signed_by: str
    put_away: Annotated[bool, Field(description="It is kept, but has no effect.")]
    substitutions: int
    readings: int
    windows: int
    at: datetime
    version: int

    @classmethod
    def of(cls, row: EvidenceTaken, sizes: findings.Sizes | None = None) -> Self:
        counts = (sizes or findings.sizes())[row.pk]
        return cls(
            row.pk, row.source, row.friend_id, row.made, row.author, row.licence, row.from_where,
            row.signed_by, row.put_away, counts["substitution"], counts["reading"], counts["window"],
            row.at, row.version,
        )  # fmt: skip


_FILE = EvidenceFile(
    4, "Fenland Repair Evening", 3, date(2026, 11, 20), "Fenland Repair Evening", "CC BY 4.0", "", "", False,
    2, 1, 1, datetime.fromisoformat("2026-11-28T20:15:00+00:00"), 1,
)  # fmt: skip


_LINE = findings.EvidenceLine(
    "substitution", "new", "BC547 transistor for 2N3904 transistor: seen working; turned round", ""
)


@dataclass
class EvidenceFiles(WholeAnswer):
    """What was found here that a file would hold, and the files of others that came in."""

    substitutions: Annotated[int, Field(description="Found here.")]
    readings: int
    windows: int
    taken: list[EvidenceFile]

    @classmethod
    def now(cls) -> Self:
        own = findings.evidence_document()
        sizes = findings.sizes()
        taken = [EvidenceFile.of(row, sizes) for row in EvidenceTaken.objects.order_by("source")]
        return cls(len(own.substitutions), len(own.readings), len(own.windows), taken)

    @classmethod
    def example(cls) -> Self:
        return cls(3, 7, 12, [_FILE])


@dataclass
class EvidenceFileWhole(WholeAnswer):
    """A file that came in, and all that it says."""

    file: EvidenceFile
    lines: list[findings.EvidenceLine]

    @classmethod
    def of(cls, row: EvidenceTaken) -> Self:
        return cls(EvidenceFile.of(row), findings.lines_of(row))

    @classmethod
    def example(cls) -> Self:
        return cls(_FILE, [_LINE])


@dataclass
class EvidenceBrought(WholeAnswer):
    """What a file brings, or has brought; nothing of it is one's own."""

    source: str
    made: date
    before: Annotated[date | None, Field(description="The day on the file that it replaces.")]
    entries_before: int
    signed_by: Annotated[str, Field(description="Whose signature it is, found true; blank: there is none.")]
    taken: Annotated[int | None, Field(description="By which it is put away; null after a dry run.")]
    dry_run: bool
    lines: list[findings.EvidenceLine]
    counts: dict[str, int]

    @classmethod
    def of(cls, seen: findings.EvidenceSeen, taken: EvidenceTaken | None) -> Self:
        counts = {state: sum(line.state == state for line in seen.lines) for state in findings.STATES}
        return cls(
            seen.source, seen.made, seen.before, seen.entries_before, seen.signed_by,
            taken.pk if taken else None, taken is None, list(seen.lines), counts,
        )  # fmt: skip

    @classmethod
    def example(cls) -> Self:
        counts = {"new": 1, "here": 0, "contradicts": 0}
        return cls("Fenland Repair Evening", date(2026, 11, 20), None, 0, "", 4, False, [_LINE], counts)


class EvidenceInSerializer(StrictSerializer):
    file = serializers.FileField(allow_empty_file=True, help_text="As `evidence/file/` gives it.")
    dry_run = serializers.BooleanField(default=False, help_text="Say what it would bring, and do nothing.")
    friend = RowField(
        queryset=Friend.objects.all(), required=False, allow_null=True, help_text="Whose file it is."
    )

    def get_fields(self) -> dict[str, Any]:
        # Not declared above: `source` is a field's own name for where it reads from.
        named = serializers.CharField(
            required=False, allow_blank=True, max_length=120,
            help_text="Whose it is where no friend is named; else what the file says.",
        )  # fmt: skip
        return {**super().get_fields(), "source": named}


AWAY = OpenApiExample("It has no effect", {"put_away": True}, request_only=True)


class PutAwaySerializer(StrictSerializer):
    put_away = TrueOrFalse(help_text="true: it is kept, but has no effect.")


def evidence_of(file: Any) -> evidence.EvidenceDocument:
    """The uploaded file, read.  BadFile where it is none."""
    if (file.size or 0) > MAX_BYTES:
        raise BadFile(Code.TOO_LARGE, f"at most {MAX_BYTES} bytes are taken here", status=413)
    return evidence.read_evidence(file.read())


class EvidenceView(Conventions):
    @answers(EvidenceFiles, "One file of a friend", operation_id="evidence_retrieve")
    def get(self, request: Request) -> Response:
        """How much was found here, and what others found."""
        return Response(as_json(EvidenceFiles.now()))


class EvidenceFileView(Conventions):
    parser_classes = [MultiPartParser]

    @property
    def query_parameters(self) -> Any:  # type: ignore[override]
        return (OTHERS,) if self.request is None or self.request.method in ("GET", "HEAD") else ()

    @extend_schema(
        responses={(200, "application/octet-stream"): OpenApiTypes.BINARY},
        operation_id="evidence_file_retrieve",
    )
    def get(self, request: Request) -> HttpResponse:
        """What was found out here, in one file: no people, prices or places, but in notes."""
        others = request.query_params.get("others", "false")
        if others not in ("true", "false"):
            raise bad_query("others", "expected true or false", Code.INVALID_CHOICE)
        made = findings.evidence_document(others=others == "true")
        return HttpResponse(
            evidence.as_text(made, signature_of),
            content_type="application/octet-stream",
            headers={"Content-Disposition": f'attachment; filename="evidence-{made.made}.json"'},
        )

    @answers(
        EvidenceBrought,
        "It came in",
        [OpenApiExample("Look at it first", {"file": "evidence.json", "dry_run": True}, request_only=True)],
        request={"multipart/form-data": EvidenceInSerializer},
        operation_id="evidence_file_create",
    )
    def post(self, request: Request) -> Response:
        """Take in what another workshop found out, in place of its last file; it settles nothing here."""
        serializer = EvidenceInSerializer(data=request.data)
        serializer.is_valid(raise_exception=True)
        asked = cast(dict[str, Any], serializer.validated_data)
        read, whose = evidence_of(asked["file"]), (asked.get("source", ""), asked.get("friend"))
        if asked["dry_run"]:
            taken, seen = None, findings.look(read, *whose)
        else:
            taken, seen = findings.take(read, *whose, by=self.person)
        return Response(as_json(EvidenceBrought.of(seen, taken)))


class EvidenceTakenView(Conventions):
    versioned = True

    @answers(EvidenceFileWhole, "One line", operation_id="evidence_file_lines")
    def get(self, request: Request, pk: str) -> Response:
        """All that a file of another workshop says, beside what was found here."""
        return self.answer(get_object_or_404(EvidenceTaken, pk=pk))

    @answers(
        EvidenceFileWhole, "Put away", [AWAY], request=PutAwaySerializer, operation_id="evidence_put_away"
    )
    def patch(self, request: Request, pk: str) -> Response:
        """Put it away, so that it has no effect, or bring it out again."""
        taken = get_object_or_404(EvidenceTaken, pk=pk)
        check_if_match(request, taken)
        serializer = PutAwaySerializer(data=request.data, partial=True)
        serializer.is_valid(raise_exception=True)
        if "put_away" in serializer.validated_data:
            findings.put_away(taken, serializer.validated_data["put_away"])
        return self.answer(taken)

    @extend_schema(responses={204: None}, operation_id="evidence_destroy")
    def delete(self, request: Request, pk: str) -> Response:
        """Delete what came with a file; what was found here is not touched."""
        taken = get_object_or_404(EvidenceTaken, pk=pk)
        check_if_match(request, taken)
        taken.delete()
        return Response(status=204)

    def answer(self, taken: EvidenceTaken) -> Response:
        return Response(as_json(EvidenceFileWhole.of(taken)), headers={"ETag": etag(taken)})
