"""The WSGI application that the server runs."""

import atexit
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

from inventory.installation import leave_cleanly  # noqa: E402  it needs what was set up above

atexit.register(leave_cleanly)
