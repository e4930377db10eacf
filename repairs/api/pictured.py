"""Pictures where a row that they show is answered: of a trial, a log entry, what a person confirmed."""

from typing import Any, ClassVar

from django.db.models import Model
from drf_spectacular.utils import extend_schema_field
from rest_framework import serializers

from inventory.api.photo_links import PictureSerializer, pictures
from inventory.api.viewsets import NounViewSet
from inventory.models import Photo
from inventory.pictures import photos


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
