"""The OpenAPI 3.1 document: what the code says, with the conventions written out on every operation."""

import json
import re
from typing import Any

from drf_spectacular.openapi import AutoSchema
from drf_spectacular.utils import OpenApiExample, OpenApiParameter, OpenApiResponse
from rest_framework import serializers
from rest_framework.permissions import SAFE_METHODS

from inventory.api.fields import SpecSerializer, StrictSerializer
from inventory.api.lists import ChangedSince
from inventory.api.once import HEADER, KEPT, LONGEST_KEY
from inventory.api.permissions import needed_role
from inventory.api.problems import MEDIA_TYPE, Problem
from inventory.refusals import Code

CODES = [(code.value, code.sentence) for code in Code]


class ErrorSerializer(serializers.Serializer[Any]):
    """One thing that was not accepted."""

    pointer = serializers.CharField(help_text="JSON Pointer into the body, as in #/positions/3/value")
    code = serializers.ChoiceField(CODES, help_text="Stable, for programs.")
    detail = serializers.CharField(help_text="What was found and what would be accepted.")


class ProblemSerializer(serializers.Serializer[Any]):
    """A refusal (RFC 9457).  A conflict carries its facts as further members, such as `available`."""

    type = serializers.CharField(
        help_text="The page about the code, `/problems/not_enough`; `about:blank` where there is none."
    )
    title = serializers.CharField()
    status = serializers.IntegerField()
    detail = serializers.CharField()
    code = serializers.ChoiceField(CODES, required=False, help_text="Stable, for programs.")
    retry_after = serializers.IntegerField(
        required=False, min_value=0, help_text="Seconds to wait, as the header Retry-After says them."
    )
    errors = ErrorSerializer(many=True, required=False)  # type: ignore[assignment]


def _not_accepted(pointer: str, code: Code, detail: str) -> dict[str, Any]:
    errors = [{"pointer": pointer, "code": code, "detail": detail}]
    return Problem(400, f"{pointer}: {detail}", Code.INVALID, errors).body()


PROBLEMS: dict[int, tuple[str, dict[str, Any]]] = {
    400: ("Not accepted", _not_accepted("#/value", Code.UNREADABLE, "expected a resistance such as 4k7")),
    401: ("No sign-in", Problem(401, "Authentication credentials were not provided.").body()),
    403: ("Not for this role", Problem(403, "POST here is for the bench; robin is viewer").body()),
    404: ("Not there", Problem(404, "No Lot matches the given query.").body()),
    409: (
        "Conflict, with what is available",
        Problem(409, "lot 5: 4 wanted, 3 free", Code.NOT_ENOUGH, facts={"available": 3}).body(),
    ),
    410: (
        "The cursor is of before a restore or an update",
        Problem(410, "read everything once more, changed_since=start", Code.CURSOR_EXPIRED).body(),
    ),
    412: ("Stale If-Match", Problem(412, "read it again", Code.STALE, facts={"version": 4}).body()),
    413: ("Too large", Problem(413, "at most 5242880 bytes are taken here", Code.TOO_LARGE).body()),
    415: ("Another kind of body", Problem(415, 'Unsupported media type "text/plain" in request.').body()),
    422: (
        "Key used for another request",
        Problem(422, "a new request takes a new key", Code.KEY_REUSED).body(),
    ),
    429: ("Too many requests", Problem(429, "Request was throttled.", facts={"retry_after": 12}).body()),
    503: ("Busy: try again", Problem(503, "nothing was changed, try again", Code.BUSY).body()),
}


KEY = OpenApiParameter(
    HEADER,
    {"type": "string", "minLength": 1, "maxLength": LONGEST_KEY, "pattern": "^[!-~]+$"},
    OpenApiParameter.HEADER,
    description=f"A repeat with this key gives the first answer again; kept {KEPT.days * 24} hours.",
)
IF_MATCH = OpenApiParameter(
    "If-Match",
    str,
    OpenApiParameter.HEADER,
    description="The ETag that was read: 412 where it was changed since.",
)
IF_MATCH_OF_BOARD = OpenApiParameter(
    "If-Match",
    str,
    OpenApiParameter.HEADER,
    description="The ETag of the board as it was read: 412 where it was changed since.",
)
IF_NONE_MATCH = OpenApiParameter(
    "If-None-Match",
    str,
    OpenApiParameter.HEADER,
    description="The ETag of an earlier answer: 304 and no body where nothing in it has changed.",
)
ETAG = OpenApiParameter(
    "ETag", str, OpenApiParameter.HEADER, response=[200, 201],
    description="Its version; of what is read a digest with it.",
)  # fmt: skip
LOCATION = OpenApiParameter(
    "Location", str, OpenApiParameter.HEADER, response=[201], description="Its address."
)


IDS = ("id", "fact")
"""Parameters of a path that are the id of a row."""
WRITTEN = {
    "list": "List {}", "create": "Add to {}", "retrieve": "Read one of {}", "update": "Replace one of {}",
    "partial_update": "Change one of {}", "destroy": "Remove one of {}",
}  # fmt: skip
LONGEST_SUMMARY = 100


class BenchSchema(AutoSchema):
    """Adds to each operation a summary, its query parameters, headers and the refusals that it can give."""

    def get_summary(self) -> str:
        """What it does, in a line: by the verb and the noun, or the first sentence of its description."""
        declared = super().get_summary()
        if declared:
            return str(declared)
        action = getattr(self.view, "action", None)
        own = getattr(type(self.view), action, None) if action else None
        if action in WRITTEN and not getattr(own, "__doc__", None):
            return WRITTEN[action].format(self.get_tags()[0].replace("-", " "))
        sentence = re.split(r"[.:;](?:\s|$)", " ".join(self.get_description().split()), maxsplit=1)[0]
        return sentence if len(sentence) <= LONGEST_SUMMARY else f"{sentence[:LONGEST_SUMMARY]}…"

    def get_tags(self) -> list[str]:
        """The noun; the list of them has a tag of its own."""
        tags: list[str] = super().get_tags()
        return [tags[0].partition(".")[0]] if tags else ["index"]

    def get_override_parameters(self) -> list[Any]:
        parameters = [*super().get_override_parameters(), *getattr(self.view, "query_parameters", ())]
        versioned = getattr(self.view, "versioned", False)
        if self.method == "POST":
            parameters.append(KEY)
        if self.method == "GET":
            parameters.append(IF_NONE_MATCH)
        if versioned and self.method in ("PUT", "PATCH", "DELETE"):
            parameters.append(IF_MATCH)
        if self._is_guarded():
            parameters.append(IF_MATCH_OF_BOARD)
        if versioned and self.method != "DELETE" and not self._is_list_view():
            parameters.append(ETAG)
        if self._is_create_operation():
            parameters.append(LOCATION)
        return parameters

    def _is_guarded(self) -> bool:
        return bool(getattr(self.view, "guarded", False)) and self.method not in SAFE_METHODS

    def _get_parameters(self) -> list[dict[str, Any]]:
        parameters: list[dict[str, Any]] = super()._get_parameters()
        for parameter in parameters:
            if parameter["in"] == "path" and parameter["name"] in IDS:
                parameter["schema"] = {"type": "integer", "minimum": 1, "maximum": 10**18 - 1}
            text = parameter["in"] == "query" and parameter["schema"].get("type") == "string"
            if text and parameter["name"] != "q":
                parameter["schema"].setdefault("minLength", 1)
        return parameters

    def _postprocess_serializer_schema(self, schema: Any, serializer: Any, direction: str) -> Any:
        described = super()._postprocess_serializer_schema(  # type: ignore[no-untyped-call]
            schema, serializer, direction
        )
        if direction == "request" and isinstance(serializer, StrictSerializer | SpecSerializer):
            described["additionalProperties"] = False
        if isinstance(serializer, ProblemSerializer):
            described["additionalProperties"] = True  # RFC 9457, 3.2: a conflict carries its facts
        return described

    def get_request_serializer(self) -> Any:
        form = getattr(self.view, "change_serializer_class", None)
        return form if form and self.method in ("PUT", "PATCH") else super().get_request_serializer()

    def _get_response_bodies(self, direction: Any = "response") -> dict[str, Any]:
        bodies: dict[str, Any] = super()._get_response_bodies(direction)
        if self.method == "GET":
            bodies.setdefault("304", {"description": "As it was: see If-None-Match"})
        for status in self._refusals():
            description, example = PROBLEMS[status]
            answer = OpenApiResponse(
                ProblemSerializer,
                description,
                [OpenApiExample(description, example, status_codes=[str(status)])],
            )
            bodies.setdefault(
                str(status),
                self._get_response_for_code(  # type: ignore[no-untyped-call]
                    answer, str(status), [MEDIA_TYPE], direction
                ),
            )
        return bodies

    def _refusals(self) -> list[int]:
        statuses = {400, 401, 429}
        if "{" in self.path or self._is_list_view():
            statuses.add(404)
        if needed_role(self.view, self.method) is not None:
            statuses.add(403)
        if getattr(self.view, "action", None) == "list" and ChangedSince in getattr(
            self.view, "filter_backends", ()
        ):
            statuses.add(410)
        if self.method not in SAFE_METHODS:
            statuses |= {409, 503}
        if self.method in ("POST", "PUT", "PATCH"):
            statuses |= {413, 415}
        if self.method == "POST":
            statuses.add(422)
        versioned = getattr(self.view, "versioned", False) and self.method in ("PUT", "PATCH", "DELETE")
        if versioned or self._is_guarded():
            statuses.add(412)
        return sorted(statuses)


REFERENCE = re.compile(r'"#/components/schemas/([^"]+)"')


def without_unused(result: dict[str, Any], **_about: Any) -> dict[str, Any]:
    """Leave out components that no operation leads to: forms of what is only ever read."""
    schemas = result["components"]["schemas"]

    def names_in(part: Any) -> set[str]:
        return set(REFERENCE.findall(json.dumps(part, default=str)))

    used, met = set(), names_in(result["paths"])
    while met:
        used |= met
        met = {name for each in met for name in names_in(schemas[each])} - used
    result["components"]["schemas"] = {name: each for name, each in schemas.items() if name in used}
    return result
