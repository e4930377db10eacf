"""What may be asked with a question: said once, read alike from an address, an export and a command."""

from argparse import ArgumentParser
from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass
from typing import Any, Generic, TypeVar

from drf_spectacular.utils import OpenApiParameter
from rest_framework.request import Request

from inventory.api.lists import bad_query
from inventory.refusals import Code
from inventory.sheets import BadOption, Option, SheetOut
from inventory.whole_numbers import whole_numbers
from repairs.models import Job


class Unreadable(ValueError):
    """What a parameter says means nothing; `code` is for programs.

    `name` is that of the parameter, where it is seen to mean nothing only once the question is asked.
    """

    def __init__(self, detail: str, code: Code = Code.UNREADABLE, name: str = "") -> None:
        self.detail, self.code, self.name = detail, code, name
        super().__init__(detail)


@dataclass(frozen=True)
class Parameter:
    """`read` makes of the texts that were given what the question takes, by the name `takes`.

    `schema` is that of one text.  Unreadable where they mean nothing.
    """

    name: str
    about: str
    read: Callable[[Sequence[str]], Any]
    schema: Mapping[str, Any] | type = str
    pattern: str = ""
    many: bool = False
    needed: bool = False
    takes: str = ""
    offers: Callable[[], Iterable[tuple[str, str]]] = tuple

    @property
    def described(self) -> OpenApiParameter:
        """As the document says it."""
        schema = self.schema if isinstance(self.schema, type) else dict(self.schema)
        return OpenApiParameter(
            self.name, schema, required=self.needed, many=self.many, description=self.about,
            pattern=self.pattern or None,
        )  # fmt: skip

    @property
    def option(self) -> Option:
        """As an export takes it."""
        return Option(self.about, needed=self.needed, many=self.many, offers=self.offers)


AnswerT = TypeVar("AnswerT")


@dataclass(frozen=True)
class PlanQuestion(Generic[AnswerT]):
    """A question with what may be asked with it, and how its answer is laid out in sheets."""

    parameters: tuple[Parameter, ...]
    ask: Callable[..., AnswerT]
    sheets: Callable[[AnswerT], Sequence[SheetOut]] = lambda _: ()

    @property
    def described(self) -> tuple[OpenApiParameter, ...]:
        return tuple(each.described for each in self.parameters)

    def of_request(self, request: Request) -> AnswerT:
        """The answer to what an address asks.  BadQuery where that cannot be read."""
        try:
            return self._asked(request.query_params.getlist)
        except Unreadable as refused:
            raise bad_query(refused.name, refused.detail, refused.code) from None

    def of_options(self, options: Mapping[str, Sequence[str]]) -> Sequence[SheetOut]:
        """The sheets of what an export is asked.  BadOption where that cannot be read."""
        try:
            return self.sheets(self._asked(lambda name: list(options.get(name, ()))))
        except Unreadable as refused:
            raise BadOption(refused.name, refused.detail) from None

    def _asked(self, texts_of: Callable[[str], list[str]]) -> AnswerT:
        asked = {}
        for each in self.parameters:
            try:
                asked[each.takes or each.name] = each.read(texts_of(each.name))
            except Unreadable as refused:
                raise Unreadable(refused.detail, refused.code, each.name) from None
        return self.ask(**asked)


def jobs_in(texts: Sequence[str]) -> list[int] | None:
    """The jobs of these numbers; None where none is named.  Unreadable where there is no such job."""
    if not texts:
        return None
    numbers = set(whole_numbers(texts))
    if len(numbers) < len(set(texts)):
        raise Unreadable("expected the number of a job")
    known = set(Job.objects.filter(pk__in=numbers).values_list("id", flat=True))
    if unknown := sorted(numbers - known):
        raise Unreadable(f"there is no job {', '.join(map(str, unknown))}", Code.INVALID_CHOICE)
    return sorted(numbers)


def truth(texts: Sequence[str]) -> bool:
    """`true` or `false`; left out it is false."""
    if list(texts) not in ([], ["true"], ["false"]):
        raise Unreadable("expected true or false")
    return list(texts) == ["true"]


JOBS = Parameter("job", "Only what these jobs lack. May be repeated.", jobs_in, int, many=True, takes="jobs")
BORROW = Parameter("borrow", "Also draw on working boards.", truth, bool)
ASK = Parameter("ask", "Also draw on pieces that a person must decide on.", truth, bool)


def add_arguments(parser: ArgumentParser, *parameters: Parameter) -> None:
    """The parameters as arguments of a command; jobs are named there by name or number."""
    for each in parameters:
        about = each.about.removesuffix(".")
        about = about[0].lower() + about[1:]
        if each.schema is bool:
            parser.add_argument(f"--{each.name}", action="store_true", help=about)
        elif each.many:
            parser.add_argument(
                f"--{each.name}", action="append", default=[], metavar=each.name.upper(), help=about
            )
        else:
            parser.add_argument(f"--{each.name}", metavar=each.name.upper(), help=about)
