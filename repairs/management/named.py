"""What a command is told by name or number: a row, jobs, a need, a purchase, a person; options as the API
reads them."""

from collections.abc import Sequence
from typing import Any, TypeVar

from django.contrib.auth.models import User
from django.core.management.base import CommandError
from django.db.models import Model, QuerySet

from inventory.whole_numbers import whole_number, whole_numbers
from repairs.answers.parameters import Parameter, Unreadable
from repairs.models import Job, Need, Purchase

Row = TypeVar("Row", bound=Model)


def row_named(rows: QuerySet[Row], named: str, what: str, by: str = "name") -> Row:
    """The row of that name (column `by`), or else of that number; CommandError tells which there are."""
    found = rows.filter(**{by: named}).first()
    if found is None and (number := whole_number(named)) is not None:
        found = rows.filter(pk=number).first()
    if found is None:
        known = ", ".join(rows.order_by(by).values_list(by, flat=True)[:20])
        raise CommandError(f"no {what} is named {named}; {what}s: {known or 'none'}")
    return found


def option_read(parameter: Parameter, text: str | None) -> Any:
    """What the option of that name says; CommandError where it means nothing."""
    try:
        return parameter.read([text] if text else [])
    except Unreadable as wrong:
        raise CommandError(f"--{parameter.name} {text}: {wrong.detail}") from None


def jobs_named(named: Sequence[str] | None) -> list[int] | None:
    """The numbers of jobs by name or number, None where none is named; CommandError tells the open ones."""
    if not named:
        return None
    numbers = dict(Job.objects.filter(name__in=named).values_list("name", "id"))
    by_number = set(whole_numbers(each for each in named if each not in numbers))
    there = set(Job.objects.filter(pk__in=by_number).values_list("id", flat=True))
    unknown = [each for each in named if each not in numbers and whole_number(each) not in there]
    if unknown:
        known = ", ".join(Job.objects.filter(status=Job.Status.OPEN).values_list("name", flat=True))
        raise CommandError(f"no job named {', '.join(unknown)}; open jobs: {known or 'none'}")
    return sorted({*numbers.values(), *there})


def need_named(words: Sequence[str]) -> Need:
    """The need of that number, or of a job and a reference; CommandError tells which the job has."""
    needs = Need.objects.select_related("job", "spec")
    match words:
        case [word]:
            number = whole_number(word)
            found = needs.filter(pk=number).first() if number is not None else None
            if found is None:
                raise CommandError(f"no need has the number {word}: expected that, or a job and a reference")
            return found
        case [name, ref]:
            job = row_named(Job.objects.all(), name, "job")
            found = needs.filter(job=job, ref=ref.upper()).first() or needs.filter(job=job, ref=ref).first()
            if found is None:
                known = ", ".join(job.needs.exclude(ref="").order_by("id").values_list("ref", flat=True)[:20])
                raise CommandError(f"{job} needs nothing at {ref}; it does at {known or 'no position'}")
            return found
    raise CommandError("expected the number of a need, or a job and a reference")


def purchase_numbered(text: str) -> Purchase:
    """The purchase of that number; CommandError tells what is on order."""
    number, purchases = whole_number(text), Purchase.objects.select_related("part__spec")
    found = purchases.filter(pk=number).first() if number else None
    if found is None:
        known = purchases.filter(state=Purchase.State.ORDERED).order_by("id")[:20]
        listed = "; ".join(f"{each.pk}: {each}" for each in known)
        raise CommandError(f"no purchase has the number {text}; on order: {listed or 'none'}")
    return found


def person_named(name: str | None) -> User | None:
    """The person of that name, None where none is named; CommandError tells which there are."""
    person = User.objects.filter(username=name).first() if name is not None else None
    if name is not None and person is None:
        known = ", ".join(User.objects.order_by("username").values_list("username", flat=True)[:20])
        raise CommandError(f"nobody is called {name}; people: {known or 'none'}")
    return person
