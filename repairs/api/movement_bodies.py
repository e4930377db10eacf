"""What is sent to `movements/`: one body for each kind."""

from collections.abc import Mapping, Sequence
from typing import Any, ClassVar

from rest_framework import serializers
from rest_framework.exceptions import ErrorDetail, ValidationError

from inventory.api.fields import PartField, RefField, RowField, StrictSerializer
from inventory.api.origins import OriginField
from inventory.models import Board, Lot, Movement, Place
from inventory.refusals import Code
from inventory.whole_numbers import MAX_PIECES
from repairs.api.fields import PiecesField, RefsField, wrong
from repairs.models import Job, Loan, Reservation
from repairs.reservations import FAILED

Kind = Movement.Kind


def _lot(**options: Any) -> RowField:
    return RowField(queryset=Lot.objects.select_related("part__spec", "origin_board"), **options)


def _place(**options: Any) -> RowField:
    return RowField(queryset=Place.objects.all(), **options)


def _board(**options: Any) -> RowField:
    return RowField(queryset=Board.objects.select_related("design", "place"), **options)


class MovementBody(StrictSerializer):
    """`kind` and `note`, which every body has.  A body that takes pieces of a lot says where from."""

    kind_sent: ClassVar[str]
    takes_from: ClassVar[bool] = False
    example: ClassVar[dict[str, Any]]

    kind = serializers.ChoiceField(Kind.choices)
    note = serializers.CharField(required=False, allow_blank=True, max_length=400)

    def get_fields(self) -> dict[str, Any]:
        fields = super().get_fields()
        fields["kind"] = serializers.ChoiceField([self.kind_sent])
        if self.takes_from:
            # Not declared in the class: `from` is no name that a class body takes.
            fields["from"] = _place(
                required=False, help_text="May be left out where the lot is in one place only."
            )
            fields["from_ref"] = RefField(required=False, help_text="The position, where that is a board.")
        return fields


class ReceiveBody(MovementBody):
    """Pieces come in and become a lot."""

    kind_sent = Kind.RECEIVE
    example = {
        "kind": "receive",
        "part": {"kind": "resistor", "value": "4k7", "tolerance_percent": "5", "watts": "0.25"},
        "quantity": 50, "to": 12, "origin": {"source": "bought", "from": "Harbour Radio"},
    }  # fmt: skip

    part = PartField()
    quantity = PiecesField(default=1)
    to = _place()
    ref = RefField(required=False, help_text="The position, where `to` is a board.")
    origin = OriginField(source="*", required=False)
    condition = serializers.ChoiceField(Lot.Condition.choices, required=False)
    marking = serializers.CharField(required=False, allow_blank=True, max_length=200)


class _OffABoard(MovementBody):
    """Pieces leave a board: what failed comes off as that and goes to the failed tray, unless told where."""

    to = _place(required=False, help_text="May be left out for what failed: the tray of failed parts.")
    condition = serializers.ChoiceField(
        Lot.Condition.choices,
        required=False,
        help_text="How it comes off. `suspect` and `faulty` pieces are planned for nobody. "
        "Left out: as it was known, or `suspect` with `failed`.",
    )
    failed = serializers.BooleanField(default=False, help_text="It comes off because it failed.")

    def get_fields(self) -> dict[str, Any]:
        fields = super().get_fields()
        sent = getattr(self, "initial_data", None)
        if isinstance(sent, Mapping) and not sent.get("failed") and sent.get("condition") not in FAILED:
            fields["to"].required = True
        return fields

    def validate(self, attrs: dict[str, Any]) -> dict[str, Any]:
        condition = attrs.get("condition")
        if attrs["failed"] and condition is None:
            attrs["condition"] = condition = Lot.Condition.SUSPECT
        if attrs["failed"] and condition not in FAILED:
            raise wrong("condition", "what failed is suspect or faulty", Code.CONTRADICTION)
        if "to" not in attrs and condition not in FAILED:
            raise wrong("to", "say where to", Code.REQUIRED)
        return attrs


class LiftBody(_OffABoard):
    """Pieces are taken off a board; from a working board they are borrowed and owed back."""

    kind_sent = Kind.LIFT
    example = {"kind": "lift", "board": 3, "refs": ["R1", "C4-C7"], "to": 12, "condition": "untested"}

    board = _board()
    refs = RefsField()
    part = PartField(required=False, help_text="What it is, where neither a survey nor the design says so.")
    borrow = serializers.BooleanField(default=False, help_text="Needed for a working board, and only there.")
    job = RowField(queryset=Job.objects.all(), required=False, allow_null=True, help_text="With `borrow`.")
    reason = serializers.CharField(
        required=False, allow_blank=True, max_length=400, help_text="With `borrow`."
    )
    due = serializers.DateField(required=False, allow_null=True, help_text="With `borrow`.")

    def validate(self, attrs: dict[str, Any]) -> dict[str, Any]:
        _only_with("borrow", attrs["borrow"], attrs, ("job", "reason", "due"))
        return super().validate(attrs)


class FitBody(MovementBody):
    """A piece goes into a position: a promised one by its reservation, or any other by its lot."""

    kind_sent = Kind.FIT
    takes_from = True
    example = {"kind": "fit", "reservation": 9}
    other_example: ClassVar[dict[str, Any]] = {"kind": "fit", "lot": 5, "from": 12, "board": 4, "ref": "R7"}

    reservation = RowField(
        queryset=Reservation.objects.select_related(
            "need__job__board", "need__spec", "holding__lot__part__spec"
        ),
        required=False,
    )
    lot = _lot(required=False)
    board = _board(required=False)
    ref = RefField(required=False, help_text="Blank: loose, with the board.")
    quantity = PiecesField(required=False, help_text="1; more only where it is loose.")
    anyway = serializers.BooleanField(
        default=False, help_text="Although it does not fit. A safety part is never overruled."
    )

    def validate(self, attrs: dict[str, Any]) -> dict[str, Any]:
        by_lot = ("lot", "board", "ref", "from", "from_ref", "quantity")
        if "reservation" in attrs:
            sent = [name for name in by_lot if name in attrs]
            if sent:
                raise ValidationError(
                    {
                        name: [ErrorDetail("the reservation says it already", Code.CONTRADICTION)]
                        for name in sent
                    }
                )
            return attrs
        missing = {
            name: [ErrorDetail("required without a reservation", Code.REQUIRED)] for name in ("lot", "board")
        }
        if absent := {name: message for name, message in missing.items() if name not in attrs}:
            raise ValidationError(absent)
        if attrs.get("ref") and attrs.get("quantity", 1) != 1:
            raise wrong("quantity", "a position takes one piece", Code.ONE_PIECE)
        return attrs


class MoveBody(MovementBody):
    """Pieces go to another place, become a lot of their own (`condition`), or join another lot (`into`)."""

    kind_sent = Kind.MOVE
    takes_from = True
    example = {"kind": "move", "lot": 5, "from": 12, "to": 14, "quantity": 3}
    split_example: ClassVar[dict[str, Any]] = {
        "kind": "move", "lot": 5, "from": 12, "quantity": 1, "condition": "suspect",
    }  # fmt: skip
    merge_example: ClassVar[dict[str, Any]] = {"kind": "move", "lot": 6, "from": 14, "into": 5, "quantity": 3}

    lot = _lot()
    to = _place(required=False, help_text="May be left out with `condition` or `into`.")
    quantity = PiecesField(default=1)
    condition = serializers.ChoiceField(
        Lot.Condition.choices, required=False, help_text="Splits these pieces off as a lot in this condition."
    )
    into = _lot(required=False, help_text="The lot that they join: same part, origin and condition.")

    def validate(self, attrs: dict[str, Any]) -> dict[str, Any]:
        if "condition" in attrs and "into" in attrs:
            raise wrong("into", "either split off or join another lot", Code.CONTRADICTION)
        if not attrs.keys() & {"to", "condition", "into"}:
            raise wrong("to", "say where to", Code.REQUIRED)
        return attrs


class RemoveBody(_OffABoard):
    """A fitted piece is taken off a board again."""

    kind_sent = Kind.REMOVE
    example = {"kind": "remove", "board": 4, "ref": "R7", "to": 12}
    failed_example: ClassVar[dict[str, Any]] = {"kind": "remove", "board": 4, "ref": "R7", "failed": True}

    board = _board()
    ref = RefField(required=False)
    lot = _lot(required=False, help_text="Instead of `ref`, for pieces that are loose with the board.")
    quantity = PiecesField(default=1)

    def validate(self, attrs: dict[str, Any]) -> dict[str, Any]:
        if not attrs.get("ref") and "lot" not in attrs:
            raise wrong("ref", "say the position, or the lot of loose pieces", Code.REQUIRED)
        if attrs.get("ref") and attrs["quantity"] != 1:
            raise wrong("quantity", "a position holds one piece", Code.ONE_PIECE)
        return super().validate(attrs)


class LendBody(MovementBody):
    """Free pieces are lent to a person."""

    kind_sent = Kind.LEND
    takes_from = True
    example = {
        "kind": "lend",
        "lot": 5,
        "from": 12,
        "to": 21,
        "quantity": 2,
        "reason": "for a radio",
        "due": "2027-01-31",
    }

    lot = _lot()
    to = _place(help_text="A place of type person.")
    quantity = PiecesField(default=1)
    reason = serializers.CharField(required=False, allow_blank=True, max_length=400)
    due = serializers.DateField(required=False, allow_null=True)


class ReturnBody(MovementBody):
    """What is owed goes back: to its position on the lender the piece or a like one, or from a person."""

    kind_sent = Kind.RETURN
    takes_from = True
    example = {"kind": "return", "loan": 2}
    like_example: ClassVar[dict[str, Any]] = {"kind": "return", "loan": 2, "lot": 7, "from": 12}

    loan = RowField(queryset=Loan.objects.select_related("movement__lot__part__spec"))
    lot = _lot(required=False, help_text="A like piece, given for the one that was borrowed.")
    to = _place(required=False, help_text="Where pieces lent to a person go; else where they came from.")
    quantity = PiecesField(required=False, help_text="All that is owed, if left out.")


class ScrapBody(MovementBody):
    """Free pieces go to the scrap bin."""

    kind_sent = Kind.SCRAP
    takes_from = True
    example = {"kind": "scrap", "lot": 5, "from": 12, "quantity": 1, "note": "cracked"}

    lot = _lot()
    quantity = PiecesField(default=1)


class CountBody(MovementBody):
    """A stock-take: so many are really there."""

    kind_sent = Kind.COUNT
    example = {"kind": "count", "lot": 5, "at": 12, "quantity": 7, "note": "recount"}

    lot = _lot()
    at = _place(required=False, help_text="May be left out where the lot is in one place only.")
    ref = RefField(required=False, help_text="The position, where that is a board.")
    quantity = serializers.IntegerField(min_value=0, max_value=MAX_PIECES)


class ReverseBody(MovementBody):
    """A mistake is undone by the mirror image of its line."""

    kind_sent = Kind.REVERSE
    example = {"kind": "reverse", "movement": 88, "note": "wrong drawer"}

    movement = RowField(queryset=Movement.objects.select_related("lot__part", "to_lot__part"))


BODIES: dict[str, type[MovementBody]] = {
    str(body.kind_sent): body
    for body in (
        ReceiveBody,
        LiftBody,
        FitBody,
        MoveBody,
        RemoveBody,
        LendBody,
        ReturnBody,
        ScrapBody,
        CountBody,
        ReverseBody,
    )  # fmt: skip
}


def _only_with(name: str, given: bool, attrs: dict[str, Any], others: Sequence[str]) -> None:
    sent = [other for other in others if attrs.get(other)]
    if sent and not given:
        raise ValidationError(
            {other: [ErrorDetail(f"only with {name}", Code.CONTRADICTION)] for other in sent}
        )
