"""An answer as one typed model, and everything that is made from it: JSON, schema, example, sheet, table.

An answer is a frozen-in-use plain dataclass whose fields are what the API answers; what pages want besides is
a property.  Pydantic writes and describes it.  `AnswerTable` lists the columns of its sheet and of its table
at a terminal, so that both say the same.
"""

from abc import ABC, abstractmethod
from collections.abc import Callable, Iterable, Iterator, Sequence
from dataclasses import dataclass, replace
from decimal import Decimal
from functools import lru_cache
from typing import Annotated, Any, ClassVar, Self, TextIO

from drf_spectacular.utils import OpenApiExample, extend_schema
from pydantic import PlainSerializer, TypeAdapter, WithJsonSchema
from rest_framework.request import Request

from inventory.sheets import ColumnOut, SheetOut
from inventory.sheets.grid import CellOut
from inventory.spec import Reason, Spec
from inventory.spec.figures import plain
from inventory.tables import show

COMPONENT = "x-component"
"""Marks, in a schema, what another part of the document describes: `inventory.api` knows it by this name."""

SpecOut = Annotated[
    Spec, PlainSerializer(lambda spec: spec.to_dict(), dict[str, Any]), WithJsonSchema({COMPONENT: "Spec"})
]
Reasons = Annotated[tuple[Reason, ...], WithJsonSchema({"type": "array", "items": {COMPONENT: "Reason"}})]


Money = Annotated[Decimal, PlainSerializer(plain, str)]
"""In the workshop's currency, as a plain decimal."""


def cents(amount: Decimal) -> str:
    return f"{amount:.2f}"


Cents = Annotated[Decimal, PlainSerializer(cents, str)]
"""The same with two decimals."""


def one_of(words: Iterable[str], description: str = "") -> WithJsonSchema:
    """What marks a field that holds one of these words."""
    schema: dict[str, Any] = {"type": "string", "enum": list(words)}
    return WithJsonSchema(schema | ({"description": description} if description else {}))


class Answer:
    """What all answers and their parts are; each class names a component of the OpenAPI document."""

    __slots__ = ()
    _names: ClassVar[dict[str, str]] = {}

    def __init_subclass__(cls, **options: Any) -> None:
        super().__init_subclass__(**options)
        if Answer._names.setdefault(cls.__name__, cls.__module__) != cls.__module__:
            raise TypeError(f"two answers are called {cls.__name__}: the document has room for one")


class WholeAnswer(Answer, ABC):
    """What answers a question."""

    __slots__ = ()

    @classmethod
    @abstractmethod
    def example(cls) -> Self:
        """One such answer, for the document."""


@lru_cache
def adapter(answer: Any) -> "TypeAdapter[Any]":
    return TypeAdapter(answer)


def as_json(answer: Answer, request: Request | None = None) -> Any:
    """The answer as the API gives it, in plain values; the addresses in it are whole for a request."""
    kind: Any = type(answer)
    return adapter(kind).dump_python(answer, mode="json", by_alias=True, context={"request": request})


def as_text(answer: Answer) -> bytes:
    """The same as JSON text, in UTF-8."""
    kind: Any = type(answer)
    return adapter(kind).dump_json(answer, by_alias=True)


ROWS_AT_ONCE = 100


def in_pieces(answer: Answer, rows: str = "results") -> Iterator[bytes]:
    """What `as_text` gives, `ROWS_AT_ONCE` at a time: a large answer never stands in memory twice."""
    of: Any = answer
    every = getattr(of, rows)
    before, opening, after = as_text(replace(of, **{rows: []})).partition(b'"%s":[' % rows.encode())
    kinds = adapter(list[type(every[0])]) if every else None  # type: ignore[misc]
    yield before + opening
    for start in range(0, len(every), ROWS_AT_ONCE):
        assert kinds is not None
        text = kinds.dump_json(every[start : start + ROWS_AT_ONCE], by_alias=True)[1:-1]
        yield b"," + text if start else text
    yield after


def answers(
    kind: type[WholeAnswer],
    title: str,
    asked: Sequence[OpenApiExample] = (),
    *,
    status: int = 200,
    **operation: Any,
) -> Callable[[Any], Any]:
    """`extend_schema` for a view that gives such an answer, with its example, and those of what it takes."""
    example = OpenApiExample(title, as_json(kind.example()), response_only=True, status_codes=[str(status)])
    return extend_schema(responses={status: kind}, examples=[example, *asked], **operation)


@dataclass(frozen=True)
class AnswerColumn:
    """A column: its heading and width in a sheet, and what stands in it for a row, or a tuple of rows.

    `narrow` is its heading at a terminal, None where it is left out there.
    """

    heading: str
    of: Callable[..., CellOut]
    width: int = 10
    narrow: str | None = None
    number: bool = False


@dataclass(frozen=True)
class AnswerTable:
    """Rows of one sort as a sheet and as a table at a terminal."""

    title: str
    columns: tuple[AnswerColumn, ...]

    def sheet(self, rows: Iterable[Any]) -> SheetOut:
        return SheetOut(
            self.title,
            [ColumnOut(each.heading, each.width, text=not each.number) for each in self.columns],
            self._cells(rows, self.columns),
        )

    def show(self, out: TextIO, rows: Iterable[Any], title: str = "") -> None:
        """Print the columns that a terminal has room for, a line a row; a number of nought is left blank."""
        shown = [each for each in self.columns if each.narrow is not None]
        lines = ([_text(cell) for cell in cells] for cells in self._cells(rows, shown))
        numbers = {each.narrow for each in shown if each.number and each.narrow}
        show(
            out,
            title or self.title,
            [each.narrow or "" for each in shown],
            lines,
            numbers=numbers,
            one_line=True,
        )

    @staticmethod
    def _cells(rows: Iterable[Any], columns: Sequence[AnswerColumn]) -> Iterator[list[CellOut]]:
        return ([each.of(*(row if isinstance(row, tuple) else (row,))) for each in columns] for row in rows)


def _text(cell: CellOut) -> str:
    if cell in (None, 0):
        return ""
    return plain(cell) if isinstance(cell, Decimal) else str(cell)
