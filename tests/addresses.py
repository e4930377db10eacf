"""Every page that the URL conf has, and real addresses of each, found by following the links of the demo."""

import logging
import re
from collections import defaultdict
from collections.abc import Callable
from pathlib import Path
from unittest import mock
from urllib.parse import urldefrag, urljoin, urlsplit

from django.contrib.auth.models import AnonymousUser
from django.http import HttpRequest
from django.test import RequestFactory
from django.urls import Resolver404, URLPattern, resolve

from config.urls import urlpatterns
from inventory.pages import entrance

Fetch = Callable[[str], tuple[int, str, bytes]]
"""Asks for an address, without following where it leads: status, content type and body."""

LINK = re.compile(rb'(?:href|action)="([^"#]*)')
OF_EACH = 16
"""So many addresses of one page are looked at; the longest stands for it."""


NO_PAGES = {"fetch-backup", "attachment", "calendar-feed", "any-list", "sign-in-code"}
"""Files to keep, one for other programs, and pages that are there once a list or a password was sent."""


def shown() -> list[str]:
    """The names of the pages that are looked at, rather than posted to."""
    return [
        pattern.name
        for pattern in urlpatterns
        if isinstance(pattern, URLPattern)
        and pattern.name
        and pattern.name not in NO_PAGES
        and _may_be_looked_at(pattern)
    ]


def _may_be_looked_at(pattern: URLPattern) -> bool:
    request: HttpRequest = RequestFactory().get("/")
    request.user = AnonymousUser()
    request.session = {}  # type: ignore[assignment]
    known = {"pk": 1, "number": 1, "name": "x"}
    asked = {name: known.get(name, 1) for name in pattern.pattern.regex.groupindex}
    # Without the word of a new bench the entrance does not ask the database whether anybody is known yet;
    # and a refusal is what is asked for here, not news for the log.
    refusals = logging.getLogger("django.request")
    with (
        mock.patch.object(entrance, "WORD", Path("/nowhere/first-word")),
        mock.patch.object(refusals, "disabled", True),
    ):
        return pattern.callback(request, **asked).status_code != 405


def name_of(address: str) -> str:
    """The URL conf's name of the page at an address; empty for what is no page of ours."""
    path = urlsplit(address).path
    if path.startswith(("/api/", "/static/", "/healthz")):
        return ""
    try:
        return resolve(path).url_name or ""
    except Resolver404:
        return ""


def found(fetch: Fetch, of_each: int = OF_EACH) -> dict[str, list[str]]:
    """For each page so many of its addresses, the longest page first, reached from Now by links alone."""
    looked_at = set(shown())
    weighed: dict[str, list[tuple[int, str]]] = defaultdict(list)
    waiting = ["/", "/sign-in/", "/drawers/?q=2716"]  # a programmed memory is tried as no other part is
    known = set(waiting)
    while waiting:
        address = waiting.pop(0)
        name = name_of(address)
        if len(weighed[name]) >= of_each:
            continue
        status, kind, body = fetch(address)
        assert status == 200 or name == "sign-in", f"{address} answers {status}"
        weighed[name].append((len(body), address))
        if "text/html" not in kind:
            continue
        for link in LINK.findall(body):
            target = urldefrag(urljoin(address, link.decode().replace("&amp;", "&"))).url
            if name_of(target) in looked_at and target not in known:
                known.add(target)
                waiting.append(target)
    return {name: [address for _, address in sorted(found, reverse=True)] for name, found in weighed.items()}
