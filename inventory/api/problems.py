"""One shape for every refusal: application/problem+json (RFC 9457).

`type`, `title`, `status`, `detail`; `code` and the facts where a rule of the bench refused; `errors`, a flat
list of `{"pointer", "code", "detail"}`, where input was not accepted.  The pointer is a JSON Pointer into the
body as a URI fragment (`#/positions/3/value`); for a query parameter it names the parameter and `"in"` is
`"query"`.
An exception that is nobody's input stays a bug: it is logged and answered by Django.
"""

import re
from collections import Counter
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field, replace
from functools import cache
from http import HTTPStatus
from typing import Any

from django.core.exceptions import RequestDataTooBig, SuspiciousOperation
from django.db import DataError, IntegrityError
from django.db.models import ProtectedError, UniqueConstraint
from django.http.multipartparser import MultiPartParserError
from rest_framework.exceptions import APIException, ErrorDetail, Throttled, ValidationError
from rest_framework.renderers import JSONRenderer
from rest_framework.response import Response
from rest_framework.views import exception_handler

from inventory.faults import fault_of
from inventory.ledger import Refused
from inventory.own_models import own_models
from inventory.places import PlaceLoop
from inventory.refusals import Code

MEDIA_TYPE = "application/problem+json"
RESERVED = ("type", "title", "status", "detail", "instance", "code", "errors")


class Refusal(APIException):
    """A refusal of the API itself, with its code and facts.  Subclasses set status and code."""

    status_code = 409
    code = Code.INVALID

    def __init__(
        self, detail: str, *, code: Code | None = None, errors: Sequence[Mapping[str, str]] = (), **facts: Any
    ) -> None:
        super().__init__(detail)
        self.code = code or self.code
        self.errors, self.facts = list(errors), facts


class TooLarge(Refusal):
    status_code = 413
    code = Code.TOO_LARGE


class BadQuery(ValidationError):
    """A query parameter that is unknown or unreadable."""


@dataclass(frozen=True)
class Problem:
    status: int
    detail: str
    code: Code | None = None
    errors: Sequence[Mapping[str, str]] = ()
    facts: Mapping[str, Any] = field(default_factory=dict)
    headers: Mapping[str, str] = field(default_factory=dict)

    def body(self) -> dict[str, Any]:
        title = self.code.replace("_", " ").capitalize() if self.code else HTTPStatus(self.status).phrase
        body: dict[str, Any] = {
            "type": f"/problems/{self.code}" if self.code else "about:blank",
            "title": title,
            "status": self.status,
            "detail": self.detail,
        }
        if self.code:
            body["code"] = self.code
        if self.errors:
            body["errors"] = list(self.errors)
        facts = {f"found_{name}" if name in RESERVED else name: fact for name, fact in self.facts.items()}
        return body | facts


def problem_handler(exc: Exception, context: Mapping[str, Any]) -> Response | None:
    """The answer to an exception, or None for a bug."""
    problem = describe(exc)
    if problem is None:
        return None
    request = context.get("request")
    if request is not None:  # a view of pictures or pages refuses in JSON too
        request.accepted_renderer, request.accepted_media_type = JSONRenderer(), "application/json"
    return Response(
        problem.body(), status=problem.status, headers=dict(problem.headers), content_type=MEDIA_TYPE
    )


def describe(exc: Exception) -> Problem | None:
    """What the exception says to whoever sent the request; None for a bug."""
    if isinstance(exc, Refused):
        amiss = [
            {"pointer": f"#{each.pointer}", "code": each.code, "detail": each.detail} for each in exc.problems
        ]
        return Problem(exc.status, exc.detail, exc.code, amiss, facts=exc.facts)
    if isinstance(exc, PlaceLoop):
        return Problem(409, str(exc), Code.LOOP, _errors("within", code=Code.LOOP, detail=str(exc)))
    if isinstance(exc, ProtectedError):
        return _in_use(exc)
    if isinstance(exc, IntegrityError):
        return _broken_rule(exc)
    if isinstance(exc, DataError):
        return Problem(400, "something in it is larger than its column holds", Code.OUT_OF_RANGE)
    if fault := fault_of(exc):
        after = fault.retry_after
        headers = {"Retry-After": str(after)} if after else {}
        return Problem(fault.status, fault.detail, fault.code, headers=headers)
    if isinstance(exc, RequestDataTooBig):
        return Problem(413, "the body is larger than is taken here", TooLarge.code)
    if isinstance(exc, SuspiciousOperation | MultiPartParserError):
        return Problem(400, str(exc), Code.UNREADABLE)
    return _by_framework(exc)


def _by_framework(exc: Exception) -> Problem | None:
    answer = exception_handler(exc, {})
    if answer is None:
        return None
    headers: dict[str, str] = {
        name: str(answer[name]) for name in ("WWW-Authenticate", "Retry-After") if name in answer
    }
    if isinstance(exc, Refusal):
        return Problem(exc.status_code, str(exc.detail), exc.code, exc.errors, exc.facts, headers)
    if isinstance(exc, ValidationError):
        errors = list(spread(exc.detail))
        if isinstance(exc, BadQuery):
            errors = [{**error, "in": "query"} for error in errors]
        detail = "; ".join(f"{error['pointer']}: {error['detail']}" for error in errors[:3])
        more = f"; and {len(errors) - 3} more" if len(errors) > 3 else ""
        return Problem(answer.status_code, f"{detail}{more}", Code.INVALID, errors, headers=headers)
    problem = Problem(answer.status_code, str(answer.data.get("detail", "")), headers=headers)
    if isinstance(exc, Throttled):
        return replace(problem, facts={"retry_after": int(headers.get("Retry-After", 0))})
    return problem


def _errors(*names: str, code: Code, detail: str) -> list[dict[str, str]]:
    return [{"pointer": f"#/{name}", "code": code, "detail": detail} for name in names]


def escaped(name: object) -> str:
    """A member's name within a JSON Pointer (RFC 6901)."""
    return str(name).replace("~", "~0").replace("/", "~1")


def spread(detail: Any, pointer: str = "") -> Iterator[dict[str, str]]:
    """The framework's nested errors as one flat list."""
    if isinstance(detail, Mapping):
        for name, inner in detail.items():
            whole = name == "non_field_errors"
            yield from spread(inner, pointer if whole else f"{pointer}/{escaped(name)}")
    elif isinstance(detail, list):
        for index, inner in enumerate(detail):
            nested = isinstance(inner, Mapping | list)
            yield from spread(inner, f"{pointer}/{index}" if nested else pointer)
    else:
        code = str(detail.code) if isinstance(detail, ErrorDetail) else "invalid"
        yield {"pointer": f"#{pointer}", "code": code, "detail": str(detail)}


# --- what the database refused


def _in_use(exc: ProtectedError) -> Problem:
    users = Counter(str(row._meta.verbose_name) for row in exc.protected_objects)
    listed = ", ".join(f"{count} {name}{'s' if count > 1 else ''}" for name, count in sorted(users.items()))
    return Problem(409, f"it is kept: {listed} would lose it", Code.IN_USE, facts={"used_by": dict(users)})


@cache
def _rules() -> dict[str, tuple[str, ...]]:
    """The fields that each constraint is about, by its name and by the columns as SQLite tells them."""
    rules: dict[str, tuple[str, ...]] = {}
    for model in own_models():
        columns = {field.name: field.column for field in model._meta.local_fields}
        unique = [(field.name,) for field in model._meta.local_fields if field.unique]
        for constraint in model._meta.constraints:
            rules[constraint.name] = fields = tuple(getattr(constraint, "fields", ()))
            if isinstance(constraint, UniqueConstraint):
                unique.append(fields)
        for fields in unique:
            rules[_rule_key(model._meta.db_table, [columns[name] for name in fields])] = fields
    return rules


def _rule_key(table: str, columns: Iterable[str | None]) -> str:
    return ", ".join(f"{table}.{column}" for column in columns)


def _broken_rule(exc: IntegrityError) -> Problem | None:
    """A known constraint as a conflict; None for one that only a bug could break."""
    diagnosis = getattr(exc.__cause__, "diag", None)
    if diagnosis is not None:
        rule, state = str(diagnosis.constraint_name), str(getattr(exc.__cause__, "sqlstate", ""))
        if rule not in _rules() and (columns := re.match(r"Key \((.*?)\)=", diagnosis.message_detail or "")):
            rule = _rule_key(str(diagnosis.table_name), columns[1].split(", "))
        gone, taken = state == "23503", state == "23505"
    else:
        message = str(exc)
        rule = message.partition(": ")[2]
        gone, taken = message.startswith("FOREIGN KEY"), message.startswith("UNIQUE")
    if gone:
        return Problem(409, "what it refers to was removed since, or something still refers to it", Code.GONE)
    if rule not in _rules():
        return None
    if not taken:
        return Problem(409, f"the rule {rule} refuses it", Code.BROKEN_RULE, facts={"rule": rule})
    fields = _rules()[rule]
    detail = f"another one has this {' and '.join(fields)} already"
    errors = _errors(*fields, code=Code.TAKEN, detail=detail)
    return Problem(409, detail, Code.TAKEN, errors)
