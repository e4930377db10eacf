"""`buy/`: what is left to buy for the open jobs, and ordering it."""

from decimal import Decimal
from typing import Any

from drf_spectacular.utils import OpenApiExample, OpenApiParameter, extend_schema, extend_schema_serializer
from rest_framework import serializers
from rest_framework.exceptions import ErrorDetail, ValidationError
from rest_framework.request import Request
from rest_framework.response import Response

from inventory.api.designs import ReasonSerializer
from inventory.api.fields import PartField, SpecSerializer, StrictSerializer, kept_part
from inventory.api.lists import bad_query
from inventory.api.viewsets import Conventions
from inventory.spec import Spec
from repairs.api.fields import PiecesField, open_jobs, reasons, truth, wrong
from repairs.api.of_board import one_of
from repairs.api.purchases import ANSWERED as ORDERED
from repairs.api.purchases import PurchaseSerializer
from repairs.buy_list import MOST_LINES, Item, OrderLine, Set, ToBuy, Waiting, order, read_postage, to_buy

GRADES_BOUGHT = ("same", "drop_in", "with_note")
FILTERS = (
    OpenApiParameter("job", int, many=True, description="Only what these jobs lack. May be repeated."),
    OpenApiParameter("borrow", bool, description="Also draw on working boards."),
    OpenApiParameter("ask", bool, description="Also draw on pieces that a person must decide on."),
    OpenApiParameter(
        "postage", {"type": "string", "pattern": r"^[0-9]{1,6}(\.[0-9]{1,2})?$"},
        description="For the whole order: shared over the lines by price, or evenly where none is known.",
    ),
)  # fmt: skip
_CAN = Spec.from_dict({"kind": "capacitor", "value": "100u", "volts": "50", "dielectric": "aluminium"})
ANSWERED = {
    "totals": {
        "lines": 1, "pieces": 5, "price": "1.5", "known_price": "1.5", "postage": "2.5", "completes": 1,
    },
    "results": [
        {
            "part": 12, "name": _CAN.text, "spec": _CAN.to_dict(), "spec_text": _CAN.text, "needed": 3,
            "packs": 1, "pack_size": 5, "pieces": 5, "for_stock": 2, "wanted": 0, "price_each": "0.3",
            "price": "1.5", "postage": "2.5", "from": "Harbour Radio", "completes": [4],
            "jobs": [
                {
                    "job": 4, "name": "Plover C rebuild", "refs": ["C7", "C8", "C9"], "quantity": 3,
                    "spec_text": _CAN.text, "grade": "same", "reasons": [],
                }
            ],
        }
    ],
    "completions": [{"lines": [0], "price": "1.5", "jobs": [4]}],
}  # fmt: skip


class ServedJobSerializer(serializers.Serializer[Any]):
    """A job that a line serves; `spec_text` is what it requires."""

    job = serializers.IntegerField()
    name = serializers.CharField()
    refs = serializers.ListField(child=serializers.CharField())
    quantity = serializers.IntegerField()
    spec_text = serializers.CharField()
    grade = one_of(GRADES_BOUGHT)
    reasons = ReasonSerializer(many=True)


class BuyLineSerializer(serializers.Serializer[Any]):
    """One thing to buy.  Money is a plain decimal in the bench's currency; null where it is not known."""

    part = serializers.IntegerField(allow_null=True, help_text="null: the bench has no such part yet.")
    name = serializers.CharField()
    spec = SpecSerializer()
    spec_text = serializers.CharField()
    needed = serializers.IntegerField(help_text="Pieces that jobs lack.")
    packs = serializers.IntegerField()
    pack_size = serializers.IntegerField()
    pieces = serializers.IntegerField(help_text="In whole packs.")
    for_stock = serializers.IntegerField(help_text="Pieces beyond the need.")
    wanted = serializers.IntegerField(help_text="Pieces that purchases in state wanted ask for.")
    price_each = serializers.CharField(allow_null=True, help_text="The guess for one piece.")
    price = serializers.CharField(allow_null=True, help_text="For all packs.")
    postage = serializers.CharField(allow_null=True, help_text="The line's share.")
    completes = serializers.ListField(
        child=serializers.IntegerField(), help_text="Jobs that lack nothing once this line alone has come."
    )
    jobs = ServedJobSerializer(many=True)

    def get_fields(self) -> dict[str, Any]:
        giver = serializers.CharField(allow_blank=True, help_text="Who it was bought from last.")
        return {**super().get_fields(), "from": giver}


class CompletionSerializer(serializers.Serializer[Any]):
    """A smallest set of lines that completes jobs: places in `results`, from 0."""

    lines = serializers.ListField(child=serializers.IntegerField())
    price = serializers.CharField(allow_null=True)
    jobs = serializers.ListField(child=serializers.IntegerField())


class BuyTotalsSerializer(serializers.Serializer[Any]):
    lines = serializers.IntegerField()
    pieces = serializers.IntegerField()
    price = serializers.CharField(allow_null=True, help_text="null where that of a line is not known.")
    known_price = serializers.CharField(help_text="Of the lines whose price is known.")
    postage = serializers.CharField(allow_null=True)
    completes = serializers.IntegerField(help_text="Jobs that lack nothing once all of it has come.")


@extend_schema_serializer(examples=[OpenApiExample("One line", ANSWERED, response_only=True)])
class BuySerializer(serializers.Serializer[Any]):
    """Lines by how soon they complete a job; the sets by number of lines, price and the jobs' rank."""

    totals = BuyTotalsSerializer()
    results = BuyLineSerializer(many=True)
    completions = CompletionSerializer(many=True)


class BuyView(Conventions):
    query_parameters = FILTERS

    @extend_schema(responses=BuySerializer, operation_id="buy_list")
    def get(self, request: Request) -> Response:
        """What is left to buy after the best use of everything free: merged across jobs, in whole packs."""
        return Response(
            as_json(
                to_buy(
                    open_jobs(request),
                    postage=_postage(request),
                    borrow=truth(request, "borrow"),
                    ask=truth(request, "ask"),
                )
            )
        )


def _postage(request: Request) -> Decimal | None:
    said = request.query_params.get("postage")
    if said is None:
        return None
    try:
        return read_postage(said)
    except ValueError as refused:
        raise bad_query("postage", str(refused)) from None


def as_json(found: ToBuy) -> dict[str, Any]:
    return {
        "totals": {
            "lines": len(found.items),
            "pieces": sum(item.pieces for item in found.items),
            "price": money(found.price),
            "known_price": money(found.known_price),
            "postage": money(found.postage),
            "completes": len({job for each in found.sets for job in each.jobs}),
        },
        "results": [_item(item) for item in found.items],
        "completions": [_set(each) for each in found.sets],
    }


def money(amount: Decimal | None) -> str | None:
    """A plain decimal without needless zeros.

    >>> money(Decimal("1.5000")), money(Decimal("120"))
    ('1.5', '120')
    """
    if amount is None:
        return None
    text = f"{amount:f}"
    return text.rstrip("0").rstrip(".") if "." in text else text


def _item(item: Item) -> dict[str, Any]:
    spec = item.spec.to_dict()
    return {
        "part": item.part, "name": item.name, "spec": spec, "spec_text": spec["spec_text"],
        "needed": item.quantity, "packs": item.packs, "pack_size": item.pack_size, "pieces": item.pieces,
        "for_stock": item.for_stock, "wanted": item.wanted, "price_each": money(item.price_each),
        "price": money(item.price), "postage": money(item.postage), "from": item.bought_from,
        "completes": list(item.completes), "jobs": [_waiting(each) for each in item.jobs],
    }  # fmt: skip


def _waiting(each: Waiting) -> dict[str, Any]:
    return {
        "job": each.wanting.job, "name": each.wanting.name, "refs": each.wanting.refs,
        "quantity": each.quantity, "spec_text": each.spec.text,
        "grade": "same" if each.fit is None else each.fit.grade,
        "reasons": [] if each.fit is None else reasons(each.fit),
    }  # fmt: skip


def _set(each: Set) -> dict[str, Any]:
    return {"lines": list(each.lines), "price": money(each.price), "jobs": list(each.jobs)}


# --- ordering


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
        if len(lines) > MOST_LINES:
            raise ValidationError([ErrorDetail(f"at most {MOST_LINES} lines at once", "max_length")])
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
            raise wrong("lines", "a part stands on two lines: want one", "repeated")
        return Response({"purchases": PurchaseSerializer(order(lines), many=True).data})
