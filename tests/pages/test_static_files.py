"""Styles, scripts and drawings come packed to whoever takes them so (RFC 9110, 8.4 and 12.5.3)."""

import gzip

import pytest
from django.templatetags.static import static
from django.test import Client

pytestmark = pytest.mark.django_db


def fetched(client: Client, name: str, **headers: str) -> tuple[object, bytes]:
    answer = client.get(static(name).partition("?")[0], headers=headers)
    assert answer.status_code == 200
    return answer, answer.getvalue()


@pytest.mark.parametrize("name", ["bench/bench.css", "bench/typed.js", "bench/parts.svg"])
def test_text_comes_packed_and_is_the_same(client: Client, name: str) -> None:
    plain, whole = fetched(client, name)
    packed, came = fetched(client, name, accept_encoding="br, gzip")
    assert "Content-Encoding" not in plain
    assert packed["Content-Encoding"] == "gzip"
    assert gzip.decompress(came) == whole
    assert int(packed["Content-Length"]) == len(came) < len(whole) / 2
    for answer in (plain, packed):
        assert "Accept-Encoding" in answer["Vary"]
        assert "max-age=" in answer["Cache-Control"]
    assert packed["Content-Type"] == plain["Content-Type"]
    head = client.head(static(name).partition("?")[0], headers={"accept_encoding": "gzip"})
    assert (head["Content-Length"], head.getvalue()) == (packed["Content-Length"], b"")


def test_what_a_browser_has_is_not_sent_again(client: Client) -> None:
    address = static("bench/bench.css").partition("?")[0]
    packed, _came = fetched(client, "bench/bench.css", accept_encoding="gzip")
    again = client.get(
        address, headers={"accept_encoding": "gzip", "if_modified_since": packed["Last-Modified"]}
    )
    assert (again.status_code, again.getvalue()) == (304, b"")
    assert "Accept-Encoding" in again["Vary"]


@pytest.mark.parametrize("accepted", ["", "identity", "gzip;q=0", "br, gzip; q=0.000", "x-gzip-not"])
def test_nothing_is_packed_for_who_does_not_take_it(client: Client, accepted: str) -> None:
    plain, _came = fetched(client, "bench/bench.css", accept_encoding=accepted)
    assert "Content-Encoding" not in plain


def test_a_picture_is_packed_by_itself_and_a_part_of_a_file_comes_as_it_lies(client: Client) -> None:
    picture, _came = fetched(client, "bench/icon-512.png", accept_encoding="gzip")
    assert "Content-Encoding" not in picture
    address = static("bench/bench.css").partition("?")[0]
    part = client.get(address, headers={"accept_encoding": "gzip", "range": "bytes=0-9"})
    assert part.status_code == 206
    assert "Content-Encoding" not in part
    assert "Accept-Encoding" in part["Vary"], "what lies between keeps it for those alone who ask alike"
    assert len(part.getvalue()) == 10
