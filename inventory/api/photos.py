"""`photos/`: pictures of parts, lots, designs, positions, boards, and of what other apps add to these."""

from typing import Any, cast

from django.db.models import QuerySet
from django.http import QueryDict
from django_filters import CharFilter, ModelChoiceFilter
from drf_spectacular.types import OpenApiTypes
from drf_spectacular.utils import OpenApiExample, extend_schema, extend_schema_field, extend_schema_serializer
from rest_framework import serializers
from rest_framework.exceptions import ErrorDetail, ValidationError
from rest_framework.parsers import MultiPartParser
from rest_framework.request import Request
from rest_framework.response import Response
from rest_framework.reverse import reverse

from inventory.api.fields import RefField, RowField, StrictSerializer
from inventory.api.lists import AskedFilters, YesNoFilter
from inventory.api.parsers import JsonBody
from inventory.api.problems import Refusal
from inventory.api.versions import claim
from inventory.api.viewsets import NounViewSet
from inventory.designs import SIDES
from inventory.models import Photo, Position
from inventory.pictures import photos
from inventory.pictures.photos import SUBJECTS
from inventory.pictures.taking_in import (
    DamagedPicture,
    NotAPicture,
    Picture,
    PictureError,
    PictureTooLarge,
    take_in,
)
from inventory.refusals import Code

PART_NAMES = ("file", "image", "photo", "picture")
"""What the part of the upload that is the picture may be called; the first is the name in the document."""
WITH_REF = ("board", "design")
STATUSES: tuple[tuple[type[PictureError], int, Code], ...] = (
    (NotAPicture, 415, Code.NOT_A_PICTURE),
    (PictureTooLarge, 413, Code.TOO_LARGE),
    (DamagedPicture, 422, Code.DAMAGED),
)
HERE = "http://localhost:8000/api/v1/photos/7"
ANSWERED: dict[str, Any] = {
    **dict.fromkeys(SUBJECTS), "id": 7, "board": 3, "ref": "C7", "side": "", "note": "before it came off",
    "width": 4032, "height": 3024, "size": 2_418_302,
    "image": f"{HERE}/image", "enlarge": f"{HERE}/enlarge.png",
    "by": "robin", "at": "2026-11-20T20:15:00Z", "version": 1,
}  # fmt: skip


class SubjectField(RowField):
    """One of SUBJECTS by its id; null where the photo shows something else."""

    def get_attribute(self, instance: Photo) -> int | None:
        return instance.subject_id if instance.subject == self.field_name else None

    def to_representation(self, value: Any) -> int:
        return int(value)


class AboutSerializer(StrictSerializer):
    """What a photo shows and what is said of it; read into the columns of the row."""

    ref = RefField(required=False, help_text="The position, of a board or a design.")
    side = serializers.ChoiceField(
        SIDES, required=False, allow_blank=True,
        help_text="Of a design: the picture is the whole of this side, on which its positions are pinned.",
    )  # fmt: skip
    note = serializers.CharField(required=False, allow_blank=True, max_length=400)

    def get_fields(self) -> dict[str, Any]:
        subjects = {
            name: SubjectField(queryset=model._default_manager.all(), required=False, allow_null=True)
            for name, model in SUBJECTS.items()
        }
        return {**subjects, **super().get_fields()}

    def validate(self, attrs: dict[str, Any]) -> dict[str, Any]:
        subjects = {name: attrs.pop(name) for name in SUBJECTS if name in attrs}
        shown = [name for name, row in subjects.items() if row is not None]
        if len(shown) > 1:
            detail = f"a photo shows one thing: {' or '.join(shown)}"
            raise ValidationError({name: [ErrorDetail(detail, Code.CONTRADICTION)] for name in shown[1:]})
        if shown:
            attrs |= {"subject": shown[0], "subject_id": subjects[shown[0]].pk}
        elif self.instance is not None and self.instance.subject in subjects:
            attrs |= {"subject": "", "subject_id": None}
        subject = attrs.get("subject", getattr(self.instance, "subject", ""))
        ref = attrs.get("ref", "")
        if subject not in WITH_REF:
            if ref:
                raise _wrong("ref", "a position needs its board or design", Code.REQUIRED)
            if "subject" in attrs:
                attrs["ref"] = ""  # it was a position of what the photo showed before
        elif ref and subject == "design":
            design = attrs.get("subject_id", getattr(self.instance, "subject_id", None))
            if not Position.objects.filter(design=design, ref=ref).exists():
                raise _wrong("ref", f"design {design} has no position {ref}", Code.DOES_NOT_EXIST)
        self._check_side(subject, attrs)
        return attrs

    def _check_side(self, subject: str, attrs: dict[str, Any]) -> None:
        side = attrs.get("side", getattr(self.instance, "side", ""))
        if side and (subject != "design" or attrs.get("ref", getattr(self.instance, "ref", ""))):
            if attrs.get("side"):
                raise _wrong("side", "only a design has a picture of the whole of a side", Code.CONTRADICTION)
            attrs["side"] = ""  # it was a side of what the photo showed before


def _wrong(name: str, detail: str, code: Code) -> ValidationError:
    return ValidationError({name: [ErrorDetail(detail, code)]})


@extend_schema_serializer(examples=[OpenApiExample("A position of a board", ANSWERED, response_only=True)])
class PhotoSerializer(AboutSerializer):
    id = serializers.IntegerField(read_only=True)
    file = serializers.FileField(
        write_only=True,
        allow_empty_file=True,
        help_text="A JPEG, PNG or WebP; its metadata is not kept.",
    )
    width = serializers.IntegerField(read_only=True)
    height = serializers.IntegerField(read_only=True)
    size = serializers.IntegerField(read_only=True, help_text="Bytes.")
    image = serializers.SerializerMethodField(help_text="Where the picture is.")
    enlarge = serializers.SerializerMethodField(help_text="Where parts of it are enlarged.")
    by = serializers.CharField(source="by.username", read_only=True, default=None, allow_null=True)
    at = serializers.DateTimeField(read_only=True)
    version = serializers.IntegerField(read_only=True)

    def get_image(self, photo: Photo) -> str:
        return reverse("photo-image", args=[photo.pk], request=self.context["request"])

    def get_enlarge(self, photo: Photo) -> str:
        return reverse("photo-enlarge", args=[photo.pk], request=self.context["request"])


@extend_schema_serializer(examples=[OpenApiExample("It is of a lot", {"lot": 5, "note": "print side"})])
class PhotoChangeSerializer(AboutSerializer):
    """What can be changed; another picture is another photo."""


class _PhotoFilters(AskedFilters):
    ref = CharFilter(help_text="The position, with `board` or `design`.")
    attached = YesNoFilter(method="is_attached", help_text="Shows something named.")

    class Meta:
        model = Photo
        fields: list[str] = []

    def is_attached(self, rows: QuerySet[Photo], name: str, wanted: bool) -> QuerySet[Photo]:
        return rows.exclude(subject="") if wanted else rows.filter(subject="")

    @extend_schema_field(OpenApiTypes.INT)
    def of(self, rows: QuerySet[Photo], name: str, row: Any) -> QuerySet[Photo]:
        return rows.filter(subject=name, subject_id=row.pk)


# One filter for each of SUBJECTS, which is not known before all apps are there.
PhotoFilters = type(
    "PhotoFilters",
    (_PhotoFilters,),
    {
        name: ModelChoiceFilter(queryset=model._default_manager.all(), method="of")
        for name, model in SUBJECTS.items()
    },
)


class PhotoViewSet(NounViewSet):
    """Pictures, newest first."""

    model = Photo
    http_method_names = ["get", "head", "post", "patch", "delete"]
    serializer_class = PhotoSerializer
    change_serializer_class = PhotoChangeSerializer
    filterset_class = PhotoFilters
    search_texts = ("note", "ref")
    orderings = {"at": "at", "subject": "subject", "ref": "ref"}
    default_ordering = ("-id",)

    def get_parsers(self) -> list[Any]:
        return [MultiPartParser()] if self.request is None or self.request.method == "POST" else [JsonBody()]

    def initial(self, request: Request, *args: Any, **kwargs: Any) -> None:
        super().initial(request, *args, **kwargs)
        if self.action == "create":  # the slow half, before the transaction in which the row is made
            self.upload = self._read_upload(request)

    def _read_upload(self, request: Request) -> dict[str, Any]:
        sent = cast(QueryDict, request.data).copy()
        for name in PART_NAMES[1:]:
            if name in request.FILES and "file" not in sent:
                sent["file"] = sent.pop(name)[0]
        serializer = PhotoSerializer(data=sent, context=self.get_serializer_context())
        serializer.is_valid(raise_exception=True)
        data = cast(dict[str, Any], serializer.validated_data)
        data["picture"] = taken_in(data.pop("file").read())
        return data

    def get_queryset(self) -> QuerySet[Photo]:
        return Photo.objects.select_related("by")

    @extend_schema(
        request={"multipart/form-data": PhotoSerializer},
        examples=[
            OpenApiExample(
                "A position of a board", {"file": "dsc0117.jpg", "board": 3, "ref": "C7"}, request_only=True
            ),
            OpenApiExample("A position of a board", ANSWERED, response_only=True, status_codes=["201"]),
        ],
    )
    def create(self, request: Request, *args: Any, **kwargs: Any) -> Response:
        """Keep a picture, upright and in sRGB, without place, camera or time."""
        photo = photos.keep(by=self.person, **self.upload)
        return self.answer(photo, 201, Location=self.address(photo))

    def change(self, row: Photo, data: dict[str, Any]) -> None:
        claim(row, **data)

    def remove(self, row: Photo) -> None:
        photos.remove(row)


class RefusedPicture(Refusal):
    """A file that is not taken in, with the status of its kind."""


def taken_in(data: bytes) -> Picture:
    """An uploaded picture, upright and bounded; a Refusal with the status of what is wrong with it."""
    try:
        return take_in(data)
    except PictureError as wrong:
        status, code = next((status, code) for kind, status, code in STATUSES if isinstance(wrong, kind))
        refused = RefusedPicture(str(wrong), code=code)
        refused.status_code = status
        raise refused from None
