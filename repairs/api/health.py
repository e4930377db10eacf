"""`health/`: what is wrong with the installation, as `manage.py doctor` says it; for the owner."""

from dataclasses import asdict
from typing import Any

from drf_spectacular.utils import OpenApiExample, OpenApiParameter, extend_schema, extend_schema_serializer
from rest_framework import serializers
from rest_framework.request import Request
from rest_framework.response import Response

from inventory.api.viewsets import Conventions
from inventory.roles import OWNER
from repairs.doctor import diagnose

FOUND = {
    "check": "backup", "detail": "the last good backup is 12 days old",
    "mend": "manage.py backup --dated, each night from a timer (cron)", "wrong": True,
}  # fmt: skip


class FindingSerializer(serializers.Serializer[Any]):
    check = serializers.CharField()
    detail = serializers.CharField()
    mend = serializers.CharField()
    wrong = serializers.BooleanField(help_text="It must be mended; else it is as well to know.")


@extend_schema_serializer(
    examples=[OpenApiExample("One thing", {"status": "wrong", "findings": [FOUND]}, response_only=True)]
)
class HealthSerializer(serializers.Serializer[Any]):
    status = serializers.ChoiceField(["ok", "wrong"])
    findings = FindingSerializer(many=True)


class HealthView(Conventions):
    """What is wrong with the installation; `audit=false` leaves out what takes longest."""

    read_role = OWNER
    query_parameters = (OpenApiParameter("audit", bool, description="Recompute everything too (true)."),)

    @extend_schema(
        responses=HealthSerializer, parameters=list(query_parameters), operation_id="health_retrieve"
    )
    def get(self, request: Request) -> Response:
        findings = diagnose(audited=request.query_params.get("audit", "true") != "false")
        wrong = any(finding.wrong for finding in findings)
        return Response(
            {"status": "wrong" if wrong else "ok", "findings": [asdict(finding) for finding in findings]}
        )
