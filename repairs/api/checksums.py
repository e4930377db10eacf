"""`checksums/`: sum, XOR and CRC-32 of an image, compared with a label or a list."""

from dataclasses import dataclass
from typing import Annotated, Any, Self, cast

from pydantic import Field
from rest_framework import serializers
from rest_framework.parsers import MultiPartParser
from rest_framework.request import Request
from rest_framework.response import Response

from inventory.answers import WholeAnswer, answers, as_json, one_of
from inventory.api.fields import RefField, RowField, StrictSerializer
from inventory.api.problems import TooLarge
from inventory.api.viewsets import Conventions
from inventory.models import Board, Lot
from inventory.refusals import Code
from repairs import image_checksums
from repairs.answers.trial_parts import TrialReasons
from repairs.api.fields import wrong
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


@dataclass
class Checksums(WholeAnswer):
    """The checksums in hexadecimal, the verdict against what was expected, and known images that agree."""

    size: int
    sum: Annotated[str, Field(description="The bytes added up, last 16 bits.")]
    xor: str
    crc32: str
    verdict: Annotated[str, one_of(Trial.Verdict.values)]
    reasons: TrialReasons
    matches: list[str]
    trial: int | None

    @classmethod
    def example(cls) -> Self:
        reason = {
            "code": "matches", "detail": "sum 9C41, listed 9C41", "source": "common practice, no source",
        }  # fmt: skip
        return cls(2048, "9C41", "5A", "1A2B3C4D", "good", [reason], ["monitor 1.2"], 41)


class ChecksumsView(Conventions):
    parser_classes = (MultiPartParser,)

    @answers(
        Checksums,
        "As on the label",
        status=201,
        request={"multipart/form-data": ImageSerializer},
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
        answer = Checksums(
            found.checksums.size, **found.checksums.written(), verdict=found.judgement.verdict,
            reasons=[vars(reason) for reason in found.judgement.reasons], matches=list(found.names),
            trial=None,
        )  # fmt: skip
        if data.get("lot") is not None:
            answer.trial = image_checksums.write_down(
                found, data["lot"], by=self.person, fixture=data.get("fixture"),
                fixture_ref=data.get("fixture_ref", ""), note=data.get("note", ""),
            ).pk  # fmt: skip
        return Response(as_json(answer), status=201)


def _image(file: Any) -> bytes:
    if (file.size or 0) > LARGEST:
        raise TooLarge(f"the image has {file.size} bytes; at most {LARGEST} are taken here", most=LARGEST)
    return cast(bytes, file.read())
