"""A page for each code: where the `type` of a refusal leads (RFC 9457, 3.1.1)."""

from collections.abc import Callable
from html import unescape
from typing import Any

import pytest
from django.test import Client
from django.utils.html import strip_tags

from inventory.refusals import Code

pytestmark = pytest.mark.django_db


def told(answer: Any) -> str:
    """What stands on the page for whoever reads it."""
    return unescape(strip_tags(answer.content.decode()))


def plain(code: Code) -> str:
    return code.sentence.replace("`", "")


def test_every_code_has_its_page_and_one_page_leads_to_all(sign_in: Callable[..., Client]) -> None:
    client = sign_in("viewer")
    every = client.get("/problems/").content.decode()
    for code in Code:
        assert f'href="/problems/{code}"' in every
        assert plain(code) in told(client.get(f"/problems/{code}"))


def test_the_type_of_a_refusal_leads_to_its_page(bench: Any, sign_in: Callable[..., Client]) -> None:
    problem = bench.post("/api/v1/places/", {"colour": "red"}).json()
    page = sign_in("viewer").get(problem["type"])
    assert page.status_code == 200
    assert plain(Code(problem["code"])) in told(page)


def test_a_program_follows_the_type_with_its_key(bench: Any, client: Client) -> None:
    problem = bench.get("/api/v1/lots/?nonsense=1").json()
    page = bench.get(problem["type"])
    assert page.status_code == 200
    assert plain(Code(problem["code"])) in told(page)
    assert client.get(problem["type"]).status_code == 302
    assert client.get(problem["type"], headers={"Authorization": "Token 0000"}).status_code == 302


def test_a_name_that_a_program_meets_is_set_as_code_and_in_no_backticks(
    sign_in: Callable[..., Client],
) -> None:
    client = sign_in("viewer")
    assert "<code>available</code> says how many are." in client.get("/problems/not_enough").content.decode()
    assert "`" not in client.get("/problems/").content.decode()


def test_a_code_that_nobody_knows_has_none(sign_in: Callable[..., Client]) -> None:
    assert sign_in("viewer").get("/problems/no_such_code").status_code == 404
