"""The application as the server calls it: no header of a request breaks it."""

from io import BytesIO

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
