"""What whoever reads a marking is told beside it: the values that open needs want, which of them a part would
serve, and what other workshops found such a marking to mean."""

from collections.abc import Collection, Mapping, Sequence
from datetime import date
from typing import Any

from django.db.models import F, QuerySet, Window
from django.db.models.functions import RowNumber

from inventory.markings import DEMAND_SOURCES, FOUND_ELSEWHERE, ReadElsewhere, ServedNeed, Value
from inventory.spec import GRADES, Fit, Spec, fits
from repairs.models import Job, Need
from repairs.sharing_models import EvidenceReading

MAX_ELSEWHERE = 20
"""So many readings of one marking by others are shown."""


def lacking() -> QuerySet[Need]:
    """Needs of open jobs that still lack pieces."""
    return Need.objects.filter(
        status=Need.Status.OPEN, job__status=Job.Status.OPEN, quantity__gt=F("promised") + F("fitted")
    )


class OpenNeeds:
    """What open needs of one kind, or of all (""), still lack."""

    def __init__(self, kind: str) -> None:
        rows = lacking().filter(spec__kind=kind) if kind else lacking()
        self._rows = list(rows.order_by().values_list("spec", "spec__kind", "spec__value").distinct())

    @property
    def values(self) -> Collection[Value]:
        return {(kind, value) for _, kind, value in self._rows if value is not None}

    def served(self, offers: Sequence[Spec], most: int) -> list[list[ServedNeed]]:
        """For each part the needs it would serve: best grade, closest rating, then the jobs' own order.

        What was recorded of one place only is told at the need, not here.
        """
        from repairs.planning.candidates import Market, Offer  # with the solver, which few commands need
        from repairs.substitutions import recorded
        from repairs.supply_and_demand import read_specs

        kinds = {offer.kind for offer in offers}
        required = read_specs({row for row, kind, _ in self._rows if kind in kinds})
        market = Market([Offer(offer, None) for offer in offers], fits, recorded())
        fitting: list[list[tuple[Fit, int]]] = [[] for _ in offers]
        for row, requirement in required.items():
            for fit, places in market.offers(requirement):
                if fit.grade != "no":
                    for place in places:
                        fitting[place].append((fit, row))
        first = _first_of_each({row for each in fitting for _, row in each}, most)
        return [
            [_served_need(need, required[need.spec_id], fit) for fit, need in _best(each, first)[:most]]
            for each in fitting
        ]


def _best(fitting: Sequence[tuple[Fit, int]], first: Mapping[int, Sequence[Need]]) -> list[tuple[Fit, Need]]:
    pairs = [(fit, need) for fit, row in fitting for need in first.get(row, ())]
    return sorted(pairs, key=_rank)


def _rank(pair: tuple[Fit, Need]) -> tuple[int, int, int, date, int]:
    fit, need = pair
    return GRADES.index(fit.grade), fit.closeness, need.job.priority, need.job.due or date.max, need.pk


def _first_of_each(rows: Collection[int], most: int) -> dict[int, list[Need]]:
    """For each of these requirements the needs that come first, at most so many."""
    order: list[Any] = [F("job__priority"), F("job__due").asc(nulls_last=True), F("id")]
    ranked = lacking().annotate(rank=Window(RowNumber(), partition_by=F("spec"), order_by=order))
    first: dict[int, list[Need]] = {}
    for need in ranked.filter(spec__in=rows, rank__lte=most).select_related("job").order_by("rank"):
        first.setdefault(need.spec_id, []).append(need)
    return first


def _served_need(need: Need, requirement: Spec, fit: Fit) -> ServedNeed:
    return ServedNeed(
        need.pk, need.job_id, need.job.name, need.job.priority, need.ref, requirement.text,
        need.quantity - need.promised - need.fitted, fit.grade,
    )  # fmt: skip


def read_elsewhere(markings: Sequence[str]) -> dict[str, list[ReadElsewhere]]:
    """What others found these markings to mean, by the marking as it is compared; in one query."""
    rows = EvidenceReading.objects.filter(taken__put_away=False, plain__in={*markings})
    found: dict[str, list[ReadElsewhere]] = {}
    for row in rows.select_related("taken", "spec").order_by("-taken__made", "id"):
        of_it = found.setdefault(row.plain, [])
        if len(of_it) < MAX_ELSEWHERE:
            of_it.append(ReadElsewhere(row.marking, row.spec.spec, row.measured, row.whose))
    return found


def offer() -> None:
    """Let readings of markings say what open needs want, and what other workshops found."""
    DEMAND_SOURCES.append(OpenNeeds)
    FOUND_ELSEWHERE.append(read_elsewhere)
