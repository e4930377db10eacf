"""What every address of the API keeps to, and the whole life of a noun on top of it.

A plain view takes `Conventions` for its base; a noun takes `NounViewSet` and says what its rows, members and
rules are.
"""

from collections.abc import Callable, Sequence
from functools import partial
from typing import Any, ClassVar

from django.conf import settings
from django.contrib.auth.models import User
from django.db import transaction
from django.db.models import Model, QuerySet
from django.shortcuts import get_object_or_404
from drf_spectacular.utils import OpenApiParameter
from rest_framework.request import Request
from rest_framework.response import Response
from rest_framework.reverse import reverse
from rest_framework.serializers import BaseSerializer
from rest_framework.utils.urls import replace_query_param
from rest_framework.views import APIView
from rest_framework.viewsets import GenericViewSet

from inventory import changes
from inventory.api.lists import CHANGED_SINCE, Listed, Pages, cursor_of, refuse_unknown
from inventory.api.once import once, once_in_pieces
from inventory.api.problems import TooLarge
from inventory.api.versions import check_if_match, claim, etag, unless_it_is_known
from inventory.roles import BENCH, OWNER


class Conventions(APIView):
    """Roles, sizes, strict parameters, and each POST in one transaction, once for each Idempotency-Key.

    `query_parameters` both admits and documents; an action gives its own to `@action`.
    """

    # Without `trace`: it is the name of an action, and the framework would take it for the method TRACE.
    http_method_names = ["get", "head", "post", "put", "patch", "delete"]
    write_role: str = BENCH
    delete_role: str = OWNER
    query_parameters: Sequence[OpenApiParameter] = ()
    versioned: ClassVar[bool] = False
    in_pieces: ClassVar[bool] = False
    """Whether a POST takes its own transactions, so that its work holds no lock for long."""

    def dispatch(self, request: Any, *args: Any, **kwargs: Any) -> Any:
        answer = super().dispatch(request, *args, **kwargs)
        # A view and its request hold each other: what hangs on it, a large answer too, would stay until the
        # collector comes by.
        del self.response
        return answer

    def initial(self, request: Request, *args: Any, **kwargs: Any) -> None:
        super().initial(request, *args, **kwargs)
        _refuse_large(request)
        refuse_unknown(request, *self.known_parameters())
        if request.method == "POST" and hasattr(self, "post"):
            post: Callable[..., Response] = self.post
            at_most_once = once_in_pieces if self.in_pieces else once
            self.post: Callable[..., Response] = lambda request, *args, **kwargs: at_most_once(
                request, lambda: post(request, *args, **kwargs), self.completed
            )

    def completed(self, body: Any) -> Any:
        """An answer that is given again, with what was not stored with it."""
        return body

    def known_parameters(self) -> tuple[set[str], set[str]]:
        """All parameters that this request may have, and those that may be repeated."""
        return (
            {parameter.name for parameter in self.query_parameters},
            {parameter.name for parameter in self.query_parameters if parameter.many},
        )

    @property
    def person(self) -> User:
        """Whoever is signed in; only for addresses that demand it."""
        assert isinstance(self.request.user, User)
        return self.request.user

    def finalize_response(self, request: Request, response: Any, *args: Any, **kwargs: Any) -> Any:
        answer = super().finalize_response(request, response, *args, **kwargs)
        answer.setdefault("Cache-Control", "private, no-store")
        if request.method not in ("GET", "HEAD") or answer.status_code != 200:
            return answer
        if isinstance(answer, Response):
            answer.add_post_render_callback(partial(unless_it_is_known, request))
        elif answer.headers["Content-Type"] == "application/json":
            return unless_it_is_known(request, answer) or answer
        return answer


def _refuse_large(request: Request) -> None:
    upload = (request.content_type or "").startswith("multipart/")
    most = settings.UPLOAD_BYTES if upload else settings.DATA_UPLOAD_MAX_MEMORY_SIZE
    length = str(request.META.get("CONTENT_LENGTH") or "0")
    if not length.isdigit() or int(length[:18]) > most:
        raise TooLarge(f"the body has {length[:18]} bytes; at most {most} are taken here", most=most)


class NounViewSet(Listed, Conventions, GenericViewSet[Any]):  # type: ignore[misc]
    """List, read, make, change and remove rows of one model with an integer `version`.

    A noun overrides `make`, `change` and `remove` where more than columns is at stake.
    """

    model: ClassVar[Any]
    change_serializer_class: Any = None  # where a change takes other members than the making
    versioned = True
    lookup_value_regex = "[0-9]{1,18}"

    def known_parameters(self) -> tuple[set[str], set[str]]:
        return self.list_parameters() if self.action == "list" else super().known_parameters()

    def get_queryset(self) -> QuerySet[Any]:
        """The rows with what their serializer tells of them, in a constant number of queries."""
        rows: QuerySet[Any] = self.model.objects.all()
        return rows

    # --- reading

    def list(self, request: Request, *args: Any, **kwargs: Any) -> Response:
        rows = self.filter_queryset(self.get_queryset())
        if CHANGED_SINCE in request.query_params:
            return self.changed(request, rows)
        page = self.paginate_queryset(rows)
        return self.get_paginated_response(self.get_serializer(page, many=True).data)

    def changed(self, request: Request, rows: QuerySet[Any]) -> Response:
        """The rows of this list that changed since a cursor, and the ids of those that are not in it now."""
        most = Pages().get_page_size(request)
        found = changes.since(cursor_of(request), self.model._meta.db_table, rows, most)
        there = list(rows.filter(pk__in=found.ids).order_by("pk"))
        whole = request.build_absolute_uri()
        return Response(
            {
                "count": len(there),
                "next": replace_query_param(whole, CHANGED_SINCE, str(found.cursor)) if found.more else None,
                "previous": None,
                "results": self.get_serializer(there, many=True).data,
                "removed": sorted(set(found.ids) - {row.pk for row in there}),
                "cursor": str(found.cursor),
            }
        )

    def retrieve(self, request: Request, *args: Any, **kwargs: Any) -> Response:
        return self.answer(get_object_or_404(self.get_queryset(), pk=self.kwargs["pk"]))

    def answer(self, row: Any, status: int = 200, **headers: str) -> Response:
        return Response(self.get_serializer(row).data, status=status, headers={"ETag": etag(row), **headers})

    # --- writing

    def create(self, request: Request, *args: Any, **kwargs: Any) -> Response:
        serializer = self.read(request)
        made = self.make(serializer.validated_data)
        return self.answer(self.get_queryset().get(pk=made.pk), 201, Location=self.address(made))

    def update(self, request: Request, *args: Any, partial: bool = False, **kwargs: Any) -> Response:
        with transaction.atomic(durable=True):
            row = self.locked()
            serializer = self.read(request, row, partial=partial)
            if serializer.validated_data:
                self.change(row, serializer.validated_data)
            return self.answer(self.get_queryset().get(pk=row.pk))

    def partial_update(self, request: Request, *args: Any, **kwargs: Any) -> Response:
        return self.update(request, *args, partial=True, **kwargs)

    def destroy(self, request: Request, *args: Any, **kwargs: Any) -> Response:
        with transaction.atomic(durable=True):
            self.remove(self.locked())
        return Response(status=204)

    def read(self, request: Request, row: Any = None, *, partial: bool = False) -> BaseSerializer[Any]:
        form = (row is not None and self.change_serializer_class) or self.get_serializer_class()
        serializer: BaseSerializer[Any] = form(
            row, data=request.data, partial=partial, context=self.get_serializer_context()
        )
        serializer.is_valid(raise_exception=True)
        return serializer

    def locked(self) -> Any:
        """The row to write to, locked (SQLite locked everything at BEGIN), with its If-Match honoured."""
        row = get_object_or_404(self.model.objects.select_for_update(), pk=self.kwargs["pk"])
        check_if_match(self.request, row)
        return row

    def address(self, row: Any) -> str:
        return reverse(f"{self.basename}-detail", args=[row.pk], request=self.request)

    # --- what a noun says

    def make(self, data: dict[str, Any]) -> Model:
        made: Model = self.model.objects.create(**data)
        return made

    def change(self, row: Any, data: dict[str, Any]) -> None:
        claim(row, **data)

    def remove(self, row: Any) -> None:
        row.delete()
