"""Pictures where a row that they show is answered: of a trial, a log entry, what a person confirmed."""

from collections.abc import Iterable
from typing import Any, ClassVar

from django.db.models import Model
from drf_spectacular.utils import extend_schema_field
from rest_framework import serializers
from rest_framework.request import Request
from rest_framework.reverse import reverse

from inventory.api.viewsets import NounViewSet
from inventory.models import Photo
from inventory.pictures import photos

PICTURE = {
    "id": 7, "note": "stripe to the left", "image": "http://localhost:8000/api/v1/photos/7/image",
    "enlarge": "http://localhost:8000/api/v1/photos/7/enlarge.png",
}  # fmt: skip


class PictureSerializer(serializers.Serializer[Any]):
    id = serializers.IntegerField()
    note = serializers.CharField(allow_blank=True)
    image = serializers.CharField(help_text="Where the picture is.")
    enlarge = serializers.CharField(help_text="Where parts of it are enlarged.")


def picture(photo: Photo, request: Request | None) -> dict[str, Any]:
    return {
        "id": photo.pk,
        "note": photo.note,
        "image": reverse("photo-image", args=[photo.pk], request=request),
        "enlarge": reverse("photo-enlarge", args=[photo.pk], request=request),
    }


def pictures(shown: Iterable[Photo], request: Request | None) -> list[dict[str, Any]]:
    return [picture(photo, request) for photo in shown]


@extend_schema_field(PictureSerializer(many=True))
class PicturesField(serializers.Field[Any, Any, Any, Any]):
    """The pictures of a row, which its view looked up for the whole page (`Pictured`)."""

    def __init__(self) -> None:
        super().__init__(read_only=True, source="*", help_text="Sent to `photos/`, oldest first.")

    def to_representation(self, value: Model) -> list[dict[str, Any]]:
        found: dict[int, list[Photo]] = self.context["pictures"]
        return pictures(found.get(value.pk, []), self.context.get("request"))


class Pictured(NounViewSet):
    """A noun whose rows may be shown by photos: looks them up once for a page."""

    photo_subject: ClassVar[str]

    def get_serializer(self, *args: Any, **kwargs: Any) -> Any:
        rows = args[0] if args else []
        listed = [rows] if isinstance(rows, Model) else rows or []
        shown = photos.shown(self.photo_subject, [row.pk for row in listed])
        return super().get_serializer(
            *args, **{"context": {**self.get_serializer_context(), "pictures": shown}, **kwargs}
        )
