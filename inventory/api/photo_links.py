"""Where the pictures of a row are, wherever a row is answered that pictures show."""

from collections.abc import Iterable
from typing import Any

from rest_framework import serializers
from rest_framework.request import Request
from rest_framework.reverse import reverse

from inventory.models import Photo

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
