"""What is picked of a list in a form: a few unfold, of many one is found by a few letters (`{% pick %}`)."""

from collections.abc import Iterable
from typing import Any

from django import forms

from inventory.models import Board, Design
from inventory.places import walking


class PickedField(forms.ModelChoiceField):  # type: ignore[type-arg]
    """Takes the number alone, and the number with the name behind it that a box with completion sends."""

    def __init__(self, *args: Any, of: str, **named: Any) -> None:
        super().__init__(*args, required=False, **named)
        self.error_messages["invalid_choice"] = f"Not found. Type a few letters and pick one of the {of}."

    def to_python(self, value: Any) -> Any:
        return super().to_python(value.partition(" · ")[0] if isinstance(value, str) else value)


def boards_to_pick(boards: Iterable[Board]) -> list[tuple[int, str]]:
    """Their numbers and names, as one counts: Hall 2 before Hall 10."""
    return sorted(((board.pk, board.name) for board in boards), key=lambda pair: walking(pair[1]))


def designs_to_pick() -> list[tuple[int, str]]:
    every = ((design.pk, str(design)) for design in Design.objects.all())
    return sorted(every, key=lambda pair: walking(pair[1]))
