"""The register of refusal codes: what it says, and that nothing is refused outside it."""

import ast
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest

from inventory.refusals import Code, Refused

ROOT = Path(__file__).resolve().parents[1]

# What the framework's own fields and validators refuse with (Django REST framework, API guide: serializer
# fields; Django: form and model field references).
OF_THE_FRAMEWORK = {
    Code.BLANK, Code.DOES_NOT_EXIST, Code.EMPTY, Code.INCORRECT_TYPE, Code.INVALID,
    Code.INVALID_CHOICE, Code.MAX_DECIMAL_PLACES, Code.MAX_DIGITS, Code.MAX_LENGTH, Code.MAX_STRING_LENGTH,
    Code.MAX_VALUE, Code.MAX_WHOLE_DIGITS, Code.MIN_LENGTH, Code.MIN_VALUE, Code.NO_NAME, Code.NOT_A_DICT,
    Code.NOT_A_LIST, Code.NULL, Code.NULL_CHARACTERS_NOT_ALLOWED, Code.REQUIRED,
}  # fmt: skip


def named_in(folder: str) -> Iterator[str]:
    for file in (ROOT / folder).rglob("*.py"):
        for node in ast.walk(ast.parse(file.read_text())):
            if (
                isinstance(node, ast.Attribute)
                and isinstance(node.value, ast.Name)
                and node.value.id == "Code"
            ):
                yield node.attr


def test_a_code_is_its_name_in_small_letters() -> None:
    assert [code.value for code in Code] == [code.name.lower() for code in Code]


def test_each_code_has_a_sentence_of_its_own() -> None:
    sentences = [code.sentence for code in Code]
    assert len(set(sentences)) == len(sentences)
    assert [text for text in sentences if not (text[0].isupper() and text.endswith("."))] == []


def test_no_code_stands_there_for_nothing() -> None:
    raised = {Code[name] for folder in ("inventory", "repairs") for name in named_in(folder)}
    assert set(Code) - raised - OF_THE_FRAMEWORK == set()


def test_a_code_outside_the_register_fails_the_test_that_meets_it() -> None:
    with pytest.raises(AssertionError, match="not in the register"):
        Refused("made_up_just_now", "no such code")  # type: ignore[arg-type]


def test_a_client_reads_the_register_in_the_openapi_document(viewer: Any) -> None:
    codes = viewer.get("/api/v1/openapi.json").json()["components"]["schemas"]["RefusalCode"]
    assert set(codes["enum"]) == set(Code)
    assert Code.STILL_ON_A_BOARD.sentence in codes["description"]
