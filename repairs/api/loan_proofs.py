"""`loans/{id}/proofs/`: that the lender passed, before and after."""

from typing import Any

from django.shortcuts import get_object_or_404
from drf_spectacular.utils import OpenApiExample, extend_schema, extend_schema_serializer
from rest_framework import serializers
from rest_framework.request import Request
from rest_framework.response import Response

from inventory.api.fields import StrictSerializer, TrueOrFalse
from inventory.api.viewsets import Conventions
from repairs import lenders
from repairs.api.of_board import FactSerializer, one_of
from repairs.models import Loan
from repairs.proving_models import LoanProof

SENT = {"when": "before", "passed": True, "reading": "tide log 24 h, no gap"}
PROOF = {
    "id": 3, "when": "before", "passed": True, "reading": "tide log 24 h, no gap", "note": "", "by": "robin",
    "at": "2026-11-20T18:50:00Z",
}  # fmt: skip
ANSWERED = {
    "loan": 2, "board": "Plover that works", "ref": "U12", "state": "out",
    "explanation": "U12 is out: incomplete, and not lent from again at that position", "proofs": [PROOF],
}  # fmt: skip


@extend_schema_serializer(examples=[OpenApiExample("Before", SENT, request_only=True)])
class ProofSerializer(StrictSerializer, FactSerializer):
    when = serializers.ChoiceField(LoanProof.When.choices)
    passed = TrueOrFalse()
    reading = serializers.CharField(required=False, allow_blank=True, max_length=200)
    note = serializers.CharField(required=False, allow_blank=True, max_length=400)


@extend_schema_serializer(examples=[OpenApiExample("Out", ANSWERED, response_only=True)])
class LenderSerializer(serializers.Serializer[Any]):
    """How the lender stands: `out` (incomplete), `unproven` (back, nobody tried it), `failed`, `proven`."""

    loan = serializers.IntegerField()
    board = serializers.CharField()
    ref = serializers.CharField(allow_blank=True)
    state = one_of(lenders.STATES)
    explanation = serializers.CharField()
    proofs = ProofSerializer(many=True)


class LoanProofs(Conventions):
    @extend_schema(responses=LenderSerializer, operation_id="loans_proofs_list")
    def get(self, request: Request, pk: int) -> Response:
        """How the lender stands, and what was tried of it."""
        return Response(self.answer(self.loan(pk)))

    @extend_schema(
        request=ProofSerializer, responses={201: LenderSerializer}, operation_id="loans_proofs_create"
    )
    def post(self, request: Request, pk: int) -> Response:
        """Write down that the lender passed, or failed, before or after.  After, while it is out: 409."""
        loan = self.loan(pk)
        read = ProofSerializer(data=request.data)
        read.is_valid(raise_exception=True)
        lenders.prove(loan, by=self.person, **read.validated_data)
        return Response(self.answer(loan), status=201)

    def loan(self, pk: int) -> Loan:
        return get_object_or_404(Loan.objects.select_related("movement__from_place"), pk=pk)

    def answer(self, loan: Loan) -> dict[str, Any]:
        state, explanation = lenders.standing(loan)
        return {
            "loan": loan.pk,
            "board": loan.movement.from_place.name,
            "ref": loan.movement.from_ref,
            "state": state,
            "explanation": explanation,
            "proofs": ProofSerializer(loan.proofs.select_related("by").order_by("id"), many=True).data,
        }
