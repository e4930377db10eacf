"""`calendar/`: where the calendar of what is due is."""

from typing import Any

from drf_spectacular.utils import OpenApiExample, extend_schema, extend_schema_serializer
from rest_framework import serializers
from rest_framework.request import Request
from rest_framework.response import Response

from inventory.api.viewsets import Conventions
from repairs.calendar_feed import address_of

ANSWERED = {"address": f"http://10.0.0.7:8000/calendar/2-{'0f3a' * 10}.ics"}


@extend_schema_serializer(examples=[OpenApiExample("An address", ANSWERED, response_only=True)])
class CalendarSerializer(serializers.Serializer[Any]):
    address = serializers.CharField(
        help_text="Of an iCalendar file; whoever has it reads these days. A new password ends it."
    )


class CalendarView(Conventions):
    """Where a calendar program fetches the days that jobs and loans are due."""

    @extend_schema(responses=CalendarSerializer, operation_id="calendar_retrieve")
    def get(self, request: Request) -> Response:
        return Response({"address": address_of(request._request)})
