"""Static files addressed by what is in them, so that a browser keeps each and yet never shows an old one."""

from functools import cache
from hashlib import sha256
from pathlib import Path

from django.contrib.staticfiles import finders
from django.contrib.staticfiles.storage import StaticFilesStorage


class AddressedByContent(StaticFilesStorage):
    """`bench/bench.css?v=3f2a9c01`: files are served from the packages, with no folder of renamed copies."""

    def url(self, name: str | None) -> str:
        address = super().url(name)
        version = _version(name) if name else ""
        return f"{address}?v={version}" if version else address


@cache
def _version(name: str) -> str:
    found = finders.find(name)
    return sha256(Path(found).read_bytes()).hexdigest()[:8] if found else ""
