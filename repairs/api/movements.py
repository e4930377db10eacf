"""`movements/`: the ledger.  One POST for every kind; a line is never changed or deleted."""

from collections.abc import Callable, Mapping
from typing import Any

from django.db.models import Q, QuerySet
from django_filters import CharFilter, IsoDateTimeFilter, ModelChoiceFilter
from drf_spectacular.types import OpenApiTypes
from drf_spectacular.utils import (
    OpenApiExample,
    PolymorphicProxySerializer,
    extend_schema,
    extend_schema_field,
    extend_schema_serializer,
)
from rest_framework import serializers
from rest_framework.request import Request
from rest_framework.response import Response

from inventory import ledger
from inventory.api.fields import kept_part
from inventory.api.lists import AnyOfFilter, AskedFilters
from inventory.api.movement_lines import LINE, MovementLineSerializer
from inventory.api.viewsets import NounViewSet
from inventory.ledger import Actor, Arrival, Origin, Spot, spot_of
from inventory.models import Board, Holding, Lot, Movement, Part, Place
from inventory.places import within
from inventory.refusals import Code
from inventory.roles import BENCH
from repairs import known_to_work, loans, readiness, reservations
from repairs.api.fields import spot_in, wrong
from repairs.api.movement_bodies import BODIES, FitBody, MoveBody, RemoveBody, ReturnBody
from repairs.models import Job

ANSWERED = {**LINE, "spec_text": "100n 63 V film, radial", "loan": None, "reversed_by": None}
MADE = {**ANSWERED, "movements": [ANSWERED], "notes": {}}


@extend_schema_serializer(examples=[OpenApiExample("A lift", ANSWERED, response_only=True)])
class MovementSerializer(MovementLineSerializer):
    spec_text = serializers.CharField(source="lot.part.spec.text", read_only=True)
    loan = serializers.IntegerField(source="loan.pk", read_only=True, default=None, allow_null=True)
    reversed_by = serializers.IntegerField(
        source="reversed_by.pk", read_only=True, default=None, allow_null=True
    )

    class Meta(MovementLineSerializer.Meta):
        fields = [*MovementLineSerializer.Meta.fields, "spec_text", "loan", "reversed_by"]
        read_only_fields = fields


class MadeMovementSerializer(MovementSerializer):
    """The line that was written; `movements` has all of them where there are several.

    `notes` is what whoever fits the piece should know: which way round, and which links will want looking at;
    or, where a piece is lifted off a board that works, that it `works`.
    """

    movements = MovementSerializer(many=True, read_only=True)
    notes = serializers.DictField(child=serializers.CharField(), read_only=True)

    class Meta(MovementSerializer.Meta):
        fields = [*MovementSerializer.Meta.fields, "movements", "notes"]
        read_only_fields = fields


class MovementFilters(AskedFilters):
    kind = AnyOfFilter(choices=Movement.Kind.choices)
    lot = ModelChoiceFilter(
        queryset=Lot.objects.all(), method="of_lot", help_text="Split off and merged too."
    )
    part = ModelChoiceFilter(field_name="lot__part", queryset=Part.objects.all())
    board = ModelChoiceFilter(queryset=Board.objects.all(), method="at_board", help_text="From it or to it.")
    place = ModelChoiceFilter(
        queryset=Place.objects.all(), method="at_place", help_text="From or to it or anything within it."
    )
    job = ModelChoiceFilter(
        queryset=Job.objects.all(), method="for_job", help_text="What was fitted or borrowed for it."
    )
    by = CharFilter(field_name="by__username", help_text="The person's name.")
    after = ModelChoiceFilter(
        queryset=Movement.objects.all(),
        method="later_than",
        help_text="Lines later than this one, by its id.",
    )
    since = IsoDateTimeFilter(field_name="at", lookup_expr="gte")
    until = IsoDateTimeFilter(field_name="at", lookup_expr="lt")

    class Meta:
        model = Movement
        fields: list[str] = []

    @extend_schema_field(OpenApiTypes.INT)
    def later_than(self, rows: QuerySet[Movement], name: str, line: Movement) -> QuerySet[Movement]:
        return rows.filter(pk__gt=line.pk)

    @extend_schema_field(OpenApiTypes.INT)
    def of_lot(self, rows: QuerySet[Movement], name: str, lot: Lot) -> QuerySet[Movement]:
        return rows.filter(Q(lot=lot) | Q(to_lot=lot))

    @extend_schema_field(OpenApiTypes.INT)
    def at_board(self, rows: QuerySet[Movement], name: str, board: Board) -> QuerySet[Movement]:
        return rows.filter(Q(from_place=board.place_id) | Q(to_place=board.place_id))

    @extend_schema_field(OpenApiTypes.INT)
    def at_place(self, rows: QuerySet[Movement], name: str, place: Place) -> QuerySet[Movement]:
        inside = within([place.pk])
        return rows.filter(Q(from_place__in=inside) | Q(to_place__in=inside))

    @extend_schema_field(OpenApiTypes.INT)
    def for_job(self, rows: QuerySet[Movement], name: str, job: Job) -> QuerySet[Movement]:
        return rows.filter(Q(reservations__need__job=job) | Q(loan__job=job)).distinct()


class MovementViewSet(NounViewSet):
    """The ledger, newest line first."""

    model = Movement
    http_method_names = ["get", "head", "post"]
    delete_role = BENCH  # nobody deletes: the answer is that the method is not there
    versioned = False
    serializer_class = MovementSerializer
    filterset_class = MovementFilters
    search_texts = (
        "note", "lot__part__name", "lot__part__spec__text", "lot__marking", "from_place__name", "from_ref",
        "to_place__name", "to_ref",
    )  # fmt: skip
    search_spec = "lot__part__spec__"
    orderings = {"at": "at", "kind": "kind", "quantity": "quantity"}
    default_ordering = ("-id",)

    def get_queryset(self) -> QuerySet[Movement]:
        return Movement.objects.select_related(
            "lot__part__spec", "from_place", "to_place", "by", "loan", "reversed_by"
        )

    def answer(self, row: Movement, status: int = 200, **headers: str) -> Response:
        return Response(self.get_serializer(row).data, status=status, headers=headers)

    @extend_schema(
        request=PolymorphicProxySerializer("MovementBody", {**BODIES}, "kind"),
        responses={201: MadeMovementSerializer},
        examples=[
            *(OpenApiExample(kind, body.example, request_only=True) for kind, body in BODIES.items()),
            OpenApiExample("fit, not promised", FitBody.other_example, request_only=True),
            OpenApiExample("move, splitting off", MoveBody.split_example, request_only=True),
            OpenApiExample("move, joining another lot", MoveBody.merge_example, request_only=True),
            OpenApiExample("remove, for it failed", RemoveBody.failed_example, request_only=True),
            OpenApiExample("return of a like piece", ReturnBody.like_example, request_only=True),
            OpenApiExample("A lift", MADE, response_only=True, status_codes=["201"]),
        ],
    )
    def create(self, request: Request, *args: Any, **kwargs: Any) -> Response:
        """Write to the ledger.  What else is sent depends on `kind`."""
        kind = request.data.get("kind") if isinstance(request.data, Mapping) else None
        if not isinstance(kind, str) or kind not in BODIES:
            raise wrong(
                "kind", f"expected one of {', '.join(BODIES)}", Code.INVALID_CHOICE if kind else Code.REQUIRED
            )
        body = BODIES[kind](data=request.data, context=self.get_serializer_context())
        body.is_valid(raise_exception=True)
        working = _working(body.validated_data) if kind == Movement.Kind.LIFT else {}
        lines = ACTS[kind](body.validated_data, self.person)
        made = list(self.get_queryset().filter(pk__in=[line.pk for line in lines]).order_by("id"))
        first = made[0]
        first.movements = made  # type: ignore[attr-defined]
        first.notes = _fitting_notes(first, working)  # type: ignore[attr-defined]
        answer = MadeMovementSerializer(first).data
        return Response(answer, status=201, headers={"Location": self.address(first)})


def _fitting_notes(line: Movement, working: Mapping[int, str]) -> Mapping[str, str]:
    """What to tell whoever just fitted this piece, or lifted it off a board that `working` says works."""
    if line.from_place_id in working:
        return {"works": working[line.from_place_id]}
    if line.kind != Movement.Kind.FIT or not line.to_ref:
        return {}
    board = Board.objects.select_related("design").get(place=line.to_place_id)
    return readiness.fitting_notes(board, line.to_ref, line.lot)


# --- what each kind does --------------------------------------------------------------------------------

Data = Mapping[str, Any]


def _receive(data: Data, by: Actor) -> list[Movement]:
    arrival = Arrival(
        part=kept_part(data["part"]),
        quantity=data["quantity"],
        to=spot_of(data["to"], data.get("ref", "")),
        origin=data.get("origin", Origin()),
        condition=data.get("condition", Lot.Condition.UNTESTED),
        marking=data.get("marking", ""),
        note=data.get("note", ""),
    )
    return [ledger.receive(arrival, by=by)]


def _lift(data: Data, by: Actor) -> list[Movement]:
    to, note = _off_to(data), data.get("note", "")
    if data["borrow"]:
        given = {name: data[name] for name in ("job", "reason", "due") if name in data}
        return loans.borrow(data["board"], data["refs"], to, by=by, note=note, **_surveyed_as(data), **given)
    return reservations.lift(data["board"], data["refs"], to, by=by, note=note, **_surveyed_as(data))


def _working(data: Data) -> Mapping[int, str]:
    """The place of the board that gives pieces -> that it works; asked before they come off."""
    board = data["board"]
    known = known_to_work.works(board)
    return {board.place_id: known} if known else {}


def _off_to(data: Data) -> Spot:
    """Where pieces go that come off a board: what failed, to its own tray unless told otherwise."""
    return spot_of(data.get("to") or Place.failed_tray())


def _surveyed_as(data: Data) -> dict[str, Any]:
    """What the person says of the pieces."""
    given: dict[str, Any] = {"condition": data["condition"]} if "condition" in data else {}
    if "part" in data:
        given["part"] = kept_part(data["part"])
    return given


def _fit(data: Data, by: Actor) -> list[Movement]:
    note = data.get("note", "")
    if "reservation" in data:
        return [reservations.fit_promised(data["reservation"], by=by, note=note)]
    lot = data["lot"]
    return [
        reservations.fit(
            lot, spot_in(data, lot), data["board"], data.get("ref", ""),
            by=by, quantity=data.get("quantity", 1), note=note, anyway=data["anyway"],
        )
    ]  # fmt: skip


def _move(data: Data, by: Actor) -> list[Movement]:
    lot, quantity, note = data["lot"], data["quantity"], data.get("note", "")
    source = spot_in(data, lot)
    if "into" in data:
        target = spot_of(data["to"]) if "to" in data else _where_it_is(data["into"], source)
        return [ledger.merge(lot, data["into"], source, target, quantity, by=by, note=note)]
    if "condition" in data:
        line = ledger.split(lot, source, quantity, condition=data["condition"], by=by, note=note)
        if "to" not in data or data["to"].pk == source.place_id:
            return [line]
        assert line.to_lot is not None
        return [line, ledger.move(line.to_lot, source, spot_of(data["to"]), quantity, by=by, note=note)]
    return [reservations.move(lot, source, spot_of(data["to"]), quantity, by=by, note=note)]


def _where_it_is(lot: Lot, otherwise: Spot) -> Spot:
    """The one place of a lot."""
    held = list(Holding.objects.filter(lot=lot, quantity__gt=0)[:2])
    return Spot(held[0].place_id, held[0].ref) if len(held) == 1 else otherwise


def _remove(data: Data, by: Actor) -> list[Movement]:
    return [
        reservations.remove(
            data["board"], data.get("ref", ""), _off_to(data), by=by, lot=data.get("lot"),
            quantity=data["quantity"], condition=data.get("condition"), note=data.get("note", ""),
        )
    ]  # fmt: skip


def _lend(data: Data, by: Actor) -> list[Movement]:
    lot = data["lot"]
    given = {name: data[name] for name in ("reason", "due", "note") if name in data}
    return [loans.lend(lot, spot_in(data, lot), data["to"], data["quantity"], by=by, **given)]


def _return(data: Data, by: Actor) -> list[Movement]:
    loan, lot = data["loan"], data.get("lot")
    named = "from" in data or lot is not None
    return [
        loans.give_back(
            loan,
            by=by,
            lot=lot,
            source=spot_in(data, lot or loan.movement.lot) if named else None,
            to=spot_of(data["to"]) if "to" in data else None,
            quantity=data.get("quantity"),
            note=data.get("note", ""),
        )
    ]


def _scrap(data: Data, by: Actor) -> list[Movement]:
    lot = data["lot"]
    return [ledger.scrap(lot, spot_in(data, lot), data["quantity"], by=by, note=data.get("note", ""))]


def _count(data: Data, by: Actor) -> list[Movement]:
    lot = data["lot"]
    return [
        ledger.count(lot, spot_in(data, lot, "at", "ref"), data["quantity"], by=by, note=data.get("note", ""))
    ]


def _reverse(data: Data, by: Actor) -> list[Movement]:
    return [reservations.reverse(data["movement"], by=by, note=data.get("note", ""))]


ACTS: dict[str, Callable[[Data, Actor], list[Movement]]] = {
    "receive": _receive, "lift": _lift, "fit": _fit, "move": _move, "remove": _remove, "lend": _lend,
    "return": _return, "scrap": _scrap, "count": _count, "reverse": _reverse,
}  # fmt: skip
