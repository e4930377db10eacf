"""Several rows of one noun made by one request: all of them, or none and the reason by row."""

from collections.abc import Mapping
from typing import Any

from rest_framework.exceptions import ErrorDetail, ValidationError
from rest_framework.request import Request
from rest_framework.response import Response

from inventory.api.problems import Refusal
from inventory.api.viewsets import NounViewSet
from inventory.ledger import Refused
from inventory.refusals import Code

MAX_ROWS = 500


def make_several(view: NounViewSet, request: Request) -> Response:
    """201 with the rows in the order in which they were sent.

    ValidationError names every member that is not accepted, by its row; Refusal (409) the first row that a
    rule of the bench refuses.  Either way nothing is kept: the request is one transaction.
    """
    made = []
    for index, data in enumerate(_read(view, request)):
        try:
            made.append(view.make(data).pk)
        except ValidationError as wrong:
            raise ValidationError({"rows": {str(index): wrong.detail}}) from None
        except Refused as refused:
            raise Refusal(
                f"row {index}: {refused.detail}",
                code=refused.code,
                errors=[{"pointer": f"#/rows/{index}", "code": refused.code, "detail": refused.detail}],
                **refused.facts,
            ) from None
    rows = {row.pk: row for row in view.get_queryset().filter(pk__in=made)}
    shown = view.get_serializer([rows[pk] for pk in made], many=True)
    return Response({"rows": shown.data}, status=201)


def _read(view: NounViewSet, request: Request) -> list[dict[str, Any]]:
    """What each row says, once every one of them is accepted."""
    sent: Any = request.data
    rows = sent.get("rows") if isinstance(sent, Mapping) else None
    if not isinstance(rows, list) or not 1 <= len(rows) <= MAX_ROWS:
        detail = f"expected a list of 1 to {MAX_ROWS} objects"
        raise ValidationError({"rows": [ErrorDetail(detail, Code.NOT_A_LIST)]})
    if more := sent.keys() - {"rows"}:
        unknown = [ErrorDetail("unknown field; expected rows", Code.UNKNOWN)]
        raise ValidationError({str(name): unknown for name in more})
    read: list[dict[str, Any]] = []
    wrong: dict[str, Any] = {}
    for index, row in enumerate(rows):
        serializer = view.get_serializer(data=row)
        if serializer.is_valid():
            read.append(serializer.validated_data)
        else:
            wrong[str(index)] = serializer.errors
    if wrong:
        raise ValidationError({"rows": wrong})
    return read
