"""Files from other workshops: read within bounds, as plain data, or refused with what is wrong and where.

Pure.  A file says at its top what it is: `format`, one of our own names, and `version`, a whole number.  The
dataclasses of a format are its definition: pydantic reads them strictly, and makes their JSON Schema.
"""

import json
from collections import Counter
from collections.abc import Callable, Iterable, Mapping
from dataclasses import replace
from datetime import date, timedelta
from decimal import Decimal
from typing import Annotated, Any, NamedTuple, TypeVar

from pydantic import (
    AfterValidator,
    ConfigDict,
    StringConstraints,
    TypeAdapter,
    ValidationError,
    WithJsonSchema,
)

from inventory.refusals import Code, Refused
from inventory.spec import FieldProblem, Spec, SpecError
from inventory.spec.spec import FIELDS
from repairs.friends.signing import Signature, canonical, fingerprint, is_true

MAX_BYTES = 8 * 2**20
"""Of the JSON of one file."""
DEEPEST = 24
LONGEST_NUMBER = 20
MAX_NAMED = 50
"""So many of the things wrong with a file are named; the count is of all."""

STRICT = ConfigDict(extra="forbid")

Short = Annotated[str, StringConstraints(max_length=120)]
Line = Annotated[str, StringConstraints(max_length=400)]
Text = Annotated[str, StringConstraints(max_length=4000)]
Day = Annotated[str, StringConstraints(pattern=r"^$|^[0-9]{4}-[0-9]{2}-[0-9]{2}$")]
"""A day as ISO 8601 writes it; blank: not known."""


def _in_calendar(day: str) -> str:
    date.fromisoformat(day)  # ValueError where the month has no such day
    return day


DayMade = Annotated[
    str,
    StringConstraints(pattern=r"^[0-9]{4}-(0[1-9]|1[0-2])-(0[1-9]|[12][0-9]|3[01])$"),
    AfterValidator(_in_calendar),
]
"""The day that stands on a file."""
SpecIn = Annotated[
    dict[str, Any],
    WithJsonSchema(
        {
            "type": "object",
            "description": "What the part is: values as the trade writes them (4k7, 100n), figures as text.",
            "properties": {name: {} for name in FIELDS} | {"kind": {"type": "string"}},
            "required": ["kind"],
            "additionalProperties": False,
        }
    ),
]


class BadFile(Refused):
    """A file that is not taken.  `status` is that of the API; `problems` name each thing, where and why."""

    def __init__(
        self, code: Code, detail: str, status: int = 422, problems: Iterable[FieldProblem] = ()
    ) -> None:
        self.status = status
        self.problems = list(problems)
        super().__init__(code, detail)


def refuse_older(what: str, made: date, before: date | None, *, today: date) -> None:
    """Refused (`stale`): a file of an earlier day than that of the one here, unless that day is to come, by a
    wrong clock there or with intent: it would keep all later ones out."""
    if before is not None and made < before <= today + timedelta(days=1):
        raise Refused(Code.STALE, f"the {what} is of {made}; one of {before} is here already")


class Format(NamedTuple):
    """A kind of file: what stands in its `format`, its newest version, and what it is in a person's words."""

    name: str
    version: int
    what: str


Read = TypeVar("Read")


def json_schema(adapter: "TypeAdapter[Any]", title: str) -> dict[str, Any]:
    """A format as JSON Schema (2020-12)."""
    made = adapter.json_schema(mode="serialization")
    return {
        "$schema": "https://json-schema.org/draft/2020-12/schema",
        "title": title,
        **{name: part for name, part in made.items() if name != "title"},
    }


def read_json(data: bytes) -> Any:
    """The JSON of a file as plain values.  BadFile where it is too large, too deep or no JSON in UTF-8."""
    if len(data) > MAX_BYTES:
        raise BadFile(Code.TOO_LARGE, f"{len(data)} bytes of JSON; at most {MAX_BYTES} are read", status=413)
    if data.startswith(b"PK"):
        detail = "a zip, and no JSON: the file of a design is imported among the designs"
        raise BadFile(Code.ANOTHER_KIND_OF_FILE, detail, status=415)
    try:
        read = json.loads(
            data.decode("utf-8-sig"), object_pairs_hook=_named_once,
            parse_float=_number, parse_int=_whole, parse_constant=_no,
        )  # fmt: skip
    except UnicodeDecodeError as wrong:
        raise BadFile(Code.UNREADABLE, f"not UTF-8: byte {wrong.start} cannot be read") from None
    except RecursionError:
        raise BadFile(Code.UNREADABLE, f"nested deeper than {DEEPEST} levels") from None
    except ValueError as wrong:
        raise BadFile(Code.UNREADABLE, f"not JSON: {wrong}") from None
    _refuse_unfit(read)
    return read


def _named_once(members: list[tuple[str, Any]]) -> dict[str, Any]:
    """One reader would take the first of two, another the last, and a signature holds for both: I-JSON
    (RFC 7493, 2.3), on which the canonical form of RFC 8785 stands, has none such."""
    read = dict(members)
    if len(read) < len(members):
        often = Counter(name for name, _value in members)
        twice = next(name for name, times in often.items() if times > 1)
        raise ValueError(f"{twice[:40]!r} stands twice in one object")
    return read


def _no(word: str) -> Any:
    raise ValueError(f"{word} is not a number that is accepted here")


def _whole(text: str) -> int:
    if len(text) > LONGEST_NUMBER:
        raise ValueError(f"a number of more than {LONGEST_NUMBER} figures")
    return int(text)


def _number(text: str) -> Decimal:
    if len(text) > LONGEST_NUMBER:
        raise ValueError(f"a number of more than {LONGEST_NUMBER} figures")
    return Decimal(text)


def _refuse_unfit(data: Any) -> None:
    waiting: list[tuple[Any, int]] = [(data, 0)]
    while waiting:
        item, depth = waiting.pop()
        if depth > DEEPEST:
            raise BadFile(Code.UNREADABLE, f"nested deeper than {DEEPEST} levels")
        if isinstance(item, str):
            if any(_is_no_text(sign) for sign in item):
                raise BadFile(Code.UNREADABLE, f"characters that are not text: {item[:40]!r}")
        elif isinstance(item, dict):
            waiting += [(each, depth + 1) for pair in item.items() for each in pair]
        elif isinstance(item, list):
            waiting += [(each, depth + 1) for each in item]


def _is_no_text(sign: str) -> bool:
    """Control characters, half surrogates, and what turns the direction of the text around it."""
    return (
        (sign < " " and sign not in "\n\r\t")
        or "\x7f" <= sign <= "\x9f"
        or "\ud800" <= sign <= "\udfff"
        or "\u202a" <= sign <= "\u202e"
        or "\u2066" <= sign <= "\u2069"
    )


def read_as(adapter: "TypeAdapter[Read]", wanted: Format, data: bytes) -> Read:
    """A file of this format.  BadFile: another kind of file, a newer version, and everything amiss in it."""
    read = read_json(data)
    found = read.get("format") if isinstance(read, dict) else None
    if found != wanted.name:
        what = f"it says {found[:40]!r}" if isinstance(found, str) else "it does not say what it is"
        raise BadFile(Code.ANOTHER_KIND_OF_FILE, f"not {wanted.what}: {what}", status=415)
    version = read.get("version")
    if isinstance(version, int) and not isinstance(version, bool) and version > wanted.version:
        raise BadFile(
            Code.NEWER_FILE, f"{wanted.what} of version {version}; up to {wanted.version} is read here"
        )
    try:
        document = adapter.validate_python(read)
    except ValidationError as wrong:
        raise bad(wanted, [_problem(each) for each in wrong.errors(include_url=False)]) from None
    signature = getattr(document, "signature", None)
    if signature is not None:
        try:
            data = canonical({name: each for name, each in read.items() if name != "signature"})
        except ValueError as wrong:
            raise BadFile(Code.UNREADABLE, f"{wanted.what} that cannot have been signed: {wrong}") from None
        refuse_false(signature, data)
    return document


def refuse_false(signature: Signature, data: bytes) -> None:
    """BadFile where that key did not sign these bytes."""
    if not is_true(signature, data):
        raise BadFile(
            Code.FALSE_SIGNATURE,
            f"the signature is not of this file: it was changed since, or not signed by the key "
            f"{fingerprint(signature.key)}",
        )


def as_text(
    adapter: "TypeAdapter[Any]", document: Any, seal: Callable[[bytes], Signature] | None = None
) -> bytes:
    """A document as JSON to be read by eye, without what is as it is anyway; `seal` signs it."""
    if seal is not None:
        plain = adapter.dump_python(document, mode="json", exclude_defaults=True)
        document = replace(document, signature=seal(canonical(plain)))
    return adapter.dump_json(document, indent=2, exclude_defaults=True) + b"\n"


def bad(wanted: Format, problems: list[FieldProblem]) -> BadFile:
    """The refusal of a file with these things amiss."""
    first = "; ".join(f"{each.pointer}: {each.detail}" for each in problems[:3])
    more = f"; and {len(problems) - 3} more" if len(problems) > 3 else ""
    return BadFile(
        Code.UNREADABLE, f"{wanted.what} that cannot be read: {first}{more}", problems=problems[:MAX_NAMED]
    )


_CODES = {
    "missing": Code.REQUIRED,
    "extra_forbidden": Code.UNKNOWN,
    "unexpected_keyword_argument": Code.UNKNOWN,
}


def _problem(error: Mapping[str, Any]) -> FieldProblem:
    pointer = "".join(f"/{str(each)[:80].replace('~', '~0').replace('/', '~1')}" for each in error["loc"])
    return FieldProblem(pointer, _CODES.get(error["type"], Code.UNREADABLE), str(error["msg"])[:200])


# --- a Spec in a file


def written(spec: Spec) -> dict[str, Any]:
    """What is known of it, the value as the trade writes it; `read_spec` gives the same Spec again."""
    body = spec.to_dict()
    plain = {name: body[name] for name in FIELDS if body[name] not in (None, "", {})}
    if spec.value is not None:
        short = plain | {"value": spec.value_text}
        try:
            if Spec.from_dict(short) == spec:
                return short
        except SpecError:
            pass  # a value that the short notation does not carry: written out in full
    return plain


def read_spec(given: Mapping[str, Any], pointer: str, problems: list[FieldProblem]) -> Spec | None:
    """The Spec, or None with what is wrong with it added to `problems`."""
    try:
        return Spec.from_dict(given)
    except SpecError as wrong:
        problems += [each._replace(pointer=f"{pointer}{each.pointer}") for each in wrong.problems]
        return None
