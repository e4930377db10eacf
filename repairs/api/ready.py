"""`boards/{id}/ready/`: is it safe to switch on; and the confirmations and exceptions that it rests on."""

from typing import Any

from drf_spectacular.utils import OpenApiExample, extend_schema, extend_schema_serializer
from rest_framework import serializers
from rest_framework.request import Request
from rest_framework.response import Response

from inventory.answers import answers, as_json
from inventory.api.fields import StrictSerializer, TrueOrFalse
from inventory.api.versions import etag
from inventory.pictures import photos
from inventory.refusals import Code
from repairs import bringing_up, readiness
from repairs.answers.ready import Ready, ready_answer
from repairs.api.fields import wrong
from repairs.api.of_board import FactSerializer, OfBoard, one_of
from repairs.api.pictured import PicturesField
from repairs.proving.items import CHECKS, NEVER_ACCEPTED, PERSONAL
from repairs.proving_models import Confirmation


class BoardReady(OfBoard):
    @answers(Ready, "A link set for another make", operation_id="boards_ready")
    def get(self, request: Request, pk: int) -> Response:
        """Whether the board is safe to switch on, and why not.  Never ready by default."""
        judged = readiness.judge(self.board)
        answer = ready_answer(self.board, judged, judged.items)
        return Response(as_json(answer), headers={"ETag": etag(self.board)})


# --- checks of the whole board

CHECK_SENT = {"check": "inspection", "right": True, "note": "both sides, lamp from the edge"}
SEEN = {
    "id": 31, "check": "inspection", "right": True, "note": "both sides, lamp from the edge", "by": "robin",
    "at": "2026-11-21T18:30:00Z", "photos": [],
}  # fmt: skip


@extend_schema_serializer(
    examples=[
        OpenApiExample("Looked over", CHECK_SENT, request_only=True),
        OpenApiExample("Looked over", SEEN, response_only=True),
    ]
)
class CheckSerializer(StrictSerializer, FactSerializer):
    """Looked over (`inspection`), supply proven alone on a dummy load (`supply`), `heatsink` on, and where
    chips cannot be pulled `first_power` through a current limit.
    """

    right = TrueOrFalse(help_text="false: found wrong, which is a stop.")
    note = serializers.CharField(required=False, allow_blank=True, max_length=400)
    photos = PicturesField()

    def get_fields(self) -> dict[str, Any]:
        # Not declared above: `check` would be taken for a method of the class.
        return {**super().get_fields(), "check": serializers.ChoiceField(PERSONAL, source="item")}


class ChecksSerializer(serializers.Serializer[Any]):
    """What was confirmed of the whole board, oldest first."""

    board = serializers.IntegerField()
    checks = CheckSerializer(many=True)


class BoardChecks(OfBoard):
    @extend_schema(
        responses=ChecksSerializer,
        operation_id="boards_checks_list",
        examples=[OpenApiExample("Looked over", {"board": 9, "checks": [SEEN]}, response_only=True)],
    )
    def get(self, request: Request, pk: int) -> Response:
        """What was confirmed of the whole board, oldest first."""
        rows = Confirmation.objects.filter(board=self.board, ref="", withdrawn=None).select_related("by")
        found = photos.shown("confirmation", [row.pk for row in rows])
        context = {"request": request, "pictures": found}
        body = CheckSerializer(rows, many=True, context=context).data
        return Response({"board": self.board.pk, "checks": body})

    @extend_schema(
        request=CheckSerializer, responses={201: CheckSerializer}, operation_id="boards_checks_create"
    )
    def post(self, request: Request, pk: int) -> Response:
        """Confirm a check of the whole board, or say that it was found wrong."""
        read = CheckSerializer(data=request.data)
        read.is_valid(raise_exception=True)
        data = read.validated_data
        made = bringing_up.confirm(
            self.board,
            data["item"],
            by=self.person,
            right=data["right"],
            note=data.get("note", ""),
            seen=self.seen,
        )
        context = {"request": request, "pictures": {}}
        return Response(CheckSerializer(made, context=context).data, status=201)


# --- exceptions

MAY_BE_ACCEPTED = tuple(name for name in CHECKS if name not in NEVER_ACCEPTED)
ACCEPTED = {"check": "position", "subjects": ["IC29", "IC30"], "why": "2 K is enough; LK6 is set for it"}
STANDING = {
    "id": 4, "check": "position", "subject": "IC29", "why": "2 K is enough; LK6 is set for it", "note": "",
    "finding": "empty: fill it, or say that it is left out on purpose",
    "withdrawn": None, "by": "robin", "at": "2026-11-21T18:40:00Z",
}  # fmt: skip


@extend_schema_serializer(examples=[OpenApiExample("Left out on purpose", ACCEPTED, request_only=True)])
class AcceptSerializer(StrictSerializer):
    """Which open items are accepted as they are, and why.

    Lapses when the part is changed, and when the finding is another than the one accepted.
    """

    subjects = serializers.ListField(
        child=serializers.CharField(max_length=120, allow_blank=True), max_length=500, required=False,
        help_text="References, or the name of the link, rail or bank; left out for a "
                  "check of the whole board.",
    )  # fmt: skip
    why = serializers.CharField(max_length=400)
    note = serializers.CharField(required=False, allow_blank=True, max_length=400)

    def get_fields(self) -> dict[str, Any]:
        return {"check": one_of(MAY_BE_ACCEPTED, source="item"), **super().get_fields()}

    def validate(self, attrs: dict[str, Any]) -> dict[str, Any]:
        if attrs["item"] not in MAY_BE_ACCEPTED:
            raise wrong("check", f"expected one of {', '.join(MAY_BE_ACCEPTED)}", Code.INVALID_CHOICE)
        return attrs


class AcceptedExceptionSerializer(FactSerializer):
    subject = serializers.CharField()
    why = serializers.CharField()
    finding = serializers.CharField(allow_blank=True, help_text="What was open when it was accepted.")
    withdrawn = serializers.DateTimeField(allow_null=True)

    def get_fields(self) -> dict[str, Any]:
        return {**super().get_fields(), "check": one_of(CHECKS, source="item")}


@extend_schema_serializer(
    examples=[OpenApiExample("Left out", {"board": 9, "exceptions": [STANDING]}, response_only=True)]
)
class AcceptedExceptionsSerializer(serializers.Serializer[Any]):
    """Who accepted what, and why, oldest first; withdrawn ones too."""

    board = serializers.IntegerField()
    exceptions = AcceptedExceptionSerializer(many=True)


class BoardExceptions(OfBoard):
    @extend_schema(responses=AcceptedExceptionsSerializer, operation_id="boards_exceptions_list")
    def get(self, request: Request, pk: int) -> Response:
        """Who accepted what as it is, and why."""
        rows = self.board.exceptions.select_related("by").order_by("id")
        return Response(self.answer(rows))

    @extend_schema(
        request=AcceptSerializer,
        responses={201: AcceptedExceptionsSerializer},
        operation_id="boards_exceptions_create",
    )
    def post(self, request: Request, pk: int) -> Response:
        """Accept open items as they are.  What is wrong is put right, not accepted: 409."""
        read = AcceptSerializer(data=request.data)
        read.is_valid(raise_exception=True)
        data = read.validated_data
        made = bringing_up.accept(
            self.board, data["item"], data.get("subjects") or [""], data["why"],
            by=self.person, note=data.get("note", ""), seen=self.seen,
        )  # fmt: skip
        return Response(self.answer(made), status=201)

    def answer(self, rows: Any) -> dict[str, Any]:
        return {"board": self.board.pk, "exceptions": AcceptedExceptionSerializer(rows, many=True).data}
