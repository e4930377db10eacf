"""Small structures in one cell: `name=value; name=value` and `one, two`.  Pure: no Django.

What these cannot say without doubt is written as JSON, and JSON is read back everywhere.
"""

import json
from collections.abc import Mapping, Sequence
from typing import Any


def read_pairs(text: str) -> dict[str, Any]:
    """Names and what they are; ValueError says what is wanted.

    >>> read_pairs("ref=IC10; make=Intel | NEC")
    {'ref': 'IC10', 'make': ['Intel', 'NEC']}
    """
    if text.startswith("{"):
        return dict(_json(text))
    pairs: dict[str, Any] = {}
    for piece in text.replace("\n", ";").split(";"):
        name, sign, value = (part.strip() for part in piece.partition("="))
        if not piece.strip():
            continue
        if not (name and sign and value):
            raise ValueError(f"expected name=value with ; between, found {piece.strip()[:40]!r}")
        if name in pairs:
            raise ValueError(f"{name[:40]!r} is given twice")
        several = [each.strip() for each in value.split("|")]
        pairs[name] = several if len(several) > 1 else value
    return pairs


def write_pairs(pairs: Mapping[str, Any]) -> str:
    """What `read_pairs` gives back, numbers as text and a list of one as its item.

    >>> write_pairs({"bank": "gain gates", "count": 2})
    'bank=gain gates; count=2'
    """
    text = "; ".join(
        f"{name}={' | '.join(map(str, value)) if isinstance(value, list) else value}"
        for name, value in pairs.items()
    )
    try:
        same = read_pairs(text) == {name: _as_text(value) for name, value in pairs.items()}
    except ValueError:
        same = False
    return text if same else json.dumps(dict(pairs), ensure_ascii=False)


def read_list(text: str) -> list[str]:
    """`1-2, 2-3` as a list."""
    if text.startswith("["):
        return [str(each) for each in _json(text)]
    return [each.strip() for each in text.replace("\n", ",").split(",") if each.strip()]


def write_list(items: Sequence[Any]) -> str:
    """What `read_list` gives back, each item as text."""
    text = ", ".join(map(str, items))
    return (
        text
        if read_list(text) == [str(each) for each in items]
        else json.dumps(list(items), ensure_ascii=False)
    )


def _as_text(value: Any) -> Any:
    if isinstance(value, list):
        return [str(each) for each in value] if len(value) > 1 else "".join(map(str, value))
    return str(value)


def _json(text: str) -> Any:
    try:
        return json.loads(text)
    except (ValueError, RecursionError):
        raise ValueError(
            "this is not JSON; expected name=value with ; between, or a list with commas"
        ) from None
