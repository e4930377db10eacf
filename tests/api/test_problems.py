"""Whatever is sent, the answer is a problem that says what and where, and nothing is changed: RFC 9457."""

import json
from typing import Any

import pytest
from django.db import IntegrityError, OperationalError
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from inventory import ledger
from inventory.api.problems import MEDIA_TYPE, RESERVED, describe
from inventory.ledger import Refused
from inventory.models import Board, Design, Lot, Part, Place
from inventory.refusals import Code
from tests.factories import PlaceFactory, stock

PARTS = "/api/v1/parts/"


def refused(answer: Any, status: int) -> dict[str, Any]:
    """The problem that an answer is, checked for its shape."""
    assert answer.status_code == status, answer.content
    assert answer.headers["Content-Type"] == MEDIA_TYPE
    body: dict[str, Any] = answer.json()
    assert body["status"] == status
    assert body["type"]
    assert body["title"]
    assert isinstance(body["detail"], str)
    for error in body.get("errors", []):
        assert error["pointer"].startswith("#")
        assert error["code"]
        assert error["detail"]
    return body


def pointers(body: dict[str, Any]) -> set[str]:
    return {error["pointer"] for error in body["errors"]}


def test_every_wrong_member_is_named_at_once(bench: Any) -> None:
    answer = bench.post(
        PARTS, {"kind": "resistor", "value": "4k7k", "volts": "x", "pack_size": 0, "colour": "red"}
    )
    assert pointers(refused(answer, 400)) == {"#/value", "#/volts", "#/pack_size", "#/colour"}
    assert not Part.objects.exists()


def test_a_wrong_value_deep_in_a_list_is_pointed_at(bench: Any) -> None:
    positions = [{"ref": "R1", "kind": "resistor"}, {"ref": "R2", "kind": "resistor", "value": "lots"}]
    answer = bench.post("/api/v1/designs/", {"name": "Plover", "positions": positions})
    assert pointers(refused(answer, 400)) == {"#/positions/1/value"}


def test_a_member_with_a_stroke_or_tilde_is_escaped_in_its_pointer(bench: Any) -> None:
    """RFC 6901, section 3."""
    answer = bench.post(PARTS, {"kind": "resistor", "a/b~c": 1})
    assert pointers(refused(answer, 400)) == {"#/a~1b~0c"}


BODIES = [
    (b"", 400),
    (b"{", 400),
    (b"[]", 400),
    (b"7", 400),
    (b"null", 400),
    (b'"text"', 400),
    (b"\xff\xfe{}", 400),
    (b'{"kind": "resistor", "name": "\xc3\x28"}', 400),
    (b'{"kind": "resistor", "name": "a\\u0000b"}', 400),
    (b'{"kind": "resistor", "name": "\\ud800"}', 400),
    (b'{"kind": "resistor", "\\ud800": 1}', 400),
    (b'{"kind": "resistor", "traits": {"\\udfff": {"\\u0000": "\\ud800"}}}', 400),
    (b'{"kind": "resistor", "price": NaN}', 400),
    (b'{"kind": "resistor", "price": Infinity}', 400),
    (b'{"kind": "resistor", "price": 1e400}', 400),
    (b'{"kind": "resistor", "price": 1e999999999999999999999}', 400),
    (b'{"kind": "resistor", "price": "1e999999"}', 400),
    (b'{"kind": "resistor", "pack_size": ' + b"9" * 5000 + b"}", 400),
    (b'{"kind": "resistor", "pack_size": 99999999999999999999}', 400),
    (b'{"kind": "resistor", "value": ' + b"9" * 39 + b"}", 400),
    (b'{"kind": "resistor", "value": "' + b"9" * 5000 + b'"}', 400),
    (b'{"kind": "resistor", "value": {"a": 1}}', 400),
    (b'{"kind": ["resistor"]}', 400),
    (b'{"kind": {"resistor": 1}}', 400),
    (b'{"kind": "resistor", "traits": ' + b"[" * 60 + b"]" * 60 + b"}", 400),
    (b"[" * 100_000, 400),
    (b'{"a":' * 100_000, 400),
    (b'{"kind": "resistor", "name": "' + b"n" * 201 + b'"}', 400),
    (b'{"kind": "resistor", "note": "' + b"n" * 6_000_000 + b'"}', 413),
]  # fmt: skip


@pytest.mark.parametrize(("body", "status"), BODIES, ids=[str(body[:48]) for body, _status in BODIES])
def test_a_hostile_body_is_refused_and_changes_nothing(bench: Any, body: bytes, status: int) -> None:
    refused(bench.generic("POST", PARTS, body, content_type="application/json"), status)
    assert not Part.objects.exists()


@pytest.mark.parametrize(
    "content_type", ["text/plain", "application/xml", "application/x-www-form-urlencoded", "nonsense", ""]
)
def test_a_body_that_is_not_json_is_415(bench: Any, content_type: str) -> None:
    refused(bench.generic("POST", PARTS, b"a=1", content_type=content_type), 415)


@pytest.mark.parametrize("charset", ["utf-16", "nonsense", "ascii", ""])
def test_a_body_is_utf8_whatever_charset_it_claims(bench: Any, charset: str) -> None:
    """RFC 8259, section 8.1: JSON between systems is UTF-8."""
    body = json.dumps({"kind": "resistor", "value": "4.7 kΩ"}, ensure_ascii=False).encode()
    answer = bench.generic("POST", PARTS, body, content_type=f"application/json; charset={charset}")
    assert answer.status_code == 201
    assert answer.json()["value_text"] == "4k7"


QUERIES = [
    "%00=1", "q=%00", "kind=%00", "value=%00", "number=%00", "ordering=%00", "page=%00", "page_size=%00",
    "value=%FF", "value=" + "9" * 400, "value_min=1", "kind=resistor&kind=nonsense", "place=" + "9" * 400,
    "page=0", "page=-1", "page=1.5", "page=x", "page=" + "9" * 40, "page=%D9%A1", "page=last",
    "page_size=0", "page_size=501", "page_size=-5", "page_size=x", "page=", "kind=", "ordering=",
    "ordering=,", "ordering=--id", "ordering=pk", "ordering=spec__value", "ordering=id;drop",
    "q=" + "x" * 201, "q=" + "a%20" * 11, "format=json", "search=x", "page=1&page=2",
    "number=a&number=b", "__proto__=1", "=1",
]  # fmt: skip


@pytest.mark.parametrize("query", QUERIES)
def test_a_hostile_query_is_400(viewer: Any, query: str) -> None:
    body = refused(viewer.get(f"{PARTS}?{query}"), 400)
    assert {error["in"] for error in body["errors"]} == {"query"}


def test_a_thousand_parameters_are_400(viewer: Any) -> None:
    refused(viewer.get(f"{PARTS}?{'&'.join(f'a{n}=1' for n in range(1500))}"), 400)


@pytest.mark.parametrize(
    "key", ["0", "-1", "x", "1e3", "%00", "%FF", "9" * 18, "9" * 19, "9" * 400, "1.0", "٣"]
)
@pytest.mark.parametrize("noun", ["parts", "places", "lots", "designs", "boards"])
def test_an_id_that_is_none_is_404(owner: Any, noun: str, key: str) -> None:
    refused(owner.get(f"/api/v1/{noun}/{key}/"), 404)
    refused(owner.patch(f"/api/v1/{noun}/{key}/", {"note": "x"}), 404)


@pytest.mark.parametrize("path", ["/api/", "/api/v2/parts/", "/api/v1/nothing/", "/api/v1/lots/1/nothing/"])
def test_a_wrong_address_under_the_api_is_a_problem_too(viewer: Any, path: str) -> None:
    refused(viewer.get(path), 404)


def test_an_address_without_its_last_stroke_is_sent_on_with_its_method(bench: Any) -> None:
    answer = bench.post("/api/v1/parts?a=1", {})
    assert (answer.status_code, answer.headers["Location"]) == (308, "/api/v1/parts/?a=1")


def test_a_method_that_is_not_there_is_405_and_says_which_are(bench: Any) -> None:
    answer = bench.put(PARTS, {})
    refused(answer, 405)
    assert answer.headers["Allow"] == "GET, HEAD, POST"


@pytest.mark.parametrize("method", ["TRACE", "OPTIONS", "CONNECT", "PROPFIND", "NONSENSE"])
@pytest.mark.parametrize("path", ["/api/v1/lots/", "/api/v1/boards/1/", "/api/v1/lots/1/trace/", "/api/v1/"])
def test_an_odd_method_is_405(bench: Any, path: str, method: str) -> None:
    refused(bench.generic(method, path), 405)


def test_a_refusal_of_the_ledger_is_a_conflict_with_its_facts(bench: Any) -> None:
    lot = {"part": {"kind": "lamp"}, "place": PlaceFactory().pk, "ref": "R1"}
    body = refused(bench.post("/api/v1/lots/", lot), 409)
    assert body["code"] == "not_a_board"
    assert not Lot.objects.exists()
    assert not Part.objects.exists(), "the part that would have been made is taken back"


def test_a_fact_never_hides_a_member_of_the_problem() -> None:
    problem = describe(Refused("not_held", "fitted already", status="fitted", available=2))
    assert problem is not None
    body = problem.body()
    assert (body["status"], body["found_status"], body["available"]) == (409, "fitted", 2)
    assert set(body) & set(RESERVED) == {"type", "title", "status", "detail", "code"}


def test_a_locked_database_is_busy_not_broken() -> None:
    problem = describe(OperationalError("database is locked"))
    assert problem is not None
    assert (problem.status, problem.headers) == (503, {"Retry-After": "2"})


@pytest.mark.parametrize(
    "error", [OperationalError("near SELEC: syntax error"), IntegrityError("NOT NULL …"), KeyError("x")]
)
def test_a_bug_is_not_passed_off_as_a_problem(error: Exception) -> None:
    assert describe(error) is None


@pytest.mark.django_db
@pytest.mark.parametrize(
    ("make", "pointer"),
    [
        (lambda: Place.objects.create(name="Tray 1"), {"#/name"}),
        (lambda: Design.objects.create(name="Plover", revision="A"), {"#/name", "#/revision"}),
        (lambda: Board.objects.create(name="one", purpose="donor", place=Place.outside()), {"#/name"}),
    ],
)
def test_a_name_that_is_taken_names_the_member(make: Any, pointer: set[str]) -> None:
    Place.objects.create(name="Tray 1")
    Design.objects.create(name="Plover", revision="A")
    Board.objects.create(name="one", purpose="donor", place=Place.scrap())
    with pytest.raises(IntegrityError) as caught:
        make()
    problem = describe(caught.value)
    assert problem is not None
    assert (problem.status, {error["pointer"] for error in problem.errors}) == (409, pointer)


# RFC 8259, section 6: a number may have any length.
@pytest.mark.parametrize(
    ("member", "sent", "code"),
    [
        ("price", "1234567890.5", "max_whole_digits"),
        ("reorder_at", "9" * 1001, "max_string_length"),
    ],
)
def test_what_json_allows_and_nothing_holds_is_refused(bench: Any, member: str, sent: str, code: str) -> None:
    body = json.dumps({"kind": "resistor", "value": "4k7", member: sent})
    answer = bench.post(PARTS, body, content_type="application/json")
    assert [error["code"] for error in refused(answer, 400)["errors"]] == [code]
    assert not Part.objects.exists()


@pytest.mark.django_db
def test_no_more_is_released_than_is_promised() -> None:
    holding = stock(3)
    ledger.promise(holding, 2)
    with pytest.raises(Refused) as caught:
        ledger.release(holding, 3)
    assert caught.value.code == Code.NOT_PROMISED


@pytest.mark.django_db
def test_a_broken_rule_of_the_database_is_named() -> None:
    holding = stock(3)
    with pytest.raises(IntegrityError) as caught:
        type(holding).objects.filter(pk=holding.pk).update(promised=4)
    problem = describe(caught.value)
    assert problem is not None
    assert (problem.status, problem.code) == (409, Code.BROKEN_RULE)
    assert problem.facts == {"rule": "holding_promises_only_what_is_held"}


def test_a_part_that_is_kept_in_lots_is_not_deleted(owner: Any) -> None:
    part = stock(3).lot.part
    body = refused(owner.delete(f"{PARTS}{part.pk}/"), 409)
    assert body["used_by"] == {"lot": 1}
    assert Part.objects.filter(pk=part.pk).exists()


ANY_JSON = st.recursive(
    st.none() | st.booleans() | st.integers() | st.floats(allow_nan=False, allow_infinity=False) | st.text(),
    lambda inner: st.lists(inner, max_size=4) | st.dictionaries(st.text(max_size=12), inner, max_size=4),
    max_leaves=12,
)
NAMES = [
    "kind", "value", "part", "origin", "holdings", "place", "quantity", "measured", "within", "type", "name",
    "positions", "links", "rails", "banks", "hazards", "design", "purpose", "survey", "traits", "note", "ref",
]  # fmt: skip
WORDS = st.sampled_from(["resistor", "4k7", "donor", "board", "R1", "mains", 1, 2, True, None])


@settings(max_examples=60, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(
    noun=st.sampled_from(["parts", "places", "lots", "designs", "boards"]),
    body=st.dictionaries(st.sampled_from(NAMES), WORDS | ANY_JSON, max_size=6) | ANY_JSON,
)
def test_no_json_at_all_breaks_a_noun(bench: Any, noun: str, body: Any) -> None:
    answer = bench.generic("POST", f"/api/v1/{noun}/", json.dumps(body), content_type="application/json")
    assert answer.status_code in (201, 400, 409), (body, answer.content)
