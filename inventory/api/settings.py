"""`settings/`: what is set once for the whole bench."""

from typing import Any

from django.conf import settings
from django.db import transaction
from drf_spectacular.utils import OpenApiExample, extend_schema, extend_schema_serializer
from rest_framework import serializers
from rest_framework.exceptions import ErrorDetail, ValidationError
from rest_framework.request import Request
from rest_framework.response import Response

from inventory.api.fields import StrictSerializer
from inventory.api.versions import check_if_match, etag
from inventory.api.viewsets import Conventions
from inventory.backups.dated import USUAL_RULE
from inventory.bench_settings import BadSettings, set_bench, settings_of_bench
from inventory.labels import STOCKS
from inventory.models import BenchSettings
from inventory.refusals import Code
from inventory.roles import OWNER

SET = {
    "name": "Saltmarsh",
    "era": "1984",
    "labels": "a4-3x7",
    "address": "http://10.0.0.7:8000",
    "backups": "",
}


@extend_schema_serializer(
    examples=[
        OpenApiExample("The era of the parts", {"era": "1984"}, request_only=True),
        OpenApiExample("All of it", {**SET, "time_zone": "Europe/Lisbon", "version": 3}, response_only=True),
    ]
)
class SettingsSerializer(StrictSerializer):
    """Blank: not set."""

    name = serializers.CharField(required=False, allow_blank=True, help_text="Of the workshop; on each page.")
    era = serializers.CharField(
        required=False, allow_blank=True, help_text="Year that most parts are from: a hint to each reading."
    )
    labels = serializers.CharField(
        required=False, allow_blank=True, help_text=f"Sheet of labels: {', '.join(STOCKS)}."
    )
    address = serializers.CharField(
        required=False, allow_blank=True, help_text="That labels point to: http://10.0.0.7:8000."
    )
    backups = serializers.CharField(
        required=False, allow_blank=True, help_text=f"Dated backups that are kept; blank: {USUAL_RULE}."
    )
    time_zone = serializers.SerializerMethodField(
        help_text="In which days and hours are shown: this machine's, or what REHOME_TIME_ZONE names."
    )
    version = serializers.IntegerField(read_only=True)

    def get_time_zone(self, row: BenchSettings) -> str:
        return str(settings.TIME_ZONE)


class SettingsView(Conventions):
    """What is set once for the whole bench; the owner changes it."""

    write_role = OWNER
    versioned = True

    @extend_schema(responses=SettingsSerializer, operation_id="settings_retrieve")
    def get(self, request: Request) -> Response:
        return self.answer(settings_of_bench())

    @extend_schema(
        request=SettingsSerializer, responses=SettingsSerializer, operation_id="settings_partial_update"
    )
    def patch(self, request: Request) -> Response:
        """Set what is sent, all of it or nothing."""
        read = SettingsSerializer(data=request.data)
        read.is_valid(raise_exception=True)
        with transaction.atomic(durable=True):
            row = BenchSettings.objects.select_for_update().first() or settings_of_bench()
            check_if_match(request, row)
            try:
                return self.answer(set_bench(read.validated_data))
            except BadSettings as wrong:
                problems: dict[str, Any] = {
                    name: [ErrorDetail(detail, Code.INVALID)] for name, detail in wrong.problems.items()
                }
                raise ValidationError(problems) from None

    def answer(self, row: BenchSettings) -> Response:
        return Response(SettingsSerializer(row).data, headers={"ETag": etag(row)})
