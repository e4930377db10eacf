"""`reservations/`: pieces of a holding reserved for a need."""

from typing import Any

from django.db.models import QuerySet
from django.shortcuts import get_object_or_404
from django_filters import ModelChoiceFilter
from drf_spectacular.utils import OpenApiExample, extend_schema_serializer
from rest_framework import serializers

from inventory.api.fields import RefField, RowField, StrictSerializer
from inventory.api.lists import AnyOfFilter, AskedFilters
from inventory.api.versions import check_if_match
from inventory.api.viewsets import NounViewSet
from inventory.ledger import NotEnough
from inventory.models import Board, Holding, Lot, Place
from inventory.refusals import Code
from inventory.roles import BENCH
from repairs import reservations
from repairs.api.fields import PiecesField, spot_in
from repairs.models import Job, Need, Reservation

SENT = {"need": 31, "lot": 5, "place": 12, "quantity": 1}
ANSWERED = {
    "id": 9, "need": 31, "job": 4, "job_name": "Plover C rebuild", "need_ref": "R1",
    "spec_text": "4k7 5% 0.25 W", "lot": 5, "place": 12, "place_name": "Drawer 7", "ref": "", "quantity": 1,
    "status": "held", "movement": None, "by": "robin", "at": "2026-11-20T18:30:00Z", "version": 1,
}  # fmt: skip


@extend_schema_serializer(
    examples=[
        OpenApiExample("One from a drawer", SENT, request_only=True),
        OpenApiExample(
            "One still on a donor", {"need": 32, "lot": 8, "place": 40, "ref": "C7"}, request_only=True
        ),
        OpenApiExample("One from a drawer", ANSWERED, response_only=True),
    ]
)
class ReservationSerializer(StrictSerializer):
    id = serializers.IntegerField(read_only=True)
    need = RowField(queryset=Need.objects.select_related("spec", "job"))
    job = serializers.IntegerField(source="need.job_id", read_only=True)
    job_name = serializers.CharField(source="need.job.name", read_only=True)
    need_ref = serializers.CharField(source="need.ref", read_only=True, help_text="The position it is for.")
    spec_text = serializers.CharField(source="holding.lot.part.spec.text", read_only=True)
    lot = RowField(source="holding.lot", queryset=Lot.objects.select_related("part__spec"))
    place = RowField(
        source="holding.place", queryset=Place.objects.all(), required=False,
        help_text="Where the pieces are; may be left out where the lot is in one place only.",
    )  # fmt: skip
    place_name = serializers.CharField(source="holding.place.name", read_only=True)
    ref = RefField(source="holding.ref", required=False, help_text="The position, where they are on a donor.")
    quantity = PiecesField(default=1)
    anyway = serializers.BooleanField(
        write_only=True, default=False,
        help_text="Although it does not fit. A safety part is never overruled.",
    )  # fmt: skip
    status = serializers.ChoiceField(Reservation.Status.choices, read_only=True)
    movement = serializers.IntegerField(
        source="movement_id", read_only=True, allow_null=True, help_text="The line that fitted it."
    )
    by = serializers.CharField(source="by.username", read_only=True, default=None, allow_null=True)
    at = serializers.DateTimeField(read_only=True)
    version = serializers.IntegerField(read_only=True)


class ReservationFilters(AskedFilters):
    need = ModelChoiceFilter(queryset=Need.objects.all())
    job = ModelChoiceFilter(field_name="need__job", queryset=Job.objects.all())
    lot = ModelChoiceFilter(field_name="holding__lot", queryset=Lot.objects.all())
    place = ModelChoiceFilter(field_name="holding__place", queryset=Place.objects.all())
    board = ModelChoiceFilter(
        field_name="holding__place__board",
        queryset=Board.objects.all(),
        help_text="The board that they are on.",
    )
    status = AnyOfFilter(choices=Reservation.Status.choices)

    class Meta:
        model = Reservation
        fields: list[str] = []


class ReservationViewSet(NounViewSet):
    """Reservations.  DELETE gives one up; it stays on record as released."""

    model = Reservation
    http_method_names = ["get", "head", "post", "delete"]
    delete_role = BENCH
    serializer_class = ReservationSerializer
    filterset_class = ReservationFilters
    search_texts = ("need__job__name", "need__ref", "holding__lot__part__spec__text", "holding__place__name")
    search_spec = "holding__lot__part__spec__"
    orderings = {"job": "need__job", "place": "holding__place__name", "at": "at", "status": "status"}

    def get_queryset(self) -> QuerySet[Reservation]:
        return Reservation.objects.select_related(
            "need__job", "holding__lot__part__spec", "holding__place", "by"
        )

    def make(self, data: dict[str, Any]) -> Reservation:
        held, quantity = data["holding"], data["quantity"]
        spot = spot_in(held, held["lot"], "place", "ref")
        holding = (
            Holding.objects.select_related("lot__part__spec", "place__board")
            .filter(lot=held["lot"], place_id=spot.place_id, ref=spot.ref)
            .first()
        )
        if holding is None:
            place = Place.objects.get(pk=spot.place_id)
            raise NotEnough(
                Code.NOT_ENOUGH,
                f"{held['lot']}: {quantity} wanted, none at {place} {spot.ref}".rstrip(),
                available=0,
                held=0,
                promised=0,
            )
        return reservations.reserve(data["need"], holding, quantity, by=self.person, anyway=data["anyway"])

    def locked(self) -> Reservation:
        """Not locked: whoever releases or fits locks the need first and claims the promise by its status."""
        row = get_object_or_404(Reservation.objects.select_related("need", "holding"), pk=self.kwargs["pk"])
        check_if_match(self.request, row)
        return row

    def remove(self, row: Reservation) -> None:
        reservations.release(row)
