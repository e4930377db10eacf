"""The document: valid OpenAPI 3.1, complete, with examples that its own schemas accept."""

import gzip
import json
import re
from collections.abc import Iterator
from io import StringIO
from typing import Any

import pytest
from django.core.management import call_command
from openapi_schema_validator import OAS31Validator
from openapi_spec_validator import OpenAPIV31SpecValidator
from referencing import Registry, Resource
from referencing.jsonschema import DRAFT202012

from inventory.api.problems import MEDIA_TYPE
from inventory.design_facts import HAZARDS, PROPERTIES
from inventory.refusals import Code
from tests.api import documented

pytestmark = pytest.mark.xdist_group("openapi")  # the document is slow to make

READS, WRITES = ("get",), ("post", "put", "patch", "delete")
# What api.md promises of the inventory: path, members of the answer.
CONTRACT = {
    "/api/v1/parts/{id}/": {
        "kind", "number", "value", "tolerance_percent", "volts", "watts", "amps", "dielectric", "package",
        "lead_style", "pitch_mm", "polarised", "safety_class", "speed_ns", "make", "traits", "value_text",
        "spec_text", "name", "price", "pack_size", "reorder_at", "free", "promised",
    },
    "/api/v1/places/{id}/": {"name", "within", "type"},
    "/api/v1/lots/{id}/": {"part", "origin", "condition", "marking", "holdings"},
    "/api/v1/lots/{id}/trace/": {"origin", "movements", "now"},
    "/api/v1/designs/{id}/": {"name", "revision", "positions", "links", "rails"},
    "/api/v1/designs/{id}/compare/": {"same", "changed", "added", "removed"},
    "/api/v1/boards/{id}/": {"name", "design", "purpose"},
    "/api/v1/boards/{id}/trace/": {"positions"},
    "/api/v1/decode/": {"readings", "truncated", "hints"},
    "/api/v1/appearance/": {"bands", "codes"},
}  # fmt: skip


@pytest.fixture(scope="module")
def document() -> dict[str, Any]:
    """The document as it is served."""
    made: dict[str, Any] = json.loads(json.dumps(documented.document(), default=str))
    return made


def operations(document: dict[str, Any]) -> Iterator[tuple[str, str, dict[str, Any]]]:
    for path, methods in document["paths"].items():
        for method, operation in methods.items():
            yield path, method, operation


def resolved(document: dict[str, Any], schema: dict[str, Any]) -> dict[str, Any]:
    while "$ref" in schema:
        schema = document["components"]["schemas"][schema["$ref"].rsplit("/", 1)[1]]
    return schema


def choices(document: dict[str, Any], schema: dict[str, Any]) -> set[str]:
    """The words that a schema lets through; a description beside them puts them one level down."""
    [inner] = schema.get("allOf", [schema])
    return set(resolved(document, inner)["enum"])


def accepts(document: dict[str, Any], schema: dict[str, Any], value: Any) -> list[str]:
    """What the schema has against the value."""
    whole = Resource(contents=document, specification=DRAFT202012)
    absolute = json.loads(json.dumps(schema).replace('"#/components', '"urn:document#/components'))
    validator = OAS31Validator(absolute, registry=Registry().with_resource("urn:document", whole))
    return [f"{error.json_path}: {error.message}" for error in validator.iter_errors(value)]


def test_it_is_valid_openapi_3_1(document: dict[str, Any]) -> None:
    assert document["openapi"] == "3.1.0"
    OpenAPIV31SpecValidator(document).validate()


def test_it_is_made_without_a_warning() -> None:
    call_command("spectacular", "--fail-on-warn", stdout=StringIO())


def test_it_is_served_to_whoever_is_signed_in(viewer: Any, document: dict[str, Any]) -> None:
    answer = viewer.get("/api/v1/openapi.json")
    assert answer.status_code == 200
    assert answer.json()["paths"].keys() == document["paths"].keys()
    page = viewer.get("/api/v1/docs/").content.decode()
    assert "/static/drf_spectacular_sidecar/" in page
    assert "https://" not in page, "the page needs no address but ours"
    assert b"openapi.json" in viewer.get("/api/v1/docs/?script=").content


def test_every_operation_shows_an_example_of_what_it_takes_and_gives(document: dict[str, Any]) -> None:
    for path, method, operation in operations(document):
        shown = [operation["requestBody"]] if "requestBody" in operation else []
        shown += [answer for status, answer in operation["responses"].items() if status not in ("204", "308")]
        for body in shown:
            for media_type, content in body.get("content", {}).items():
                if media_type.startswith(("application/json", MEDIA_TYPE)):
                    assert content.get("examples"), (path, method, media_type)


def test_every_example_is_what_its_schema_says(document: dict[str, Any]) -> None:
    wrong = []
    for path, method, operation in operations(document):
        bodies = [operation.get("requestBody", {}), *operation["responses"].values()]
        for content in (content for body in bodies for content in body.get("content", {}).values()):
            for name, example in content.get("examples", {}).items():
                found = accepts(document, content["schema"], example["value"])
                wrong += [f"{method} {path} {name}: {each}" for each in found]
    assert not wrong, "\n".join(wrong)


def test_every_operation_says_how_it_refuses(document: dict[str, Any]) -> None:
    always = {"400", "401", "429"}
    for path, method, operation in operations(document):
        declared = set(operation["responses"])
        assert declared >= always, (path, method)
        if method in WRITES:
            assert declared >= {"403", "409", "503"}, (path, method)
        if "{" in path:
            assert "404" in declared, (path, method)
        for status in (each for each in declared if each >= "400"):
            content = operation["responses"][status]["content"]
            assert list(content) == [MEDIA_TYPE], (path, method, status)
            members = resolved(document, content[MEDIA_TYPE]["schema"])["properties"]
            assert members.keys() >= {"type", "title", "status", "detail", "errors"}, (path, method, status)


def test_retries_and_versions_are_written_down(document: dict[str, Any]) -> None:
    for path, method, operation in operations(document):
        headers = {each["name"] for each in operation.get("parameters", []) if each["in"] == "header"}
        assert ("Idempotency-Key" in headers) == (method == "post"), (path, method)
    assert "If-Match" in {
        each["name"] for each in document["paths"]["/api/v1/lots/{id}/"]["patch"]["parameters"]
    }
    assert document["paths"]["/api/v1/lots/"]["post"]["responses"]["201"]["headers"].keys() == {
        "ETag",
        "Location",
    }


def test_every_operation_has_a_summary_a_known_tag_and_its_ids_are_numbers(document: dict[str, Any]) -> None:
    """What the recommended rules of the linters ask: operation-summary, operation-tags, from memory."""
    for path, method, operation in operations(document):
        assert 0 < len(operation["summary"]) <= 101, (path, method)
        assert len(operation["tags"]) == 1, (path, method)
        for parameter in operation.get("parameters", []):
            if parameter["in"] == "path" and parameter["name"] != "name":
                assert parameter["schema"]["type"] == "integer", (path, method)
    assert [server["url"] for server in document["servers"]] == ["/"]


def test_every_tag_is_described_and_every_schema_is_used(document: dict[str, Any]) -> None:
    tags = {operation["tags"][0] for _path, _method, operation in operations(document)}
    assert tags == {each["name"] for each in document["tags"] if each["description"]}
    text = json.dumps(document)
    schemas = document["components"]["schemas"]
    assert [name for name in schemas if f'"#/components/schemas/{name}"' not in text] == []


def test_what_a_design_says_is_described_to_the_last_member(document: dict[str, Any]) -> None:
    members = document["components"]["schemas"]["Design"]["properties"]
    link = resolved(document, members["links"]["items"])["properties"]
    when = resolved(document, resolved(document, link["rules"]["items"])["properties"]["when"])["properties"]
    assert when.keys() == {"ref", "bank", "count", *PROPERTIES}
    assert {"low", "nominal", "high"} <= set(resolved(document, members["rails"]["items"])["required"])
    assert {"equal", "counts", "map"} <= resolved(document, members["banks"]["items"])["properties"].keys()
    assert choices(document, members["hazards"]["items"]) == set(HAZARDS)


def test_the_demo_drawings_are_what_the_document_says(viewer: Any, workshop: None, document: Any) -> None:
    schema = document["components"]["schemas"]["PaginatedDesignList"]
    listed = viewer.get("/api/v1/designs/").json()
    assert any(each["banks"] and each["rails"] for each in listed["results"])
    assert accepts(document, schema, listed) == []


def test_a_problem_names_every_code_and_how_long_to_wait(document: dict[str, Any]) -> None:
    problem = document["components"]["schemas"]["Problem"]["properties"]
    assert problem["retry_after"]["type"] == "integer"
    assert choices(document, problem["code"]) == set(Code)


def test_the_document_is_sent_small_to_whoever_takes_it_so(viewer: Any) -> None:
    whole = viewer.get("/api/v1/openapi.json")
    packed = viewer.get("/api/v1/openapi.json", HTTP_ACCEPT_ENCODING="gzip")
    assert packed.headers["Content-Encoding"] == "gzip"
    assert json.loads(gzip.decompress(packed.content)) == whole.json()
    assert len(packed.content) * 5 < len(whole.content)


@pytest.mark.parametrize("path", CONTRACT)
def test_paths_and_members_of_the_contract_are_there(document: dict[str, Any], path: str) -> None:
    schema = document["paths"][path]["get"]["responses"]["200"]["content"]["application/json"]["schema"]
    assert resolved(document, schema)["properties"].keys() >= CONTRACT[path]


@pytest.mark.parametrize("path", [path for path in CONTRACT if path.endswith("{id}/")])
def test_answers_are_what_the_document_says(bench: Any, document: dict[str, Any], path: str) -> None:
    """Each documented request is sent, and its answer held against the documented schema."""
    noun = path.split("/")[3]
    place = bench.post("/api/v1/places/", {"name": "Drawer 7"}).json()["id"]
    design = bench.post("/api/v1/designs/", {"name": "Dunlin", "revision": "X"}).json()["id"]
    operation = document["paths"][f"/api/v1/{noun}/"]["post"]
    content = operation["requestBody"]["content"]["application/json"]
    sent = next(iter(content["examples"].values()))["value"]
    if noun == "places":
        sent = {**sent, "within": place}
    elif noun == "lots":
        sent = {**sent, "holdings": [{"place": place, "quantity": 30}]}
    elif noun == "boards":
        sent = {**sent, "design": design}
    made = bench.post(f"/api/v1/{noun}/", sent)
    assert made.status_code == 201, made.content
    schema = operation["responses"]["201"]["content"]["application/json"]["schema"]
    assert accepts(document, schema, made.json()) == []
    listed = document["paths"][f"/api/v1/{noun}/"]["get"]["responses"]["200"]["content"]["application/json"][
        "schema"
    ]
    assert accepts(document, listed, bench.get(f"/api/v1/{noun}/").json()) == []
    for inner in ("trace/",) if noun in ("lots", "boards") else ():
        there = document["paths"][f"/api/v1/{noun}/{{id}}/{inner}"]["get"]["responses"]["200"]
        result = bench.get(f"/api/v1/{noun}/{made.json()['id']}/{inner}").json()
        assert accepts(document, there["content"]["application/json"]["schema"], result) == []


def test_the_index_names_every_resource(viewer: Any) -> None:
    index = viewer.get("/api/v1/").json()
    assert index.keys() >= {"parts/", "places/", "places/tree/", "lots/", "designs/", "boards/"}
    assert all(viewer.get(address).status_code in (200, 400, 403, 405) for address in index.values())


def test_the_health_of_the_bench_is_shown_to_anybody(stranger: Any, db: None) -> None:
    answer = stranger.get("/healthz")
    assert (answer.status_code, answer.json()["status"]) == (200, "ok")
    assert stranger.post("/healthz").status_code == 405


EVERYBODYS = {
    ("post", "/api/v1/keys/"), ("delete", "/api/v1/keys/{id}/"), ("post", "/api/v1/search/picture/"),
}  # fmt: skip
"""What a viewer may send: one's own keys, and a question that carries a picture."""


def test_nobody_unknown_is_answered_and_no_viewer_writes(
    document: dict[str, Any], viewer: Any, stranger: Any
) -> None:
    answered, written = [], []
    for path, method, _operation in operations(document):
        address = re.sub(r"\{[^}]*\}", "987654", path)
        if getattr(stranger, method)(address).status_code != 401:
            answered.append((method, path))
        if method in WRITES and getattr(viewer, method)(address).status_code != 403:
            written.append((method, path))
    assert answered == []
    assert set(written) <= EVERYBODYS
