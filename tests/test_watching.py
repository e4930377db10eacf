"""Who asked, from where and by which name; what the log says of it, and what it never says."""

import json
import logging
from typing import Any

import pytest
from django.test import Client

from config.settings import networks
from inventory.watching import JsonLines

pytestmark = pytest.mark.django_db
NEW = {"name": "Tray 90", "type": "tray"}
FORWARDED = {
    "HTTP_X_FORWARDED_FOR": "198.51.100.9, 192.0.2.7", "HTTP_X_FORWARDED_PROTO": "https",
    "HTTP_X_FORWARDED_HOST": "bench.example",
}  # fmt: skip


def test_a_write_is_one_line_with_who_what_and_from_where(bench: Any, caplog: Any) -> None:
    with caplog.at_level(logging.INFO, "rehome.requests"):
        answer = bench.post("/api/v1/places/", NEW, REMOTE_ADDR="192.0.2.7", HTTP_X_REQUEST_ID="night-17")
        bench.get("/api/v1/places/")
    (line,) = [record for record in caplog.records if record.name == "rehome.requests"]
    assert answer["X-Request-ID"] == "night-17"
    facts = json.loads(JsonLines().format(line))
    assert (facts["method"], facts["path"], facts["status"]) == ("POST", "/api/v1/places/", 201)
    assert (facts["person"], facts["address"], facts["request"]) == ("bench", "192.0.2.7", "night-17")
    assert facts["queries"] > 0


def test_what_is_slow_is_named_with_its_queries(bench: Any, caplog: Any, settings: Any) -> None:
    settings.SLOW_MILLISECONDS = 0
    with caplog.at_level(logging.INFO, "rehome.requests"):
        bench.get("/api/v1/places/")
    assert "slow: GET /api/v1/places/ 200" in caplog.text


def test_nothing_secret_and_no_second_line_gets_into_the_log(client: Client, caplog: Any) -> None:
    with caplog.at_level(logging.INFO):
        client.post("/sign-in/", {"username": "robin", "password": "three-clipped-leads"})
        answer = client.post("/nowhere%0aFORGED", HTTP_X_REQUEST_ID="x\ny")
    assert "three-clipped-leads" not in caplog.text
    assert not any("\nFORGED" in record.getMessage() for record in caplog.records)
    assert answer["X-Request-ID"].isalnum()


def test_a_proxy_that_is_named_is_heard(bench: Any, caplog: Any, settings: Any, monkeypatch: Any) -> None:
    monkeypatch.setenv("PROXY", "127.0.0.1,198.51.100.0/24")
    settings.PROXIES, settings.HOSTS_NAMED = networks("PROXY"), True
    settings.ALLOWED_HOSTS = ["bench.example"]
    with caplog.at_level(logging.INFO, "rehome.requests"):
        answer = bench.post("/api/v1/places/", NEW, **FORWARDED)
    assert answer["Location"].startswith("https://bench.example/api/v1/places/")
    assert "from 192.0.2.7" in caplog.text, "the nearest that is no proxy; what is left of it may be forged"


def test_nobody_else_is_heard(bench: Any, caplog: Any, settings: Any) -> None:
    with caplog.at_level(logging.INFO, "rehome.requests"):
        answer = bench.post("/api/v1/places/", NEW, **FORWARDED)
    assert answer["Location"].startswith("http://testserver/")
    assert "from 127.0.0.1" in caplog.text


@pytest.mark.parametrize(
    "host", ["localhost", "127.0.0.1:8000", "[::1]:8000", "10.0.0.7", "bench", "pi.local"]
)
def test_a_machine_is_known_by_its_addresses_and_names(client: Client, host: str) -> None:
    assert client.get("/healthz", HTTP_HOST=host).status_code == 200


@pytest.mark.parametrize("host", ["evil.example", "10.0.0.7.evil.example", "localhost.evil.example:8000"])
def test_a_name_that_anybody_may_claim_is_refused(client: Client, settings: Any, host: str) -> None:
    answer = client.get("/healthz", HTTP_HOST=host)
    assert answer.status_code == 400
    assert b"REHOME_HOSTS" in answer.content
    settings.HOSTS_NAMED, settings.ALLOWED_HOSTS = True, [host.partition(":")[0]]
    assert client.get("/healthz", HTTP_HOST=host).status_code == 200
