"""`backups/`: dated backups taken, listed and fetched; `manage.py restore` alone puts one back."""

from typing import Any

from django.http import FileResponse
from drf_spectacular.types import OpenApiTypes
from drf_spectacular.utils import OpenApiExample, extend_schema, extend_schema_serializer
from rest_framework import serializers
from rest_framework.exceptions import NotFound
from rest_framework.request import Request
from rest_framework.response import Response
from rest_framework.reverse import reverse

from inventory import backups
from inventory.api.viewsets import Conventions
from inventory.bench_settings import settings_of_bench
from inventory.roles import OWNER

TAKEN = {"name": "dated-20261128T031700Z.backup", "made_at": "2026-11-28T03:17:00Z", "size": 8123456}
ALL = {"last_good": "2026-11-28T03:17:00Z", "keeps": backups.USUAL_RULE, "results": [TAKEN]}


@extend_schema_serializer(examples=[OpenApiExample("A night's", TAKEN, response_only=True)])
class BackupSerializer(serializers.Serializer[Any]):
    name = serializers.CharField()
    made_at = serializers.DateTimeField()
    size = serializers.IntegerField(help_text="Bytes.")


@extend_schema_serializer(examples=[OpenApiExample("One so far", ALL, response_only=True)])
class BackupsSerializer(serializers.Serializer[Any]):
    last_good = serializers.DateTimeField(allow_null=True, help_text="Of the last that was read back whole.")
    keeps = serializers.CharField(help_text="The rule by which dated backups are kept: `settings/`.")
    results = BackupSerializer(many=True, help_text="Newest first.")


class BackupsView(Conventions):
    """Dated backups, for the owner."""

    read_role = write_role = OWNER
    in_pieces = True

    @extend_schema(responses=BackupsSerializer, operation_id="backups_list")
    def get(self, request: Request) -> Response:
        """What there is, and when the last good backup was taken."""
        there = {
            "last_good": backups.last_good(),
            "keeps": settings_of_bench().backups or backups.USUAL_RULE,
            "results": backups.dated(),
        }
        return Response(BackupsSerializer(there).data)

    @extend_schema(request=None, responses={201: BackupSerializer}, operation_id="backups_create")
    def post(self, request: Request) -> Response:
        """Take one now, check it, and remove those that the rule keeps no longer.  Nobody waits for it."""
        taken = backups.take_dated(settings_of_bench().backups)
        address = reverse("backup", args=[taken.name], request=request)
        return Response(BackupSerializer(taken).data, status=201, headers={"Location": address})


class BackupView(Conventions):
    """One backup, for the owner.  Whoever has the file can read everything in it."""

    read_role = OWNER

    @extend_schema(
        responses={(200, "application/octet-stream"): OpenApiTypes.BINARY}, operation_id="backups_retrieve"
    )
    def get(self, request: Request, name: str) -> FileResponse:
        for each in backups.dated():
            if each.name == name:
                return FileResponse(each.path.open("rb"), as_attachment=True, filename=each.name)
        raise NotFound(f"there is no backup {name[:80]}")
