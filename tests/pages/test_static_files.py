"""Static files: a browser keeps each as long as it likes, and a changed one has another address."""

import re
from pathlib import Path

import pytest
from django.contrib.staticfiles import finders
from django.test import Client

from config import static_files

pytestmark = pytest.mark.django_db


def test_every_file_of_a_page_is_addressed_by_what_is_in_it_and_kept(client: Client) -> None:
    page = client.get("/sign-in/", REMOTE_ADDR="192.0.2.1").content.decode()
    addresses = re.findall(r'"(/static/[^"]+)"', page)
    assert addresses
    for address in addresses:
        assert re.search(r"\?v=[0-9a-f]{8}$", address), address
        answer = client.get(address)
        assert answer.status_code == 200
        assert "max-age=2592000" in answer.headers["Cache-Control"]


def test_another_content_has_another_address(monkeypatch: pytest.MonkeyPatch, tmp_path: Path) -> None:
    kept, addresses = tmp_path / "bench.css", []
    monkeypatch.setattr(finders, "find", lambda name: str(kept))
    for content in ("body { }", "body { color: red }"):
        kept.write_text(content)
        static_files._version.cache_clear()
        addresses.append(static_files.AddressedByContent().url("bench/bench.css"))
    static_files._version.cache_clear()
    assert len(set(addresses)) == 2
