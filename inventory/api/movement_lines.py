"""A line of the ledger as the API tells it."""

from typing import Any

from drf_spectacular.utils import OpenApiExample, extend_schema_serializer
from rest_framework import serializers

from inventory.models import Movement

LINE = {
    "id": 88, "kind": "lift", "lot": 5, "to_lot": None, "quantity": 1,
    "from": 40, "from_name": "Plover donor", "from_ref": "C7", "to": 12, "to_name": "Tray 1", "to_ref": "",
    "at": "2026-03-14T19:20:00Z", "by": "robin", "note": "", "borrow": False,
    "settles": None, "reverses": None,
}  # fmt: skip


@extend_schema_serializer(examples=[OpenApiExample("A lift", LINE, response_only=True)])
class MovementLineSerializer(serializers.ModelSerializer[Movement]):
    """Read with `select_related("from_place", "to_place", "by")`."""

    from_name = serializers.CharField(source="from_place.name", read_only=True)
    to_name = serializers.CharField(source="to_place.name", read_only=True)
    by = serializers.CharField(source="by.username", default=None, read_only=True, allow_null=True)

    class Meta:
        model = Movement
        fields = [
            "id", "kind", "lot", "to_lot", "quantity", "from_name", "from_ref", "to_name", "to_ref", "at",
            "by", "note", "borrow", "settles", "reverses",
        ]  # fmt: skip
        read_only_fields = fields

    def get_fields(self) -> dict[str, Any]:
        fields = super().get_fields()
        # Not declared above: `from` is no name that a class body takes.
        fields["from"] = serializers.IntegerField(source="from_place_id", read_only=True)
        fields["to"] = serializers.IntegerField(source="to_place_id", read_only=True)
        return fields
