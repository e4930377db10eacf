"""What the addresses under one board share: the board, and what every fact of it says."""

from collections.abc import Iterable
from functools import cached_property
from typing import Any

from django.shortcuts import get_object_or_404
from rest_framework import serializers
from rest_framework.permissions import SAFE_METHODS
from rest_framework.request import Request
from rest_framework.response import Response

from inventory.api.versions import Stale, check_if_match
from inventory.api.viewsets import Conventions
from inventory.models import Board
from repairs.bringing_up import BoardChanged


def one_of(words: Iterable[str], **options: Any) -> serializers.CharField:
    """A word of an answer; `ChoiceField` is for what is sent."""
    return serializers.CharField(help_text=f"One of: {', '.join(words)}.", **options)


class OfBoard(Conventions):
    """An address under one board.  A write may name the board's ETag in If-Match."""

    guarded = True
    seen: int | None = None
    """The version of the board that a write was made for."""

    def initial(self, request: Request, *args: Any, **kwargs: Any) -> None:
        super().initial(request, *args, **kwargs)
        if request.method not in SAFE_METHODS:
            check_if_match(request, self.board)
            if request.headers.get("If-Match", "*").strip() != "*":
                self.seen = self.board.version

    def handle_exception(self, exc: Exception) -> Response:
        return super().handle_exception(Stale(exc.detail) if isinstance(exc, BoardChanged) else exc)

    @cached_property
    def board(self) -> Board:
        return get_object_or_404(Board.objects.select_related("design", "place"), pk=self.kwargs["pk"])


class FactSerializer(serializers.Serializer[Any]):
    """What every fact of a board says beside itself."""

    id = serializers.IntegerField(read_only=True)
    note = serializers.CharField(read_only=True)
    by = serializers.CharField(source="by.username", read_only=True, default=None, allow_null=True)
    at = serializers.DateTimeField(read_only=True)
