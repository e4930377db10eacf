"""Middleware around everything else: who asks, by which way, what came of it, and whether we may answer."""

import ipaddress
import json
import logging
import re
import socket
import time
from collections.abc import Callable
from contextlib import suppress
from contextvars import ContextVar
from typing import Any
from uuid import uuid4

from django.conf import settings
from django.db import DatabaseError, connection
from django.http import HttpRequest, HttpResponse
from django.http.request import split_domain_port

from inventory import installation

LOOK_AGAIN = 30.0
"""Seconds between looks whether newer code has changed the database under a running server."""
_REQUEST_ID = re.compile(r"[A-Za-z0-9._-]{1,64}")
_NOW: ContextVar[HttpRequest | None] = ContextVar("request", default=None)

Answer = Callable[[HttpRequest], HttpResponse]
log = logging.getLogger("rehome.requests")


def request_now() -> HttpRequest | None:
    """The request that is being answered; None in a command."""
    return _NOW.get()


def address_of(request: HttpRequest) -> str:
    """Where a request comes from, as far as the proxies that are trusted say."""
    return str(request.META.get("REMOTE_ADDR", ""))[:64]


def behind_proxy(answer: Answer) -> Answer:
    """Scheme, host and client address as the proxies of REHOME_PROXY say them; nobody else is heard."""

    def forwarded(request: HttpRequest) -> HttpResponse:
        meta = request.META
        if settings.PROXIES and _is_proxy(str(meta.get("REMOTE_ADDR", ""))):
            for address in reversed(str(meta.get("HTTP_X_FORWARDED_FOR", "")).split(",")):
                if address.strip():
                    meta["REMOTE_ADDR"] = address.strip()[:64]
                    if not _is_proxy(address.strip()):
                        break
            if proto := str(meta.get("HTTP_X_FORWARDED_PROTO", "")).rpartition(",")[2].strip():
                meta["wsgi.url_scheme"] = "https" if proto == "https" else "http"
            if host := str(meta.get("HTTP_X_FORWARDED_HOST", "")).rpartition(",")[2].strip():
                meta["HTTP_HOST"] = host
        return answer(request)

    return forwarded


def _is_proxy(address: str) -> bool:
    with suppress(ValueError):
        return any(ipaddress.ip_address(address) in network for network in settings.PROXIES)
    return False


def known_host(answer: Answer) -> Answer:
    """Where REHOME_HOSTS names none: addresses and names that no name server outside can claim."""
    own = {name.lower() for name in (socket.gethostname(), socket.getfqdn())}

    def checked(request: HttpRequest) -> HttpResponse:
        if not settings.HOSTS_NAMED:
            host = split_domain_port(str(request.META.get("HTTP_HOST", "")))[0].rstrip(".")
            if not (
                "." not in host  # also an IPv6 address, and no host at all
                or host.endswith((".local", ".localhost"))
                or host in own
                or _is_address(host)
                or any(f"//{host}" in origin for origin in settings.CSRF_TRUSTED_ORIGINS)
            ):
                return HttpResponse(
                    f"This server is not known as {host[:100]}: name it in REHOME_HOSTS.\n",
                    status=400, content_type="text/plain; charset=utf-8",
                )  # fmt: skip
        return answer(request)

    return checked


def _is_address(host: str) -> bool:
    with suppress(ValueError):
        return bool(ipaddress.ip_address(host))
    return False


def fit_to_serve(answer: Answer) -> Answer:
    """Unfit, which is answered as 503, where the database is gone or was changed by newer code."""
    looked_at = -LOOK_AGAIN

    def checked(request: HttpRequest) -> HttpResponse:
        nonlocal looked_at
        installation.check_database_is_there()
        if time.monotonic() - looked_at > LOOK_AGAIN:
            installation.refuse_newer()
            installation.heed_secret_key()  # a restore beside this server brings the key of the backup
            looked_at = time.monotonic()
        return answer(request)

    return checked


def written_down(answer: Answer) -> Answer:
    """A line for each request that may have changed something, that took long or that failed."""

    def answered(request: HttpRequest) -> HttpResponse:
        sent = request.headers.get("X-Request-ID", "")
        request_id = sent if _REQUEST_ID.fullmatch(sent) else uuid4().hex[:16]
        request.request_id = request_id  # type: ignore[attr-defined]
        token, start, queries = _NOW.set(request), time.monotonic(), 0

        def counted(execute: Any, *asked: Any) -> Any:
            nonlocal queries
            queries += 1
            return execute(*asked)

        try:
            with connection.execute_wrapper(counted):
                response = answer(request)
        finally:
            _NOW.reset(token)
        response["X-Request-ID"] = request_id
        milliseconds = round((time.monotonic() - start) * 1000)
        slow = milliseconds >= settings.SLOW_MILLISECONDS
        if slow or response.status_code >= 500 or request.method not in ("GET", "HEAD", "OPTIONS"):
            facts = {
                "method": request.method, "path": request.path.encode("unicode_escape").decode()[:300],
                "status": response.status_code, "ms": milliseconds, "queries": queries,
                "person": _name(request), "address": address_of(request), "request": request_id,
            }  # fmt: skip
            message = (
                "{method} {path} {status} in {ms} ms, {queries} queries, "
                "by {person} from {address}, request {request}"
            )
            log.log(
                logging.WARNING if slow else logging.INFO,
                f"{'slow: ' if slow else ''}{message.format(**facts)}",
                extra={"facts": facts},
            )
        return response

    return answered


def _name(request: HttpRequest) -> str:
    try:
        return str(getattr(request, "user", None) or "nobody")[:150]
    except DatabaseError:
        return "nobody knows whom"


class JsonLines(logging.Formatter):
    """Each record as one line of JSON, for a program that reads logs."""

    def format(self, record: logging.LogRecord) -> str:
        entry = {
            "time": self.formatTime(record, "%Y-%m-%dT%H:%M:%S%z"),
            "level": record.levelname.lower(),
            "logger": record.name,
            "message": record.getMessage(),
            **getattr(record, "facts", {}),
        }
        if record.exc_info:
            entry["traceback"] = self.formatException(record.exc_info)
        return json.dumps(entry, default=str)
