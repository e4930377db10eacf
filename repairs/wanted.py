"""The other way round: which open needs a lot would serve."""

from dataclasses import dataclass
from datetime import date

from django.db.models import F

from inventory.models import Lot
from inventory.spec import GRADES, Fit, Substitution, fits
from repairs.models import Job, Need
from repairs.planning.refusals import SUSPECT, is_doubtful, lowered
from repairs.substitutions import recorded, spot_of


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
        .select_related("spec", "job__board")
        .annotate(lacking=F("quantity") - F("promised") - F("fitted"))
        .order_by("id")
    )
    known, offered = recorded(), lot.part.spec.spec
    doubt = SUSPECT if is_doubtful(lot) else None
    fit_of: dict[tuple[int, Substitution | None], Fit] = {}
    found = []
    for need in needs:
        said = known.find(need.spec.spec, offered, spot_of(need.job, need.ref)) if known else None
        fit = fit_of.get((need.spec_id, said))
        if fit is None:
            fit = lowered(fits(need.spec.spec, offered, measured=lot.measured, recorded=said), doubt)
            fit_of[need.spec_id, said] = fit
        if fit.grade != "no":
            found.append(Wanted(need, fit))
    return sorted(found, key=_best_first)


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
