"""The other way round: which open needs a lot would serve."""

from dataclasses import dataclass
from datetime import date

from django.db.models import F

from inventory.ledger import borrowed_lots
from inventory.models import Lot
from inventory.spec import GRADES, Fit, SubstitutionRecord, fits
from repairs.models import Job, Need
from repairs.planning.refusals import ANOTHERS, SUSPECT, is_doubtful, lowered
from repairs.substitutions import recorded, spot_of


@dataclass(frozen=True)
class Wanted:
    need: Need
    fit: Fit


def wanted(lot: Lot) -> list[Wanted]:
    """Needs of open jobs that still lack pieces and that this lot would serve.

    Best grade first, then closest rating, then the job's place in line.  A faulty lot serves none, and a
    borrowed one is owed back.
    """
    if lot.condition == Lot.Condition.FAULTY or borrowed_lots().filter(lot=lot).exists():
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
    board = lot.origin_board
    origin = (board.design_id, lot.origin_ref) if board is not None and board.design_id else ()
    fit_of: dict[tuple[int, SubstitutionRecord | None, bool, bool], Fit] = {}
    found = []
    for need in needs:
        at = spot_of(need.job, need.ref)
        record = known.find(need.spec.spec, offered, at) if known else None
        here = bool(at) and at == origin
        anothers = lot.owner_id not in (None, need.job.owner_id)
        fit = fit_of.get((need.spec_id, record, here, anothers))
        if fit is None:
            fit = fits(
                need.spec.spec, offered, measured=lot.measured, measured_tolerance=lot.measured_tolerance,
                recorded=record, same_position=here,
            )  # fmt: skip
            fit = lowered(lowered(fit, doubt), ANOTHERS if anothers else None)
            fit_of[need.spec_id, record, here, anothers] = fit
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
