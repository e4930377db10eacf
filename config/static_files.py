"""Static files, packed; addressed by what is in them: a browser keeps each and never shows an old one."""

import re
from functools import cache
from hashlib import sha256
from pathlib import Path
from typing import Any

from django.contrib.staticfiles import finders
from django.contrib.staticfiles.storage import StaticFilesStorage
from django.http import HttpRequest, HttpResponse
from django.utils.cache import patch_vary_headers
from whitenoise.compress import Compressor
from whitenoise.middleware import WhiteNoiseMiddleware


class AddressedByContent(StaticFilesStorage):
    """`bench/bench.css?v=3f2a9c01`: files are served from the packages, with no folder of renamed copies."""

    def url(self, name: str | None) -> str:
        address = super().url(name)
        version = _version(name) if name else ""
        return f"{address}?v={version}" if version else address


class CompressedStatic(WhiteNoiseMiddleware):  # type: ignore[misc]
    """WhiteNoise, with text packed at the first asking: what it looks for would lie beside packages."""

    @staticmethod
    def serve(static_file: Any, request: HttpRequest) -> HttpResponse:
        answer: Any = WhiteNoiseMiddleware.serve(static_file, request)
        *_packed_ones, (_encoding, path, _headers) = static_file.alternatives
        if "Content-Encoding" in answer or not _text.should_compress(path):
            return answer  # type: ignore[no-any-return]
        patch_vary_headers(answer, ("Accept-Encoding",))
        if answer.status_code != 200 or not _takes_gzip(request.headers.get("Accept-Encoding", "")):
            return answer  # type: ignore[no-any-return]
        answer.close()
        packed = _packed(path, Path(path).stat().st_mtime_ns)
        del answer["ETag"]  # it is that of the file as it lies there; Last-Modified holds for both
        headers = {**dict(answer.items()), "Content-Encoding": "gzip", "Content-Length": str(len(packed))}
        return HttpResponse(packed if request.method == "GET" else b"", headers=headers)


def _takes_gzip(accepted: str) -> bool:
    """By a header Accept-Encoding, in which a weight of nought takes it out (RFC 9110, 12.5.3)."""
    weights = dict(each.replace(" ", "").lower().partition(";")[::2] for each in accepted.split(","))
    return "gzip" in weights and not _NOUGHT.fullmatch(weights["gzip"])


_NOUGHT = re.compile(r"q=0(\.0*)?")
_text = Compressor(quiet=True)
"""Knows which names are of files that are packed already."""


@cache
def _packed(path: str, _written_at: int) -> bytes:
    return Compressor.compress_gzip(Path(path).read_bytes())  # type: ignore[no-any-return]


@cache
def _version(name: str) -> str:
    found = finders.find(name)
    return sha256(Path(found).read_bytes()).hexdigest()[:8] if found else ""
