"""`lots/`: pieces of one part with one origin and one condition, and where they are."""

from collections.abc import Mapping
from decimal import Decimal
from functools import cached_property
from typing import Any

from django.db.models import Prefetch, Q, QuerySet
from django.shortcuts import get_object_or_404
from django_filters import ModelChoiceFilter
from drf_spectacular.types import OpenApiTypes
from drf_spectacular.utils import OpenApiExample, extend_schema, extend_schema_field, extend_schema_serializer
from rest_framework import serializers
from rest_framework.decorators import action
from rest_framework.exceptions import ErrorDetail, ValidationError
from rest_framework.request import Request
from rest_framework.response import Response

from inventory import lots, ownership
from inventory.api.fields import PartField, RefField, RowField, SpecSerializer, StrictSerializer, kept_part
from inventory.api.lists import AnyOfFilter, YesNoFilter
from inventory.api.origins import OriginField
from inventory.api.owners import OwnerField, OwnerFilter
from inventory.api.several import MAX_ROWS, make_several
from inventory.api.spec_filters import SpecFilters
from inventory.api.traces import LotTraceSerializer, lot_trace
from inventory.api.versions import claim
from inventory.api.viewsets import NounViewSet
from inventory.ledger import Origin
from inventory.lots import number_on_bag
from inventory.models import MAX_METER_ERROR, Board, Holding, Lot, Movement, Part, Place
from inventory.places import paths, within
from inventory.refusals import Code
from inventory.spec import UNITS, Spec, UnreadableValue, parse_value, plain_value, print_value
from inventory.stock import with_free
from inventory.whole_numbers import MAX_PIECES

MAX_HOLDINGS = 100

FILM = {"kind": "capacitor", "value": "100n", "volts": "63", "dielectric": "film", "lead_style": "radial"}
SENT = {
    "part": FILM, "origin": {"source": "donated", "from": "estate of a club"}, "condition": "untested",
    "marking": ".1K63", "holdings": [{"place": 12, "quantity": 30}, {"place": 14, "quantity": 10}],
}  # fmt: skip
_FILM_ANSWERED = Spec.from_dict(FILM).to_dict()
ANSWERED = {
    "id": 5, "part": 12, "part_name": "100n 63 V film, radial", "spec": _FILM_ANSWERED,
    "spec_text": _FILM_ANSWERED["spec_text"],
    "origin": {"source": "donated", "board": None, "board_name": "", "ref": "", "from": "estate of a club"},
    "split_from": None, "condition": "untested", "marking": ".1K63", "measured": None, "measured_text": "",
    "measured_tolerance": None,
    "note": "",
    "holdings": [
        {"place": 12, "place_name": "Cabinet A / Drawer 7", "ref": "", "quantity": 30, "promised": 4},
        {"place": 14, "place_name": "Tray 1", "ref": "", "quantity": 10, "promised": 0},
    ],
    "quantity": 40, "promised": 4, "owner": None, "version": 1,
}  # fmt: skip
CHANGED = {"condition": "good", "measured": "98n", "note": "leakage none after an hour at 63 V"}


class HeldSerializer(serializers.ListSerializer[Any]):
    """The holdings that the view read with the lot."""

    def get_attribute(self, instance: Lot) -> Any:
        return held(instance)


class HoldingSerializer(StrictSerializer):
    place = RowField(queryset=Place.objects.all())
    place_name = serializers.SerializerMethodField(help_text="From the top: `Cabinet A / Drawer 7`.")
    ref = RefField(required=False, help_text="The position, where the place is a board.")
    quantity = serializers.IntegerField(min_value=1, max_value=MAX_PIECES, default=1)
    promised = serializers.IntegerField(read_only=True)

    class Meta:
        list_serializer_class = HeldSerializer

    def get_place_name(self, holding: Holding) -> str:
        return str(self.context["view"].paths[holding.place_id])


class MeasuredField(serializers.CharField):
    """A meter reading: text in any notation of the part's kind, answered as a plain decimal of its unit."""

    def to_internal_value(self, data: Any) -> str:
        return super().to_internal_value(f"{data:f}" if isinstance(data, Decimal) else data)

    def get_attribute(self, instance: Lot) -> Lot:  # type: ignore[override]
        return instance

    def to_representation(self, value: Lot) -> str | None:  # type: ignore[override]
        return None if value.measured is None else plain_value(value.part.spec.kind, value.measured)


class MeterErrorField(serializers.DecimalField):
    """What the meter may be off, in per cent of the reading; null: as bench meters of that kind are."""

    def __init__(self, **options: Any) -> None:
        super().__init__(
            **{
                "max_digits": 7, "decimal_places": 4, "min_value": Decimal(0), "max_value": MAX_METER_ERROR,
                "required": False, "allow_null": True, "normalize_output": True,
                "help_text": "What the meter may be off, in per cent; null: as bench meters are.", **options,
            }
        )  # fmt: skip


class HeldField(serializers.IntegerField):
    """The pieces of all holdings of a lot: `quantity` or `promised`."""

    def get_attribute(self, instance: Lot) -> int:
        return sum(getattr(holding, str(self.field_name)) for holding in held(instance))


def held(lot: Lot) -> list[Holding]:
    """Where its pieces are, as `LotViewSet.get_queryset` reads them."""
    found: list[Holding] = lot.held  # type: ignore[attr-defined]
    return found


@extend_schema_serializer(
    examples=[
        OpenApiExample("Forty in two places", SENT, request_only=True),
        OpenApiExample("Forty in two places", ANSWERED, response_only=True),
    ]
)
class LotSerializer(StrictSerializer):
    id = serializers.IntegerField(read_only=True)
    part = PartField()
    part_name = serializers.CharField(source="part.name", read_only=True)
    spec = SpecSerializer(source="part.spec", read_only=True)
    spec_text = serializers.CharField(source="part.spec.spec.text", read_only=True)
    origin = OriginField(source="*", required=False)
    split_from = serializers.IntegerField(source="split_from_id", read_only=True, allow_null=True)
    condition = serializers.ChoiceField(Lot.Condition.choices, required=False)
    marking = serializers.CharField(required=False, allow_blank=True, max_length=200)
    measured = MeasuredField(required=False, allow_null=True, max_length=40)
    measured_text = serializers.SerializerMethodField()
    measured_tolerance = MeterErrorField()
    note = serializers.CharField(required=False, allow_blank=True, max_length=4000)
    holdings = HoldingSerializer(  # type: ignore[call-arg]
        many=True, required=False, min_length=1, max_length=MAX_HOLDINGS
    )
    place = RowField(
        queryset=Place.objects.all(), write_only=True, required=False, help_text="Instead of `holdings`."
    )
    ref = RefField(write_only=True, required=False, help_text="With `place`, where it is a board.")
    quantity = HeldField(required=False, min_value=1, max_value=MAX_PIECES, help_text="With `place`; else 1.")
    promised = HeldField(read_only=True)
    owner = OwnerField()
    version = serializers.IntegerField(read_only=True)

    def get_measured_text(self, lot: Lot) -> str:
        return "" if lot.measured is None else print_value(lot.part.spec.kind, lot.measured)


@extend_schema_serializer(
    examples=[
        OpenApiExample("Two lots", {"rows": [SENT, {**SENT, "condition": "good"}]}, request_only=True),
        OpenApiExample("Two lots", {"rows": [ANSWERED, {**ANSWERED, "id": 6}]}, response_only=True),
    ]
)
class SeveralLotsSerializer(serializers.Serializer[Any]):
    rows = serializers.ListField(child=LotSerializer(), min_length=1, max_length=MAX_ROWS)


@extend_schema_serializer(examples=[OpenApiExample("Tested", CHANGED, request_only=True)])
class LotChangeSerializer(StrictSerializer):
    """What can be changed of a lot.  Its origin is for life, and its pieces move by movements."""

    part = PartField(required=False)
    condition = serializers.ChoiceField(Lot.Condition.choices, required=False)
    marking = serializers.CharField(required=False, allow_blank=True, max_length=200)
    measured = MeasuredField(required=False, allow_null=True, max_length=40)
    measured_tolerance = MeterErrorField()
    note = serializers.CharField(required=False, allow_blank=True, max_length=4000)
    owner = OwnerField()


class LotFilters(SpecFilters):
    spec_path = "part__spec__"

    part = ModelChoiceFilter(queryset=Part.objects.all())
    condition = AnyOfFilter(choices=Lot.Condition.choices)
    source = AnyOfFilter(field_name="origin_source", choices=Lot.Source.choices)
    board = ModelChoiceFilter(
        field_name="origin_board", queryset=Board.objects.all(), help_text="The board that it came from."
    )
    at_board = ModelChoiceFilter(
        queryset=Board.objects.all(), method="held_at", help_text="The board that it is on now."
    )
    place = ModelChoiceFilter(
        queryset=Place.objects.all(), method="held_in", help_text="In this place or anywhere within it."
    )
    moved_after = ModelChoiceFilter(
        queryset=Movement.objects.all(),
        method="moved_since",
        help_text="Moved later than this line, by its id.",
    )
    owner = OwnerFilter()
    free = YesNoFilter(method="has_free", help_text="Has pieces that may be reserved.")

    class Meta:
        model = Lot
        fields: list[str] = []

    @extend_schema_field(OpenApiTypes.INT)
    def held_at(self, rows: QuerySet[Lot], name: str, board: Board) -> QuerySet[Lot]:
        return rows.filter(pk__in=_lots_held(place=board.place_id))

    @extend_schema_field(OpenApiTypes.INT)
    def held_in(self, rows: QuerySet[Lot], name: str, place: Place) -> QuerySet[Lot]:
        return rows.filter(pk__in=_lots_held(place__in=within([place.pk])))

    @extend_schema_field(OpenApiTypes.INT)
    def moved_since(self, rows: QuerySet[Lot], name: str, line: Movement) -> QuerySet[Lot]:
        later = Movement.objects.filter(pk__gt=line.pk).order_by()
        return rows.filter(
            Q(pk__in=later.values("lot")) | Q(pk__in=later.exclude(to_lot=None).values("to_lot"))
        )

    def has_free(self, rows: QuerySet[Lot], name: str, wanted: bool) -> QuerySet[Lot]:
        return with_free(rows, wanted)


def _lots_held(**where: Any) -> QuerySet[Any]:
    """The lots that are held there, as a subquery that the database reads once."""
    return Holding.objects.filter(quantity__gt=0, **where).order_by().values("lot")


class LotViewSet(NounViewSet):
    """Pieces of one part with one origin and one condition."""

    model = Lot
    http_method_names = [
        "get",
        "head",
        "post",
        "patch",
    ]  # a lot is made for life; its pieces move by movements
    serializer_class = LotSerializer
    change_serializer_class = LotChangeSerializer
    filterset_class = LotFilters
    search_texts = (
        "part__name", "part__spec__text", "marking", "note", "origin_board__name", "origin_ref",
        "origin_from",
    )  # fmt: skip
    search_spec = "part__spec__"
    orderings = {
        "name": "part__name", "kind": "part__spec__kind", "value": "part__spec__value",
        "number": "part__spec__number", "condition": "condition",
    }  # fmt: skip

    def search_number(self, text: str) -> int | None:
        return number_on_bag(text)

    @cached_property
    def paths(self) -> Mapping[int, str]:
        return paths()

    def get_queryset(self) -> QuerySet[Lot]:
        holdings = Holding.objects.filter(quantity__gt=0).order_by("id")
        return Lot.objects.select_related("part__spec", "origin_board", "owner").prefetch_related(
            Prefetch("holdings", holdings, to_attr="held")
        )

    @extend_schema(request=SeveralLotsSerializer, responses={201: SeveralLotsSerializer})
    @action(detail=False, methods=["post"])
    def several(self, request: Request) -> Response:
        """Take in several lots: all of them, or none and why, by row."""
        return make_several(self, request)

    @extend_schema(responses=LotTraceSerializer)
    @action(detail=True)
    def trace(self, request: Request, pk: str) -> Response:
        """Where the pieces came from, every movement since, and where each is now."""
        lot = get_object_or_404(Lot.objects.select_related("part__spec", "origin_board"), pk=pk)
        return Response(lot_trace(lot, self.paths))

    def make(self, data: dict[str, Any]) -> Lot:
        puts = _puts(data)
        part = kept_part(data.pop("part"))
        if data.get("measured") is not None:
            data["measured"] = _units(part.spec.kind, data["measured"])
        data.setdefault("origin", Origin())
        return lots.bring_in(part, puts, by=self.person, **data)

    def change(self, row: Lot, data: dict[str, Any]) -> None:
        if "part" in data:
            data["part"] = kept_part(data["part"])
        part = data.get("part", row.part)
        if data.get("measured") is not None:
            data["measured"] = _units(part.spec.kind, data["measured"])
        elif part.spec.kind != row.part.spec.kind and row.measured is not None and "measured" not in data:
            raise _wrong("measured", "the kind changes: say what was measured again, or null", Code.REQUIRED)
        if "measured" in data:  # what the meter of an earlier reading was off says nothing of this one
            data.setdefault("measured_tolerance", None)
        lots.refuse_change(row, **data)
        if "owner" in data:
            ownership.give_lots([row.pk], data.pop("owner"), by=self.person)
            row.refresh_from_db(fields=["version"])
        claim(row, **data)


def _wrong(member: str, detail: str, code: Code) -> ValidationError:
    return ValidationError({member: [ErrorDetail(detail, code)]})


def _units(kind: str, text: str) -> int:
    if kind not in UNITS:
        raise _wrong(
            "measured", f"a {kind} has no value to measure: put the reading in a trial", Code.NOT_OF_KIND
        )
    try:
        return parse_value(kind, text)
    except UnreadableValue as wrong:
        raise _wrong("measured", str(wrong), Code.UNREADABLE) from None


def _puts(data: dict[str, Any]) -> list[lots.Put]:
    """Where the pieces are put, from `holdings` or from `place`, `ref` and `quantity`."""
    listed = data.pop("holdings", None)
    place, ref, quantity = data.pop("place", None), data.pop("ref", ""), data.pop("quantity", None)
    if (listed is None) == (place is None):
        raise _wrong(
            "holdings", "say where the pieces are: either holdings, or place and quantity", Code.REQUIRED
        )
    if listed is None:
        return [(place, ref, quantity or 1)]
    puts = [(held["place"], held.get("ref", ""), held["quantity"]) for held in listed]
    if len({(place.pk, ref) for place, ref, _quantity in puts}) < len(puts):
        raise _wrong("holdings", "the same place is given twice", Code.REPEATED)
    if ref or quantity not in (None, sum(pieces for _place, _ref, pieces in puts)):
        raise _wrong("quantity", "holdings say already where and how many", Code.CONTRADICTION)
    return puts
