"""`checksums/`: sum, XOR and CRC-32 of an image, compared with a label or a list."""

from typing import Any, cast

from drf_spectacular.utils import OpenApiExample, extend_schema, extend_schema_serializer
from rest_framework import serializers
from rest_framework.parsers import MultiPartParser
from rest_framework.request import Request
from rest_framework.response import Response

from inventory.api.fields import RefField, RowField, StrictSerializer
from inventory.api.problems import TooLarge
from inventory.api.viewsets import Conventions
from inventory.models import Board, Lot
from inventory.refusals import Code
from repairs import image_checksums
from repairs.api.fields import wrong
from repairs.api.trials import TrialReasonSerializer
from repairs.models import Trial
from repairs.proving.checksum import (
    LARGEST,
    LONGEST,
    KnownImage,
    TooManyListed,
    UnreadableChecksum,
    read_checksums,
    read_list,
)

ANSWERED = {
    "size": 2048, "sum": "9C41", "xor": "5A", "crc32": "1A2B3C4D", "verdict": "good",
    "reasons": [
        {"code": "matches", "detail": "sum 9C41, listed 9C41", "source": "common practice, no source"}
    ],
    "matches": ["monitor 1.2"], "trial": 41,
}  # fmt: skip


class ImageSerializer(StrictSerializer):
    """An image and what it should come to.  With a lot, the comparison is written down as its trial."""

    file = serializers.FileField(allow_empty_file=False, help_text=f"At most {LARGEST} bytes.")
    expected = serializers.CharField(
        required=False, allow_blank=True, max_length=LONGEST, help_text="As on the label: `sum 9C41`."
    )
    list = serializers.CharField(
        required=False, allow_blank=True, max_length=40_000,
        help_text="Known images, one a line: a name, a colon, and its checksums.",
    )  # fmt: skip
    lot = RowField(queryset=Lot.objects.select_related("part__spec"), required=False, allow_null=True)
    fixture = RowField(
        queryset=Board.objects.select_related("design", "place"), required=False, allow_null=True,
        help_text="The board in which it was read.",
    )  # fmt: skip
    fixture_ref = RefField(required=False)
    note = serializers.CharField(required=False, allow_blank=True, max_length=400)

    def validate_expected(self, text: str) -> dict[str, int]:
        return _read(text) if text.strip() else {}

    def validate_list(self, text: str) -> tuple[KnownImage, ...]:
        try:
            return read_list(text)
        except TooManyListed as many:
            raise serializers.ValidationError(str(many), Code.TOO_MANY) from None
        except UnreadableChecksum as unread:
            raise serializers.ValidationError(str(unread), Code.UNREADABLE) from None

    def validate(self, attrs: dict[str, Any]) -> dict[str, Any]:
        if attrs.get("lot") is None and attrs.get("fixture") is not None:
            raise wrong("lot", "say the lot that was read in that board", Code.REQUIRED)
        if bool(attrs.get("fixture_ref")) and attrs.get("fixture") is None:
            raise wrong("fixture", "say the board that has this position", Code.REQUIRED)
        return attrs


def _read(text: str) -> dict[str, int]:
    try:
        return read_checksums(text)
    except UnreadableChecksum as unread:
        raise serializers.ValidationError(str(unread), Code.UNREADABLE) from None


@extend_schema_serializer(examples=[OpenApiExample("As on the label", ANSWERED, response_only=True)])
class ChecksumsSerializer(serializers.Serializer[Any]):
    """The checksums in hexadecimal, the verdict against what was expected, and known images that agree."""

    size = serializers.IntegerField()
    sum = serializers.CharField(help_text="The bytes added up, last 16 bits.")
    xor = serializers.CharField()
    crc32 = serializers.CharField()
    verdict = serializers.ChoiceField(Trial.Verdict.choices)
    reasons = TrialReasonSerializer(many=True)
    matches = serializers.ListField(child=serializers.CharField())
    trial = serializers.IntegerField(allow_null=True)


class ChecksumsView(Conventions):
    parser_classes = (MultiPartParser,)

    @extend_schema(
        request={"multipart/form-data": ImageSerializer},
        responses={201: ChecksumsSerializer},
        operation_id="checksums_create",
    )
    def post(self, request: Request) -> Response:
        """Sum, XOR and CRC-32 of an uploaded image; a bad one in a board condemns no part while that is
        unsettled.
        """
        read = ImageSerializer(data=request.data)
        read.is_valid(raise_exception=True)
        data = read.validated_data
        found = image_checksums.compare_image(
            _image(data["file"]), expected=data.get("expected") or {}, listed=data.get("list", ())
        )
        trial = None
        if data.get("lot") is not None:
            trial = image_checksums.write_down(
                found, data["lot"], by=self.person, fixture=data.get("fixture"),
                fixture_ref=data.get("fixture_ref", ""), note=data.get("note", ""),
            )  # fmt: skip
        body = {
            "size": found.checksums.size,
            **found.checksums.written(),
            "verdict": found.judgement.verdict,
            "reasons": [vars(reason) for reason in found.judgement.reasons],
            "matches": list(found.names),
            "trial": trial.pk if trial is not None else None,
        }
        return Response(body, status=201)


def _image(file: Any) -> bytes:
    if (file.size or 0) > LARGEST:
        raise TooLarge(f"the image has {file.size} bytes; at most {LARGEST} are taken here", most=LARGEST)
    return cast(bytes, file.read())
