"""A query parameter that is given twice is refused by every address, unless the document calls it a list."""

import re

import pytest
from rest_framework.test import APIClient

from tests.api.documented import document

pytestmark = pytest.mark.django_db

OPERATIONS = {
    f"{method.upper()} {path}": {
        parameter["name"]: parameter["schema"].get("type") == "array"
        for parameter in operation.get("parameters", ())
        if parameter["in"] == "query"
    }
    for path, methods in document()["paths"].items()
    for method, operation in methods.items()
}


@pytest.mark.parametrize("operation", [name for name, several in OPERATIONS.items() if several])
def test_only_a_list_is_given_twice(owner: APIClient, operation: str) -> None:
    method, path = operation.split()
    several = OPERATIONS[operation]
    asked = "&".join(f"{name}=1&{name}=2" for name in several)
    answer = getattr(owner, method.lower())(f"{re.sub('{[^}]*}', '1', path)}?{asked}")
    problems = answer.json().get("errors", ()) if answer.status_code == 400 else ()
    refused = {each["pointer"].removeprefix("#/") for each in problems if each["code"] == "repeated"}
    assert refused == {name for name, may_be_several in several.items() if not may_be_several}
