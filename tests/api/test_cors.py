"""Scripts of other pages, let in from the origins that are named, by key alone (fetch.spec.whatwg.org)."""

from pathlib import Path
from typing import Any

import pytest
from django.conf import settings
from django.test import override_settings

from tests.installed import Installation

CLUB = "https://club.example"
ASKED = {"HTTP_ORIGIN": CLUB}
PREFLIGHT = {
    **ASKED,
    "HTTP_ACCESS_CONTROL_REQUEST_METHOD": "PATCH",
    "HTTP_ACCESS_CONTROL_REQUEST_HEADERS": "authorization, if-match, idempotency-key",
}
named = override_settings(CORS_ALLOWED_ORIGINS=[CLUB])


def test_none_is_let_in_unless_it_is_named(bench: Any) -> None:
    assert settings.CORS_ALLOWED_ORIGINS == []
    assert "Access-Control-Allow-Origin" not in bench.get("/api/v1/places/", **ASKED).headers


@named
def test_a_named_origin_may_ask_with_a_key_and_read_the_version(bench: Any, stranger: Any) -> None:
    answer = bench.get("/api/v1/places/", **ASKED)
    assert answer.headers["Access-Control-Allow-Origin"] == CLUB
    assert "ETag" in answer.headers["Access-Control-Expose-Headers"]
    assert "Access-Control-Allow-Credentials" not in answer.headers
    asked = stranger.options("/api/v1/places/1/", **PREFLIGHT)  # a browser sends no key with it
    assert asked.status_code == 200
    assert "PATCH" in asked.headers["Access-Control-Allow-Methods"]
    allowed = asked.headers["Access-Control-Allow-Headers"]
    assert {"authorization", "if-match", "idempotency-key"} <= set(allowed.replace(" ", "").split(","))


@named
def test_another_origin_and_the_pages_stay_shut(bench: Any) -> None:
    other = bench.get("/api/v1/places/", HTTP_ORIGIN="https://elsewhere.example")
    page = bench.get("/sign-in/", **ASKED)
    assert "Access-Control-Allow-Origin" not in other.headers
    assert "Access-Control-Allow-Origin" not in page.headers


@pytest.mark.parametrize("origin", ["club.example", "https://club.example/page", "*"])
def test_what_is_no_origin_is_refused_at_the_start(tmp_path: Path, origin: str) -> None:
    assert "REHOME_CORS" in Installation(tmp_path, REHOME_CORS=origin).refused("audit")
