"""The other way round: which open needs a lot would serve."""

from dataclasses import dataclass
from datetime import date

from django.db.models import F

from inventory.models import Lot
from inventory.spec import GRADES, Fit, fits
from repairs.models import Job, Need
from repairs.planning.refusals import SUSPECT, is_doubtful, lowered


@dataclass(frozen=True)
class Wanted:
    need: Need
    fit: Fit


def wanted(lot: Lot) -> list[Wanted]:
    """Needs of open jobs that still lack pieces and that this lot would serve.

    Best grade first, then closest rating, then the job's place in line.  A faulty lot serves none.
    """
    if lot.condition == Lot.Condition.FAULTY:
        return []
    needs = (
        Need.objects.filter(
            status=Need.Status.OPEN,
            job__status=Job.Status.OPEN,
            spec__kind=lot.part.spec.kind,
            quantity__gt=F("promised") + F("fitted"),
        )
        .select_related("spec", "job")
        .annotate(lacking=F("quantity") - F("promised") - F("fitted"))
        .order_by("id")
    )
    fit_of: dict[int, Fit] = {}
    found = []
    for need in needs:
        fit = fit_of.get(need.spec_id)
        if fit is None:
            fit = fit_of[need.spec_id] = _judge(need, lot)
        if fit.grade != "no":
            found.append(Wanted(need, fit))
    return sorted(found, key=_best_first)


def _judge(need: Need, lot: Lot) -> Fit:
    fit = fits(need.spec.spec, lot.part.spec.spec, measured=lot.measured)
    return lowered(fit, SUSPECT if is_doubtful(lot) else None)


def _best_first(found: Wanted) -> tuple[int, int, int, date, int, int]:
    job = found.need.job
    return (
        GRADES.index(found.fit.grade),
        found.fit.closeness,
        job.priority,
        job.due or date.max,
        job.pk,
        found.need.pk,
    )
