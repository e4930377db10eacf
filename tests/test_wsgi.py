"""The application as the server calls it: no header of a request breaks it."""

import os
import subprocess
import sys
from io import BytesIO
from pathlib import Path

import pytest

from config.wsgi import Utf8Request, application


@pytest.mark.parametrize("charset", ["rot13", "idna", "punycode", "zlib", "nonsense", "latin-1"])
def test_queries_are_utf_8_whatever_charset_a_header_names(charset: str) -> None:
    request = Utf8Request(
        {
            "REQUEST_METHOD": "GET",
            "PATH_INFO": "/healthz",
            "QUERY_STRING": "q=4%C2%B5",
            "CONTENT_TYPE": f"application/json; charset={charset}",
            "wsgi.input": BytesIO(),
        }
    )
    assert request.GET["q"] == "4µ"


def test_the_server_reads_requests_that_way() -> None:
    assert application.request_class is Utf8Request


LOADED_THEN_FORKED = """
import gc, os
import config.wsgi
from inventory.decoding import Question, decode
worker = os.fork()
if worker:
    raise SystemExit(os.waitstatus_to_exitcode(os.waitpid(worker, 0)[1]))
assert decode(Question(marking="BC547B")).readings[0].number == "BC547B"
frozen, walked = gc.get_freeze_count(), len(gc.get_objects())
print(frozen, walked, flush=True)
os._exit(0 if walked * 10 < frozen else 1)
"""


def test_a_collection_in_a_forked_worker_does_not_walk_what_was_loaded(tmp_path: Path) -> None:
    """What the server loads is frozen before workers fork: gc, library reference of the language."""
    worker = subprocess.run(
        [sys.executable, "-c", LOADED_THEN_FORKED],
        env={**os.environ, "REHOME_HOME": str(tmp_path)},
        capture_output=True, text=True, timeout=120,
    )  # fmt: skip
    assert worker.returncode == 0, worker.stdout + worker.stderr
