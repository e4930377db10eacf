"""The OpenAPI document, made once in a process: it takes a second."""

from functools import cache
from typing import Any

from drf_spectacular.generators import SchemaGenerator


@cache
def document() -> dict[str, Any]:
    """The document as it is made, not to be changed."""
    made: dict[str, Any] = SchemaGenerator().get_schema(request=None, public=True)
    return made
