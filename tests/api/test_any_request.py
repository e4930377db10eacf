"""Every operation of the OpenAPI document, asked anything at all: never a 500.

Schemathesis makes the requests from the document, some as it says and some not.
"""

from copy import deepcopy
from functools import cache
from typing import TYPE_CHECKING, Any

import pytest
from hypothesis import HealthCheck, Phase, given, settings
from hypothesis.strategies import integers
from rest_framework.test import APIClient

from tests.api.documented import document
from tests.examples import examples

if TYPE_CHECKING:
    from schemathesis import Case, GenerationMode
    from schemathesis.schemas import APIOperation

# Schemathesis takes three seconds to load: one process does, for all operations.
pytestmark = pytest.mark.xdist_group("any_request")

ASKED, ROWS = examples(1, 10), 60
MINE = ("Authorization", "Cookie", "Content-Type", "Content-Length", "Host")

OPERATIONS = [
    f"{method.upper()} {path}" for path, methods in document()["paths"].items() for method in methods
]


@cache
def operations() -> "dict[str, APIOperation]":
    import schemathesis

    schema = schemathesis.openapi.from_dict(deepcopy(document()))
    found = (each.ok() for each in schema.get_all_operations())
    return {f"{operation.method.upper()} {operation.path}": operation for operation in found}


def ask(client: APIClient, case: "Case") -> Any:
    """The answer to the request as it was made, whatever it holds, signed by the client's person."""
    from requests import Request

    sent = Request(**case.as_transport_kwargs(base_url="http://testserver")).prepare()
    headers = {name: value for name, value in sent.headers.items() if name not in MINE}
    return client.generic(
        sent.method,
        sent.path_url,
        sent.body or b"",
        content_type=sent.headers.get("Content-Type", ""),
        headers={name: value.decode("latin-1") if isinstance(value, bytes) else value
                 for name, value in headers.items()},
    )  # fmt: skip


@pytest.mark.parametrize("name", OPERATIONS)
def test_no_request_is_answered_with_a_500(name: str, owner: APIClient, workshop: None) -> None:
    from schemathesis import GenerationMode

    owner.raise_request_exception = False
    operation = operations()[name]
    for mode in GenerationMode:
        if mode == GenerationMode.POSITIVE or can_be_wrong(operation):
            ask_anything(operation, mode, owner)


def can_be_wrong(operation: "APIOperation") -> bool:
    """Whether it takes anything but free text: to look for wrong text takes long, and finds none."""
    from schemathesis.core.parameters import ParameterLocation

    return bool(operation.body) or any(
        parameter.location == ParameterLocation.QUERY
        or (parameter.location == ParameterLocation.PATH and parameter.name != "name")
        for parameter in operation.iter_parameters()
    )


def ask_anything(operation: "APIOperation", mode: "GenerationMode", client: APIClient) -> None:
    @settings(
        max_examples=ASKED,
        deadline=None,
        database=None,
        suppress_health_check=list(HealthCheck),
        phases=[Phase.generate],
    )
    @given(case=operation.as_strategy(generation_mode=mode), row=integers(1, ROWS))
    def asked(case: Any, row: int) -> None:
        if "id" in case.path_parameters and isinstance(case.path_parameters["id"], int):
            case.path_parameters["id"] = row  # of the demo, rather than of nothing
        answer = ask(client, case)
        assert answer.status_code < 500, (case.as_curl_command(), answer.content[:2000])

    asked()
