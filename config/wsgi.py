"""The WSGI application that the server runs."""

import atexit
import gc
import os
from typing import Any

import django
from django.core.handlers.wsgi import WSGIHandler, WSGIRequest
from django.utils.http import parse_header_parameters

os.environ.setdefault("DJANGO_SETTINGS_MODULE", "config.settings")
os.umask(0o077)  # what the server writes is its owner's alone


class Utf8Request(WSGIRequest):
    """Queries and forms are UTF-8, whatever charset a header names: some are no text encodings."""

    def _set_content_type_params(self, meta: dict[str, Any]) -> None:
        self.content_type, self.content_params = parse_header_parameters(meta.get("CONTENT_TYPE", ""))


class Application(WSGIHandler):
    request_class = Utf8Request


django.setup(set_prefix=False)
application = Application()

from django.urls import get_resolver  # noqa: E402  these need what was set up above

from inventory.installation import leave_cleanly  # noqa: E402

atexit.register(leave_cleanly)

# What is loaded now lives as long as the process: a full collection would walk a quarter of a million objects
# in the midst of a request, and copy every page that a forked worker shares.
get_resolver().url_patterns  # noqa: B018  loads every page, and with them the tables of the decoder
gc.collect()
gc.freeze()
