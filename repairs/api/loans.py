"""`loans/`: what was borrowed from working boards or lent to people.  Opened and closed by movements."""

from datetime import date
from typing import Any

from django.db.models import Q, QuerySet
from django.utils import timezone
from django_filters import ChoiceFilter, ModelChoiceFilter
from drf_spectacular.types import OpenApiTypes
from drf_spectacular.utils import OpenApiExample, extend_schema_field, extend_schema_serializer
from rest_framework import serializers

from inventory.api.fields import RowField, StrictSerializer
from inventory.api.lists import AskedFilters, YesNoFilter
from inventory.api.viewsets import NounViewSet
from inventory.models import Board, Lot, Place
from repairs.loans import all_loans
from repairs.models import Job, Loan

ANSWERED = {
    "id": 2, "movement": 90, "kind": "lift", "lot": 17, "spec_text": "ic 74LS245, dip", "quantity": 1,
    "owed": 1, "status": "open", "from": 41, "from_name": "Plover that works", "from_ref": "U12", "to": 12,
    "to_name": "Tray 1", "job": 4, "job_name": "Plover C rebuild", "reason": "to prove U12 faulty",
    "due": "2026-12-01", "overdue": False, "at": "2026-11-20T19:00:00Z", "by": "robin", "version": 1,
}  # fmt: skip


@extend_schema_serializer(
    examples=[
        OpenApiExample("Later", {"due": "2027-01-15", "reason": "still hunting a spare"}, request_only=True),
        OpenApiExample("A borrowed chip", ANSWERED, response_only=True),
    ]
)
class LoanSerializer(StrictSerializer):
    """A lift with `borrow` or a lend opens one; a return closes it."""

    id = serializers.IntegerField(read_only=True)
    movement = serializers.IntegerField(source="movement_id", read_only=True)
    kind = serializers.CharField(source="movement.kind", read_only=True)
    lot = serializers.IntegerField(source="movement.lot_id", read_only=True)
    spec_text = serializers.CharField(source="movement.lot.part.spec.text", read_only=True)
    quantity = serializers.IntegerField(source="movement.quantity", read_only=True)
    owed = serializers.IntegerField(read_only=True, help_text="Pieces that are still out.")
    status = serializers.SerializerMethodField()
    from_name = serializers.CharField(source="movement.from_place.name", read_only=True)
    from_ref = serializers.CharField(source="movement.from_ref", read_only=True)
    to = serializers.IntegerField(source="movement.to_place_id", read_only=True)
    to_name = serializers.CharField(source="movement.to_place.name", read_only=True)
    job = RowField(queryset=Job.objects.all(), required=False, allow_null=True)
    job_name = serializers.CharField(source="job.name", read_only=True, default=None, allow_null=True)
    reason = serializers.CharField(required=False, allow_blank=True, max_length=400)
    due = serializers.DateField(required=False, allow_null=True)
    overdue = serializers.SerializerMethodField()
    at = serializers.DateTimeField(source="movement.at", read_only=True)
    by = serializers.CharField(source="movement.by.username", read_only=True, default=None, allow_null=True)
    version = serializers.IntegerField(read_only=True)

    def get_fields(self) -> dict[str, Any]:
        fields = super().get_fields()
        fields["from"] = serializers.IntegerField(source="movement.from_place_id", read_only=True)
        return fields

    @extend_schema_field({"type": "string", "enum": ["open", "closed"]})
    def get_status(self, loan: Any) -> str:
        return "open" if loan.owed > 0 else "closed"

    def get_overdue(self, loan: Any) -> bool:
        return loan.owed > 0 and loan.due is not None and loan.due < _today()


class LoanFilters(AskedFilters):
    status = ChoiceFilter(choices=[("open", "open"), ("closed", "closed")], method="by_status")
    overdue = YesNoFilter(method="past_due", help_text="Still out after the day it was due.")
    job = ModelChoiceFilter(queryset=Job.objects.all())
    board = ModelChoiceFilter(
        field_name="movement__from_place__board", queryset=Board.objects.all(), help_text="The lender."
    )
    person = ModelChoiceFilter(
        field_name="movement__to_place", queryset=Place.objects.filter(type=Place.Type.PERSON)
    )
    lot = ModelChoiceFilter(field_name="movement__lot", queryset=Lot.objects.all())

    class Meta:
        model = Loan
        fields: list[str] = []

    def by_status(self, rows: QuerySet[Any], name: str, value: str) -> QuerySet[Any]:
        return rows.filter(owed__gt=0) if value == "open" else rows.filter(owed__lte=0)

    @extend_schema_field(OpenApiTypes.BOOL)
    def past_due(self, rows: QuerySet[Any], name: str, wanted: bool) -> QuerySet[Any]:
        late = Q(owed__gt=0, due__lt=_today())
        return rows.filter(late) if wanted else rows.exclude(late)


def _today() -> date:
    return timezone.localdate()


class LoanViewSet(NounViewSet):
    """Open and closed loans."""

    model = Loan
    http_method_names = ["get", "head", "patch"]
    serializer_class = LoanSerializer
    filterset_class = LoanFilters
    search_texts = (
        "movement__lot__part__spec__text", "movement__from_place__name", "movement__from_ref",
        "movement__to_place__name", "job__name", "reason",
    )  # fmt: skip
    search_spec = "movement__lot__part__spec__"
    orderings = {"due": "due", "at": "movement__at", "owed": "owed"}
    default_ordering = ("-id",)

    def get_queryset(self) -> QuerySet[Loan]:
        return all_loans().select_related("movement__lot__part__spec", "movement__by")
