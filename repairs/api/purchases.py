"""`purchases/`: wanted, ordered, received; what is received becomes a lot."""

from typing import Any

from django.db.models import QuerySet
from django_filters import ModelChoiceFilter
from drf_spectacular.utils import OpenApiExample, extend_schema_serializer
from rest_framework import serializers

from inventory.api.fields import PartField, RowField, StrictSerializer, kept_part
from inventory.api.lists import AnyOfFilter
from inventory.api.owners import OwnerField, OwnerFilter
from inventory.api.spec_filters import SpecFilters
from inventory.api.versions import claim
from inventory.api.viewsets import NounViewSet
from inventory.ledger import spot_of
from inventory.models import Part, Place
from inventory.refusals import Code
from repairs import purchases
from repairs.api.fields import PiecesField, wrong
from repairs.models import Purchase

SENT = {
    "part": {"kind": "ic", "number": "74LS245", "package": "dip-20"}, "quantity": 4, "from": "Harbour Radio",
    "price": "0.85", "state": "ordered",
}  # fmt: skip
ANSWERED = {
    "id": 6, "part": 12, "part_name": "ic 74LS245, dip-20", "spec_text": "ic 74LS245, dip-20", "quantity": 4,
    "from": "Harbour Radio", "price": "0.85", "state": "ordered", "lot": None, "place": None,
    "owner": "robin", "note": "", "at": "2026-11-18T09:12:00Z", "version": 1,
}  # fmt: skip


@extend_schema_serializer(
    examples=[
        OpenApiExample("Four, ordered", SENT, request_only=True),
        OpenApiExample("Four, ordered", ANSWERED, response_only=True),
    ]
)
class PurchaseSerializer(StrictSerializer):
    id = serializers.IntegerField(read_only=True)
    part = PartField()
    part_name = serializers.CharField(source="part.name", read_only=True)
    spec_text = serializers.CharField(source="part.spec.text", read_only=True)
    quantity = PiecesField(
        help_text="With `received`: how many arrived; of fewer than ordered the rest stays on order."
    )
    price = serializers.DecimalField(
        max_digits=12, decimal_places=4, min_value=0, normalize_output=True, required=False, allow_null=True,
        help_text="A guess, for one piece.",
    )  # fmt: skip
    state = serializers.ChoiceField(Purchase.State.choices, required=False)
    to = RowField(
        queryset=Place.objects.all(),
        write_only=True,
        required=False,
        help_text="With `received`: where they are put.",
    )
    owner = OwnerField(
        help_text="Whose it becomes when it is received, by name; null: everybody's. What is ordered "
        "from the list for the jobs of one person alone is theirs."
    )
    note = serializers.CharField(required=False, allow_blank=True, max_length=400)
    lot = serializers.IntegerField(
        source="lot_id", read_only=True, allow_null=True, help_text="What it became."
    )
    place = serializers.IntegerField(source="place_id", read_only=True, allow_null=True)
    at = serializers.DateTimeField(read_only=True)
    version = serializers.IntegerField(read_only=True)

    def get_fields(self) -> dict[str, Any]:
        fields = super().get_fields()
        # Not declared above: `from` is no name that a class body takes.
        fields["from"] = serializers.CharField(
            source="bought_from", required=False, allow_blank=True, max_length=200
        )
        return fields

    def validate(self, attrs: dict[str, Any]) -> dict[str, Any]:
        receives = attrs.get("state") == Purchase.State.RECEIVED
        if receives and "to" not in attrs and (self.instance is None or self.instance.lot_id is None):
            raise wrong("to", "say where the pieces are put", Code.REQUIRED)
        if "to" in attrs and not receives:
            raise wrong("to", "only with state received", Code.CONTRADICTION)
        return attrs


@extend_schema_serializer(
    examples=[OpenApiExample("Arrived", {"state": "received", "to": 12}, request_only=True)]
)
class PurchaseChangeSerializer(PurchaseSerializer):
    """What can be changed.  Of what was received only price and note."""


class PurchaseFilters(SpecFilters):
    spec_path = "part__spec__"

    part = ModelChoiceFilter(queryset=Part.objects.all())
    state = AnyOfFilter(choices=Purchase.State.choices)
    owner = OwnerFilter()

    class Meta:
        model = Purchase
        fields: list[str] = []


class PurchaseViewSet(NounViewSet):
    """What is to be bought, is on its way, or came."""

    model = Purchase
    http_method_names = ["get", "head", "post", "patch", "delete"]
    serializer_class = PurchaseSerializer
    change_serializer_class = PurchaseChangeSerializer
    filterset_class = PurchaseFilters
    search_texts = ("part__name", "part__spec__text", "bought_from", "note")
    search_spec = "part__spec__"
    orderings = {
        "part": "part__name", "kind": "part__spec__kind", "value": "part__spec__value", "state": "state",
        "price": "price", "at": "at",
    }  # fmt: skip

    def get_queryset(self) -> QuerySet[Purchase]:
        return Purchase.objects.select_related("part__spec", "owner")

    def make(self, data: dict[str, Any]) -> Purchase:
        to, state = data.pop("to", None), data.pop("state", Purchase.State.WANTED)
        purchases.refuse_in_the_name_of(data.get("owner"), by=self.person)
        part = kept_part(data.pop("part"))
        if state != Purchase.State.RECEIVED:
            return Purchase.objects.create(part=part, state=state, **data)
        made = Purchase.objects.create(part=part, state=Purchase.State.ORDERED, **data)
        return purchases.receive(made, spot_of(to), by=self.person)

    def change(self, row: Purchase, data: dict[str, Any]) -> None:
        to = data.pop("to", None)
        if "part" in data:
            data["part"] = kept_part(data["part"])
        if data.get("state") == Purchase.State.RECEIVED and to is not None:
            del data["state"]
            arrived = data.pop("quantity", None)
            purchases.refuse_change(row, by=self.person, **data)
            if data:
                claim(row, **data)
            purchases.receive(row, spot_of(to), by=self.person, quantity=arrived)
            return
        purchases.refuse_change(row, by=self.person, **data)
        claim(row, **data)

    def remove(self, row: Purchase) -> None:
        purchases.cancel(row, by=self.person)
