"""`health/`: what is wrong with the installation, as `manage.py doctor` says it; for the owner."""

from drf_spectacular.utils import OpenApiParameter
from rest_framework.request import Request
from rest_framework.response import Response

from inventory.answers import answers, as_json
from inventory.api.viewsets import Conventions
from inventory.roles import OWNER
from repairs.doctor import Health, diagnose


class HealthView(Conventions):
    """What is wrong with the installation; `audit=false` leaves out what takes longest."""

    read_role = OWNER
    query_parameters = (OpenApiParameter("audit", bool, description="Recompute everything too (true)."),)

    @answers(Health, "One thing", parameters=list(query_parameters), operation_id="health_retrieve")
    def get(self, request: Request) -> Response:
        findings = diagnose(audited=request.query_params.get("audit", "true") != "false")
        return Response(as_json(Health.of(findings)))
