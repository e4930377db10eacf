"""Addresses that are about no noun: health, the index, the document and its page, and what is not there."""

import logging
import sys
from collections.abc import Iterator, Sequence
from datetime import timedelta
from functools import cache
from typing import Any, NoReturn

from django.conf import settings
from django.db import connection
from django.http import HttpRequest, HttpResponse, HttpResponseRedirect, JsonResponse
from django.template.loader import render_to_string
from django.urls import URLPattern, URLResolver, resolve
from django.utils.decorators import method_decorator
from django.utils.http import urlencode
from django.views.decorators.gzip import gzip_page
from django.views.decorators.http import require_safe
from django.views.defaults import server_error
from drf_spectacular.generators import SchemaGenerator
from drf_spectacular.renderers import OpenApiJsonRenderer2
from drf_spectacular.utils import OpenApiExample, extend_schema
from drf_spectacular.views import SpectacularSwaggerSplitView
from rest_framework.exceptions import NotAuthenticated, NotFound
from rest_framework.request import Request
from rest_framework.response import Response
from rest_framework.views import APIView

from inventory import backups, installation
from inventory.api.problems import MEDIA_TYPE, Problem
from inventory.api.viewsets import Conventions
from inventory.faults import fault_of

log = logging.getLogger("rehome.faults")


@require_safe
def healthz(request: HttpRequest) -> JsonResponse:
    """Whether the database answers and is one of this Rehome's, and how old the last good backup is.

    The only thing told without a sign-in; `health/` says more to an owner.
    """
    installation.check_database_is_there()
    installation.refuse_newer()
    with connection.cursor() as cursor:
        cursor.execute("SELECT 1")
    age = backups.age()
    body = {
        "status": "ok",
        "version": settings.VERSION,
        "backup_age_hours": age and age // timedelta(hours=1),
    }
    return JsonResponse(body, headers={"Cache-Control": "no-store"})


def fault(request: HttpRequest) -> HttpResponse:
    """The answer to what nobody foresaw: to what is wrong with the machine, by its name; else a bug."""
    error = sys.exc_info()[1]
    found = fault_of(error) if error is not None else None
    if found is None:
        return server_error(request)
    if request.path.startswith(("/api/", "/healthz")):
        body = Problem(found.status, found.detail, found.code).body()
        answer: Any = JsonResponse(body, status=found.status, content_type=MEDIA_TYPE)
    else:
        answer = HttpResponse(render_to_string("503.html", {"detail": found.detail}), status=found.status)
    if found.retry_after:
        answer["Retry-After"] = str(found.retry_after)
    answer["Cache-Control"] = "no-store"
    log.error("%s %s: %s (%s)", request.method, request.path, found.code, error)
    answer._has_been_logged = True  # else Django writes the traceback of what is no bug
    faulty: HttpResponse = answer
    return faulty


class Index(Conventions):
    """Every resource by its name."""

    patterns: Sequence[URLPattern | URLResolver] = ()

    @extend_schema(
        responses={(200, "application/json"): {"type": "object", "additionalProperties": {"type": "string"}}},
        operation_id="index",
        examples=[OpenApiExample("Some of it", {"parts/": "http://localhost:8000/api/v1/parts/"})],
    )
    def get(self, request: Request) -> Response:
        here = request.build_absolute_uri(request.path)
        return Response({name: f"{here}{name}" for name in sorted(set(_plain_routes(self.patterns)))})


def _plain_routes(patterns: Sequence[URLPattern | URLResolver], above: str = "") -> Iterator[str]:
    """The routes that take no argument, as they are written."""
    for entry in patterns:
        route = above + str(entry.pattern).removeprefix("^").removesuffix("\\Z").removesuffix("$")
        if isinstance(entry, URLResolver):
            yield from _plain_routes(entry.url_patterns, route)
        elif route and not set(route) & set("<(?"):
            yield route.replace("\\", "")


class NoSuchAddress(Conventions):
    """A wrong address is answered in the API's way too; one that lacks its last stroke is sent on."""

    schema = None

    def known_parameters(self) -> tuple[set[str], set[str]]:
        return set(self.request.query_params), set(self.request.query_params)

    def handle(self, request: Request, *args: Any, **kwargs: Any) -> NoReturn:
        raise NotFound(f"there is nothing at {request.path[:200]}")

    get = post = put = patch = delete = handle

    def handle_exception(self, exc: Exception) -> Any:
        path, query = self.request.path, self.request.META.get("QUERY_STRING", "")
        if isinstance(exc, NotFound) and not path.endswith("/") and _is_there(f"{path}/"):
            return HttpResponse(status=308, headers={"Location": f"{path}/{'?' if query else ''}{query}"})
        return super().handle_exception(exc)


def _is_there(path: str) -> bool:
    return getattr(resolve(path).func, "cls", None) is not NoSuchAddress


@cache
def _document() -> dict[str, Any]:
    """Made once: it says the same to everybody."""
    made: dict[str, Any] = SchemaGenerator().get_schema(  # type: ignore[no-untyped-call]
        request=None, public=True
    )
    return made


@method_decorator(gzip_page, "dispatch")
class Document(Conventions):
    """The OpenAPI document of everything that is here."""

    schema = None
    renderer_classes = [OpenApiJsonRenderer2]

    def get(self, request: Request) -> Response:
        return Response(_document())


class DocumentPage(Conventions, SpectacularSwaggerSplitView):
    """The document as a page, served whole from here; a browser that is not signed in is sent to sign in."""

    schema = None
    url_name = "openapi"

    def initial(self, request: Request, *args: Any, **kwargs: Any) -> None:
        APIView.initial(self, request, *args, **kwargs)  # it asks for its own script by an empty parameter

    def handle_exception(self, exc: Exception) -> Any:
        if isinstance(exc, NotAuthenticated) and "text/html" in self.request.headers.get("Accept", ""):
            return HttpResponseRedirect(f"/sign-in/?{urlencode({'next': self.request.path})}")
        return super().handle_exception(exc)
