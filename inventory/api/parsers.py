"""JSON bodies, read strictly: what no column or rule could hold is refused here, for every address."""

import json
from collections.abc import Iterable
from decimal import Decimal, InvalidOperation
from typing import IO, Any, NoReturn

from rest_framework.exceptions import ErrorDetail, NotAcceptable, ParseError, ValidationError
from rest_framework.negotiation import DefaultContentNegotiation
from rest_framework.parsers import BaseParser
from rest_framework.renderers import BaseRenderer
from rest_framework.request import Request

from inventory.refusals import Code

DEEPEST = 24
LONGEST_NUMBER = 40
LARGEST_EXPONENT = 40


class JsonBody(BaseParser):
    """UTF-8 JSON.  Numbers with a point become Decimal: no float ever touches a value."""

    media_type = "application/json"

    def parse(self, stream: IO[Any], media_type: str | None = None, parser_context: Any = None) -> Any:
        try:
            text = stream.read().decode("utf-8-sig")
        except UnicodeDecodeError as wrong:
            raise ParseError(f"the body is not UTF-8: byte {wrong.start} cannot be read") from None
        try:
            data = json.loads(text, parse_float=_number, parse_int=_whole_number, parse_constant=_refuse)
        except RecursionError:
            raise ParseError(f"the body is nested deeper than {DEEPEST} levels") from None
        except ValueError as wrong:
            raise ParseError(f"the body is not JSON: {wrong}") from None
        if wrong_texts := _unfit(data):
            raise ValidationError(wrong_texts)
        return data


def _refuse(word: str) -> NoReturn:
    raise ValueError(f"{word} is not a number that is accepted here")


def _whole_number(text: str) -> int:
    if len(text) > LONGEST_NUMBER:
        raise ValueError(f"a number of more than {LONGEST_NUMBER} figures")
    return int(text)


def _number(text: str) -> Decimal:
    try:
        number = Decimal(text)
    except InvalidOperation:
        raise ValueError(f"{text[:LONGEST_NUMBER]} is out of range") from None
    if len(text) > LONGEST_NUMBER or abs(number.adjusted()) > LARGEST_EXPONENT:
        raise ValueError(f"{text[:LONGEST_NUMBER]} is out of range")
    return number


def _unfit(data: Any) -> dict[str, list[ErrorDetail]]:
    """Texts that no database keeps alike, by the member that holds them; ParseError where it is too deep."""
    found: dict[str, list[ErrorDetail]] = {}
    waiting: list[tuple[Any, str, int]] = [(data, "", 0)]
    while waiting:
        item, member, depth = waiting.pop()
        if depth > DEEPEST:
            raise ParseError(f"the body is nested deeper than {DEEPEST} levels")
        if isinstance(item, str):
            if "\x00" in item or any("\ud800" <= sign <= "\udfff" for sign in item):
                detail = "NUL and half characters (lone surrogates) are not kept"
                found[member] = [ErrorDetail(detail, Code.UNREADABLE)]
        elif isinstance(item, dict):
            waiting += [(name, member, depth) for name in item]
            waiting += [(inner, member or _printable(name), depth + 1) for name, inner in item.items()]
        elif isinstance(item, list):
            waiting += [(inner, member, depth + 1) for inner in item]
    return found


def _printable(name: str) -> str:
    return name.encode("utf-8", "replace").decode()


class JsonWhateverIsAsked(DefaultContentNegotiation):
    """Answer in the first form that the view has where none of it is acceptable (RFC 9110, 12.4.1)."""

    def select_renderer(
        self, request: Request, renderers: Iterable[BaseRenderer], format_suffix: str | None = None
    ) -> tuple[BaseRenderer, str]:
        try:
            chosen: tuple[BaseRenderer, str] = super().select_renderer(request, renderers, format_suffix)
            return chosen
        except NotAcceptable:
            first = next(iter(renderers))
            return first, str(first.media_type)
