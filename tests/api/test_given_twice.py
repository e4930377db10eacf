"""A query parameter that is given twice is refused by every address, unless the document calls it a list."""

import re

import pytest
from drf_spectacular.generators import SchemaGenerator
from rest_framework.test import APIClient

pytestmark = pytest.mark.django_db

PARAMETERS = [
    pytest.param(
        method, path, parameter["name"], parameter["schema"].get("type") == "array",
        id=f"{method.upper()} {path}?{parameter['name']}=",
    )
    for path, methods in SchemaGenerator().get_schema(request=None, public=True)["paths"].items()
    for method, operation in methods.items()
    for parameter in operation.get("parameters", ())
    if parameter["in"] == "query"
]  # fmt: skip


@pytest.mark.parametrize(("method", "path", "name", "may_be_several"), PARAMETERS)
def test_only_a_list_is_given_twice(
    owner: APIClient, method: str, path: str, name: str, may_be_several: bool
) -> None:
    address = f"{re.sub('{[^}]*}', '1', path)}?{name}=1&{name}=2"
    answer = getattr(owner, method)(address)
    problems = answer.json().get("errors", ()) if answer.status_code == 400 else ()
    codes = {each["code"] for each in problems if each["pointer"] == f"#/{name}"}
    assert ("repeated" in codes) != may_be_several, (answer.status_code, problems)
