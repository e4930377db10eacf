"""Recorded substitutions: loaded for whoever judges, and written down, by hand or from a trial."""

import re
from collections.abc import Mapping
from decimal import Decimal
from typing import Any

from django.db import transaction
from django.db.models import Q, QuerySet

from inventory.ledger import Actor, Refused
from inventory.models import Design, Lot, StoredSpec
from inventory.refusals import Code
from inventory.spec import Fit, Recorded, Spec, fits, is_safety_part
from inventory.spec import SubstitutionRecord as Said
from inventory.spec.recorded import LEGS_CROSSED, REFUTED, SEEN_WORKING, SOAK_TEST, TRIED, Spot
from repairs.models import Job, Need, Trial
from repairs.proving_models import Substitution, TrialRecord, name_of
from repairs.sharing_models import EvidenceSubstitution


def recorded(design: Design | None = None) -> Recorded:
    """All of them, or those that may hold on a design, others' beside one's own; at most three queries."""
    own, theirs = Substitution.objects.all(), _theirs()
    if design is not None:
        own = own.filter(Q(design=None) | Q(design=design))
        on_it = Q(design_name=design.name, design_revision=design.revision)
        theirs = theirs.filter(Q(design_name="") | on_it)
    return _read(own, theirs)


def _theirs() -> QuerySet[EvidenceSubstitution]:
    return EvidenceSubstitution.objects.filter(taken__put_away=False)


def _read(own: QuerySet[Substitution], theirs: QuerySet[EvidenceSubstitution]) -> Recorded:
    records = [record_of(row) for row in own.select_related("required", "offered", "by").order_by("id")]
    found = list(theirs.select_related("required", "offered", "taken").order_by("id"))
    named = {row.design_name for row in found if row.design_name}
    designs: Mapping[tuple[str, str], int] = {}
    if named:
        rows = Design.objects.filter(name__in=named).values_list("name", "revision", "id")
        designs = {(name, revision): pk for name, revision, pk in rows}
    for row in found:
        place = designs.get((row.design_name, row.design_revision)) if row.design_name else None
        if place is not None or not row.design_name:  # else no such design has come yet
            records.append(_record_of_others(row, place))
    return Recorded(records)


def _record_of_others(row: EvidenceSubstitution, design: int | None) -> Said:
    return Said(
        row.pk, row.required.spec, row.offered.spec, design, row.ref, row.evidence, row.way, row.pin_map,
        row.note, source=row.whose,
    )  # fmt: skip


def record_of(row: Substitution) -> Said:
    """The row as the judge takes it."""
    return Said(
        row.pk, row.required.spec, row.offered.spec, row.design_id, row.ref, row.evidence, row.way,
        row.pin_map, row.note, name_of(row.by) if row.by else "",
    )  # fmt: skip


def spot_of(job: Job, ref: str) -> Spot:
    """Where a piece for a job goes."""
    design = job.board.design_id if job.board is not None else None
    return () if design is None else (design, ref)


def judge(need: Need, lot: Lot, known: Recorded | None = None) -> Fit:
    """Whether this lot serves this need, with what was recorded of the pair."""
    return judge_at(need.spec.spec, lot, spot_of(need.job, need.ref), known)


def judge_at(required: Spec, lot: Lot, spot: Spot, known: Recorded | None = None) -> Fit:
    """The same for a place by itself."""
    return judge_spec(required, lot.part.spec.spec, (lot.measured, lot.measured_tolerance), spot, known)


Reading = tuple[int | None, Decimal | None]
"""What a piece reads, and what the meter may be off in per cent; None where that is not known."""


def judge_spec(
    required: Spec, offered: Spec, reading: Reading, spot: Spot, known: Recorded | None = None
) -> Fit:
    """The same where only what the piece is, and its reading, is at hand."""
    measured, percent = reading
    found = (_of_kind(required.kind) if known is None else known).find(required, offered, spot)
    return fits(required, offered, measured=measured, measured_tolerance=percent, recorded=found)


def _of_kind(kind: str) -> Recorded:
    """Those that may hold for a requirement of this kind."""
    return _read(Substitution.objects.filter(required__kind=kind), _theirs().filter(required__kind=kind))


# --- writing one down

_PAIR = re.compile(r"\s*([A-Za-z0-9+-]{1,8})\s*=\s*([A-Za-z0-9+-]{1,8})\s*")
MAX_LEGS = 16


def read_pin_map(text: str) -> str:
    """`E=C, B=B, C=E`: which leg of the offered part goes where.  ValueError says what is wanted.

    >>> read_pin_map("1=3,2 = 2; 3=1")
    '1=3, 2=2, 3=1'
    """
    if not text.strip():
        return ""
    pairs = [_PAIR.fullmatch(each) for each in re.split(r"[,;]", text)]
    legs = [(pair[1].upper(), pair[2].upper()) for pair in pairs if pair]
    if None in pairs or len(legs) > MAX_LEGS:
        raise ValueError("expected a pair for each leg, such as E=C, B=B, C=E")
    for which in (0, 1):
        named = [leg[which] for leg in legs]
        if len(set(named)) < len(named):
            raise ValueError("expected each leg once on either side")
    return ", ".join(f"{ours}={theirs}" for ours, theirs in legs)


def of_trial(trial: Trial, ref: str = "") -> dict[str, Any]:
    """What a trial in a board says of a substitution: the Specs, the place and the evidence.

    Refused: a trial that was in no position of a drawn board, or spoke of several positions.  A failure is
    no evidence by itself: a person says whether it refutes the substitution or only that piece.
    """
    kept: TrialRecord | None = getattr(trial, "record", None)
    board = kept.board if kept is not None else None
    if kept is None or board is None or board.design is None or not kept.tried:
        raise Refused(Code.NO_BOARD, f"trial {trial.pk} was in no position of a board with a drawing")
    if not ref and len(kept.tried) > 1:
        refs = sorted(kept.tried)
        raise Refused(Code.AMBIGUOUS, f"it spoke of {', '.join(refs)}: say which", refs=refs)
    ref = ref or next(iter(kept.tried))
    position = board.design.positions.select_related("spec").filter(ref=ref).first()
    if position is None or ref not in kept.tried:
        raise Refused(Code.UNKNOWN_POSITION, f"trial {trial.pk} spoke of {', '.join(sorted(kept.tried))}")
    lot = Lot.objects.select_related("part__spec").get(pk=kept.tried[ref])
    found: dict[str, Any] = {
        "required": position.spec.spec, "offered": lot.part.spec.spec, "design": board.design, "ref": ref,
    }  # fmt: skip
    if kept.outcome == TrialRecord.Outcome.PASS:
        found["evidence"] = SOAK_TEST if "soak" in trial.method.lower() else SEEN_WORKING
    return found


@transaction.atomic
def record(*, by: Actor, trial: Trial | None = None, **columns: Any) -> Substitution:
    """Write one down; from a trial what is left out is taken from it.

    Refused: known already, contradicted by its trial, of two kinds of part, or an ordinary part for a safety
    part.
    """
    if trial is not None:
        columns = of_trial(trial, columns.get("ref", "")) | columns
    missing = [name for name in ("required", "offered", "evidence") if name not in columns]
    if missing:
        raise Refused(Code.REQUIRED, f"say {', '.join(missing)}", missing=missing)
    refuse(columns, trial)
    required, offered = StoredSpec.keep(columns.pop("required")), StoredSpec.keep(columns.pop("offered"))
    design, ref = columns.get("design"), columns.get("ref", "")
    known = Substitution.objects.filter(required=required, offered=offered, design=design, ref=ref).first()
    if known is not None:
        raise Refused(
            Code.RECORDED_ALREADY, f"it is recorded already, as {known.evidence}: change that", known=known.pk
        )
    return Substitution.objects.create(required=required, offered=offered, trial=trial, by=by, **columns)


def refuse(fields: Mapping[str, Any], trial: Trial | None) -> None:
    """Refused where what is said cannot be so."""
    required, offered, design = fields["required"], fields["offered"], fields.get("design")
    evidence, ref = fields["evidence"], fields.get("ref", "")
    if required.kind != offered.kind:
        raise Refused(Code.DOES_NOT_FIT, f"a {offered.kind} is recorded for no {required.kind}")
    if ref and design is None:
        raise Refused(Code.NO_DESIGN, f"say the design that {ref} is on")
    if ref and design is not None and not design.positions.filter(ref=ref).exists():
        raise Refused(Code.UNKNOWN_POSITION, f"{design} has no position {ref}", refs=[ref])
    if fields.get("way") == LEGS_CROSSED and not fields.get("pin_map"):
        raise Refused(Code.REQUIRED, "crossed legs: say which goes where, such as E=C, B=B, C=E")
    if evidence != REFUTED and is_safety_part(required) and fits(required, offered).grade == "no":
        raise Refused(
            Code.SAFETY_PART, f"{offered} never serves for {required}: a safety part is replaced by its like"
        )
    outcome = getattr(getattr(trial, "record", None), "outcome", "")
    if evidence in TRIED and outcome == TrialRecord.Outcome.FAIL:
        raise Refused(
            Code.CONTRADICTION, f"the trial failed: it is not evidence of {evidence.replace('_', ' ')}"
        )
    if evidence == REFUTED and outcome == TrialRecord.Outcome.PASS:
        raise Refused(Code.CONTRADICTION, "the trial passed: it refutes nothing")
    if evidence == REFUTED and trial is not None and not _stands(trial):
        raise Refused(
            Code.UNSETTLED,
            "something on the board was open or in conflict then, or explains the failure since",
        )


def _stands(trial: Trial) -> bool:
    kept: TrialRecord | None = getattr(trial, "record", None)
    return kept is None or (kept.credible and not kept.acquitted)


@transaction.atomic
def change(row: Substitution, **columns: Any) -> dict[str, Any]:
    """The columns as they are to be written to a row that the caller has locked; Refused as in `record`."""
    now = {
        "required": row.required.spec, "offered": row.offered.spec, "design": row.design, "ref": row.ref,
        "evidence": row.evidence, "way": row.way, "pin_map": row.pin_map,
    }  # fmt: skip
    refuse(now | columns, columns.get("trial", row.trial))
    return columns
