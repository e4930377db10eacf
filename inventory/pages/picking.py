"""What is picked of a list in a form: a few unfold, of many one is found by a few letters (`{% pick %}`)."""

from collections.abc import Iterable
from dataclasses import dataclass
from typing import Any, Generic, TypeVar

from django import forms
from django.db.models import Model, QuerySet
from django.http import HttpRequest

from inventory.ledger import Refused
from inventory.models import Board, Design, Place
from inventory.pages.frame import number, words
from inventory.places import paths, walking
from inventory.refusals import Code
from inventory.whole_numbers import MAX_PIECES, whole_number

M = TypeVar("M", bound=Model)
NOT_FOUND = "Not found. Type a few letters and pick one of the {of}."
LONGEST = 2000


@dataclass(frozen=True)
class Picked(Generic[M]):
    """What a box holds: the row that it names, or what was typed and why that is none; the box shows both."""

    row: M | None = None
    typed: str = ""
    wrong: str = ""

    def __str__(self) -> str:
        return self.typed if self.row is None else str(self.row.pk)


def in_box(request: HttpRequest, name: str, rows: QuerySet[M], of: str) -> Picked[M]:
    """What is picked in the field `name`, for a page that shows its box again whatever was typed there."""
    typed = words(request, name, LONGEST)
    row = _meant(typed, rows)
    if row is None and typed not in NOTHING:
        return Picked(typed=typed, wrong=NOT_FOUND.format(of=of))
    return Picked(row)


def picked(request: HttpRequest, name: str, rows: QuerySet[M], of: str) -> M | None:
    """The row that was picked in the field `name` of a form or an address; None where it was left empty.

    Refused (`unreadable`) where what was typed is none of the rows.
    """
    box = in_box(request, name, rows, of)
    if box.wrong:
        raise Refused(Code.UNREADABLE, box.wrong)
    return box.row


def named(request: HttpRequest, name: str, rows: QuerySet[M], what: str) -> M:
    """The row that a form names in a field nobody types in.  Refused (`gone`) where it is there no more."""
    pk = number(request, name)
    row = rows.filter(pk=pk).first()
    if row is None:
        raise Refused(Code.GONE, f"{what} is not there any more. Nothing was changed.")
    return row


NOTHING = ("", "0")
"""What a field sends where nothing is picked."""


def _meant(typed: str, rows: QuerySet[M]) -> M | None:
    """The row of a number; where its name stands behind it, that must still be its name."""
    digits, apart, name = typed.partition(" · ")
    pk = whole_number(digits)
    row = rows.filter(pk=pk).first() if pk is not None and pk <= MAX_PIECES else None
    return row if row is not None and (not apart or name.strip() in _names(row)) else None


def _names(row: Model) -> set[str]:
    """How lists to pick from call it: a place by its path, a job also with its priority."""
    name = getattr(row, "name", "")
    if isinstance(row, Place):
        return {name, paths()[row.pk]}
    return {name, str(row), f"{name}, now {getattr(row, 'priority', '')}"}


class PickedField(forms.ModelChoiceField):  # type: ignore[type-arg]
    """Takes the number alone, and the number with the name behind it that a box with completion sends."""

    def __init__(self, *args: Any, of: str, **named: Any) -> None:
        super().__init__(*args, required=False, **named)
        self.error_messages["invalid_choice"] = NOT_FOUND.format(of=of)

    def to_python(self, value: Any) -> Any:
        if not isinstance(value, str) or value in self.empty_values:
            return super().to_python(value)
        row = _meant(value, self.queryset)  # type: ignore[arg-type]
        if row is None:
            raise forms.ValidationError(self.error_messages["invalid_choice"], code="invalid_choice")
        return row


def boards_to_pick(boards: Iterable[Board]) -> list[tuple[int, str]]:
    """Their numbers and names, as one counts: Hall 2 before Hall 10."""
    return sorted(((board.pk, board.name) for board in boards), key=lambda pair: walking(pair[1]))


def designs_to_pick() -> list[tuple[int, str]]:
    every = ((design.pk, str(design)) for design in Design.objects.all())
    return sorted(every, key=lambda pair: walking(pair[1]))
