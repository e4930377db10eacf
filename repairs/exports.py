"""The repairs' spreadsheets among those of `inventory.sheets`: the answers out, and the buy list in."""

from collections.abc import Callable, Iterator, Mapping, Sequence
from functools import cache, cached_property
from typing import TYPE_CHECKING, Any

from django.utils.module_loading import import_string

from inventory.sheets import EXPORTS, IMPORTS, Export, Import, Option, SheetOut, main_table
from inventory.sheets.exports import Options
from repairs.buy_table import ASK_FRIENDS, BUY, OPEN_QUESTIONS, SETS

if TYPE_CHECKING:
    from repairs.answers.parameters import PlanQuestion

_ANSWERS = {
    "shortages": (
        "repairs.answers.shortages.question.SHORTAGES",
        "What open jobs still lack, what the plan takes from where, and what just does not do.",
        "What open jobs still lack",
    ),
    "buy": (
        "repairs.answers.buy.question.BUY_LIST",
        "What is left to buy and what is on order; goes back in as `buy`, its lines marked.",
        "What to buy",
    ),
    "harvest": (
        "repairs.answers.harvest.question.HARVEST",
        "What to lift off which donor, in lifting order.",
        "What to lift",
    ),
    "transfer": (
        "repairs.answers.transfer.question.TRANSFER",
        "What of a donor goes where on the board of a job.",
        "From a donor to the board of a job",
    ),
}


def offer() -> None:
    """Put the repairs' spreadsheets among those that there are."""
    for name, (question, about, title) in _ANSWERS.items():
        EXPORTS[name] = _export(question, about, title)
    IMPORTS["buy"] = Import((BUY,), main_table(_buy_in), "Buy", (SETS, OPEN_QUESTIONS, ASK_FRIENDS))


def _export(path: str, about: str, title: str) -> Export:
    """Questions are loaded when they are asked: with the solver and the API, which few commands need."""

    @cache
    def question() -> "PlanQuestion[Any]":
        found: PlanQuestion[Any] = import_string(path)
        return found

    def sheets(options: Options) -> Sequence[SheetOut]:
        return question().of_options(options)

    return Export(sheets, about, _Options(question), title=title)


class _Options(Mapping[str, Option]):
    """What may be asked with a question."""

    def __init__(self, question: "Callable[[], PlanQuestion[Any]]") -> None:
        self._question = question

    @cached_property
    def _options(self) -> dict[str, Option]:
        return {each.name: each.option for each in self._question().parameters}

    def __getitem__(self, name: str) -> Option:
        return self._options[name]

    def __iter__(self) -> Iterator[str]:
        return iter(self._options)

    def __len__(self) -> int:
        return len(self._options)


def _buy_in(*args: Any, **how: Any) -> None:
    from repairs.buy_import import import_rows  # with the solver, which few commands need

    import_rows(*args, **how)
