"""What people would rather look at: pieces in and out, money spent and saved, and what each job is short of.

Figures by day, week or month, whichever shows the time since the first movement in at most `MAX_BARS` bars.
"""

from collections import Counter
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from datetime import date, timedelta
from decimal import Decimal

from django.db.models import F, Q, QuerySet, Sum
from django.db.models.functions import TruncDate
from django.utils import timezone

from inventory.models import Lot, Movement
from inventory.stock import KEPT_IN
from repairs.answers.shortages import shortages
from repairs.models import Purchase

MAX_BARS = 26
MAX_JOBS = 20


@dataclass(frozen=True)
class Period:
    """One bar: the day that it begins with, and both figures."""

    begins: date
    first: Decimal
    second: Decimal


@dataclass(frozen=True)
class Short:
    job: int
    name: str
    pieces: int


@dataclass(frozen=True)
class Plots:
    """`step` is day, week or month; of `moved` the figures are pieces in and out of the drawers, of `money`
    what received purchases cost and what fitted pieces that nobody bought would have cost.
    """

    step: str
    moved: tuple[Period, ...]
    money: tuple[Period, ...]
    unpriced: int
    short: tuple[Short, ...]


def plots() -> Plots:
    """All three, from four queries and the plan."""
    rows = Movement.objects.filter(reversed_by=None).exclude(kind=Movement.Kind.REVERSE).order_by()
    kept = Q(from_place__type__in=KEPT_IN)
    goes_in = Q(to_place__type__in=KEPT_IN)
    came = _by_day(rows.filter(goes_in).exclude(kept), Sum("quantity"))
    went = _by_day(rows.filter(kept).exclude(goes_in), Sum("quantity"))
    bought = Purchase.objects.filter(state=Purchase.State.RECEIVED).order_by()
    spent = _by_day(bought.exclude(price=None), Sum(F("price") * F("quantity")))
    fitted = rows.filter(kind=Movement.Kind.FIT).exclude(lot__origin_source=Lot.Source.BOUGHT)
    saved = _by_day(fitted.exclude(lot__part__price=None), Sum(F("lot__part__price") * F("quantity")))
    step = _step(min([*came, *went, *spent, *saved], default=timezone.localdate()))
    return Plots(
        step=step,
        moved=tuple(_spans(came, went, step)),
        money=tuple(_spans(spent, saved, step)),
        unpriced=fitted.filter(lot__part__price=None).aggregate(all=Sum("quantity"))["all"] or 0,
        short=tuple(_short_by_job()),
    )


def _by_day(rows: QuerySet[Movement] | QuerySet[Purchase], total: Sum) -> dict[date, Decimal]:
    by_day = rows.annotate(day=TruncDate("at")).values("day").annotate(total=total)
    return {row["day"]: Decimal(row["total"] or 0) for row in by_day}


def _step(since: date) -> str:
    days = (timezone.localdate() - since).days + 1
    return "day" if days <= MAX_BARS else "week" if days <= 7 * MAX_BARS else "month"


def _begin(day: date, step: str) -> date:
    if step == "month":
        return day.replace(day=1)
    return day - timedelta(days=day.weekday()) if step == "week" else day


def _spans(first: Mapping[date, Decimal], second: Mapping[date, Decimal], step: str) -> Iterable[Period]:
    """Every span up to today, those in which nothing happened too; of months the last `MAX_BARS`."""
    sums: dict[date, list[Decimal]] = {}
    for at, figures in enumerate((first, second)):
        for day, figure in figures.items():
            sums.setdefault(_begin(day, step), [Decimal(0), Decimal(0)])[at] += figure
    if not sums:
        return []
    begins, last, shown = min(sums), _begin(timezone.localdate(), step), []
    while begins <= last:
        shown.append(Period(begins, *sums.get(begins, [Decimal(0), Decimal(0)])))
        begins = _begin(begins + timedelta(days={"day": 1, "week": 7, "month": 31}[step]), step)
    return shown[-MAX_BARS:]


def _short_by_job() -> list[Short]:
    """The jobs that are short of most, with the pieces that neither drawers, donors nor orders give."""
    pieces: Counter[tuple[int, str]] = Counter()
    for row in shortages():
        for waiting in row.jobs:
            pieces[waiting.job, waiting.name] += waiting.short
    return [Short(job, name, count) for (job, name), count in pieces.most_common(MAX_JOBS) if count]
