"""`buy/order/`: lines of the buy list put on order."""

from typing import Any

from drf_spectacular.utils import OpenApiExample, extend_schema, extend_schema_serializer
from rest_framework import serializers
from rest_framework.exceptions import ErrorDetail, ValidationError
from rest_framework.request import Request
from rest_framework.response import Response

from inventory.api.fields import PartField, StrictSerializer, kept_part
from inventory.api.viewsets import Conventions
from inventory.refusals import Code
from repairs.answers.buy.ordering import MAX_LINES, OrderLine, order
from repairs.api.fields import PiecesField, wrong
from repairs.api.purchases import ANSWERED as ORDERED
from repairs.api.purchases import PurchaseSerializer


class OrderLineSerializer(StrictSerializer):
    part = PartField()
    quantity = PiecesField(help_text="Pieces, not packs.")
    price = serializers.DecimalField(
        max_digits=12, decimal_places=4, min_value=0, required=False, allow_null=True,
        help_text="For one piece; left out, the guess that there is.",
    )  # fmt: skip

    def get_fields(self) -> dict[str, Any]:
        fields = super().get_fields()
        # Not declared above: `from` is no name that a class body takes.
        fields["from"] = serializers.CharField(
            source="bought_from", required=False, allow_blank=True, max_length=200
        )
        return fields


@extend_schema_serializer(
    examples=[
        OpenApiExample(
            "Five of a part",
            {"lines": [{"part": 12, "quantity": 5, "price": "0.30", "from": "Harbour Radio"}]},
            request_only=True,
        )
    ]
)
class OrderSerializer(StrictSerializer):
    lines = OrderLineSerializer(many=True, allow_empty=False)

    def validate_lines(self, lines: list[dict[str, Any]]) -> list[dict[str, Any]]:
        if len(lines) > MAX_LINES:
            raise ValidationError([ErrorDetail(f"at most {MAX_LINES} lines at once", Code.MAX_LENGTH)])
        return lines


@extend_schema_serializer(
    examples=[OpenApiExample("On order", {"purchases": [{**ORDERED, "part": 12}]}, response_only=True)]
)
class OrderedSerializer(serializers.Serializer[Any]):
    purchases = PurchaseSerializer(many=True, read_only=True)


class BuyOrder(Conventions):
    @extend_schema(request=OrderSerializer, responses=OrderedSerializer, operation_id="buy_order")
    def post(self, request: Request) -> Response:
        """Put lines on order: what is wanted of a part first, the rest as a new purchase.

        409 where nothing that is short wants a part: it may have been ordered just now.
        """
        serializer = OrderSerializer(data=request.data)
        serializer.is_valid(raise_exception=True)
        sent = serializer.validated_data["lines"]
        lines = [
            OrderLine(
                kept_part(line["part"]), line["quantity"], line.get("price"), line.get("bought_from", "")
            )
            for line in sent
        ]
        if len({line.part.pk for line in lines}) < len(lines):
            raise wrong("lines", "a part is on two lines: put it on one", Code.REPEATED)
        return Response({"purchases": PurchaseSerializer(order(lines), many=True).data})
