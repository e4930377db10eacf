"""`needs/{id}/why/`: why a need was given what it was given, and what would change it."""

from typing import Any

from django.shortcuts import get_object_or_404
from drf_spectacular.utils import OpenApiExample, extend_schema, extend_schema_serializer
from rest_framework import serializers
from rest_framework.request import Request
from rest_framework.response import Response

from inventory.api.viewsets import Conventions
from repairs.api.lifting import FitSerializer, fit
from repairs.api.of_board import one_of
from repairs.models import Need
from repairs.planning import Tier
from repairs.supply_and_demand import Piece
from repairs.why import Explained, explain, sentences

TIERS = [tier.name.lower() for tier in Tier]
_WHERE = {"lot": 8, "place": 40, "place_name": "Plover donor", "ref": "C3", "tier": "donor"}
ANSWERED = {
    "need": 32, "job": 4, "ref": "C7", "spec_text": "100n 63 V film, radial", "quantity": 1, "fitted": 0,
    "promised": 0, "planned": True, "given": [], "short": 1,
    "elsewhere": [
        {
            **_WHERE, "quantity": 1, "job": 2, "job_name": "Tern rebuild", "refs": ["C1"],
            "first_in_line": True,
        }
    ],
    "refused": [], "if_first": 0, "if_borrowing": 1,
    "told": [
        "By itself it would have had 1 piece, lot 8 on Plover donor, C3; that goes to Tern rebuild (C1), "
        "which is first in line.",
        "1 piece short.",
        "If East pier lamp came first, nothing would be short.",
    ],
}  # fmt: skip


class WhereSerializer(serializers.Serializer[Any]):
    """The first of like pieces; what is on order has no lot and no place yet."""

    lot = serializers.IntegerField(allow_null=True)
    place = serializers.IntegerField(allow_null=True)
    place_name = serializers.CharField(allow_blank=True)
    ref = serializers.CharField(allow_blank=True)
    tier = one_of(TIERS)


class GivenSerializer(FitSerializer, WhereSerializer):
    quantity = serializers.IntegerField()


class ElsewhereSerializer(WhereSerializer):
    """Pieces that it would have had by itself, and who has them."""

    quantity = serializers.IntegerField()
    job = serializers.IntegerField()
    job_name = serializers.CharField()
    refs = serializers.ListField(child=serializers.CharField())
    first_in_line = serializers.BooleanField(
        help_text="The other comes first; else the whole plan is better so."
    )


class RefusedPieceSerializer(FitSerializer, WhereSerializer):
    in_the_way = serializers.CharField(help_text="The property that stands in the way: of the first reason.")
    settled_by = serializers.CharField(
        allow_blank=True, help_text="look, data_sheet or test: what would settle it."
    )


@extend_schema_serializer(examples=[OpenApiExample("Another job is first", ANSWERED, response_only=True)])
class WhySerializer(serializers.Serializer[Any]):
    """The plan is made for all needs of the job with this requirement together: counts are theirs."""

    need = serializers.IntegerField()
    job = serializers.IntegerField()
    ref = serializers.CharField(allow_blank=True)
    spec_text = serializers.CharField()
    quantity = serializers.IntegerField()
    fitted = serializers.IntegerField()
    promised = serializers.IntegerField()
    planned = serializers.BooleanField(help_text="false: it lacks nothing, or waits for nothing.")
    given = GivenSerializer(many=True)
    short = serializers.IntegerField()
    elsewhere = ElsewhereSerializer(many=True)
    refused = RefusedPieceSerializer(many=True)
    if_first = serializers.IntegerField(help_text="Pieces short if its job came first.")
    if_borrowing = serializers.IntegerField(help_text="Pieces short if working boards were drawn on.")
    told = serializers.ListField(child=serializers.CharField(), help_text="The same as sentences, in order.")


class NeedWhy(Conventions):
    @extend_schema(responses=WhySerializer, operation_id="needs_why")
    def get(self, request: Request, pk: int) -> Response:
        """What the plan gives this need and why, who has what it would have had, what would change it."""
        need = get_object_or_404(Need.objects.select_related("job", "spec"), pk=pk)
        return Response(as_json(need, explain(need)))


def as_json(need: Need, found: Explained | None) -> dict[str, Any]:
    why = found.why if found is not None else None
    told = {
        "need": need.pk, "job": need.job_id, "ref": need.ref, "spec_text": need.spec.text,
        "quantity": need.quantity, "fitted": need.fitted, "promised": need.promised,
        "planned": why is not None, "given": [], "short": 0, "elsewhere": [], "refused": [],
        "if_first": 0, "if_borrowing": 0, "told": [],
    }  # fmt: skip
    if found is None or why is None:
        return told
    return told | {
        "given": [
            {**_where(found.pieces[take.supply], take.tier), "quantity": take.quantity, **fit(take.fit)}
            for take in why.given
        ],
        "short": why.short,
        "elsewhere": [
            {
                **_where(found.pieces[each.supply], each.supply.tier), "quantity": each.quantity,
                "job": each.demand.job, "job_name": found.lines[each.demand.id].name,
                "refs": found.lines[each.demand.id].refs, "first_in_line": each.first_in_line,
            }
            for each in why.elsewhere
        ],
        "refused": [
            {
                **_where(found.pieces[miss.supply], miss.supply.tier), **fit(miss.fit),
                "in_the_way": miss.fit.reasons[0].property, "settled_by": miss.settled_by,
            }
            for miss in why.refused
        ],
        "if_first": why.if_first,
        "if_borrowing": why.if_borrowing,
        "told": sentences(found),
    }  # fmt: skip


def _where(piece: Piece, tier: int) -> dict[str, Any]:
    return {
        "lot": piece.lot, "place": piece.place, "place_name": piece.place_name, "ref": piece.ref,
        "tier": TIERS[tier],
    }  # fmt: skip
