"""A job's bench log in one time line, what was seen before on its design, and how a job is closed."""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from datetime import datetime
from typing import Any

from django.db import transaction
from django.db.models import F, Q, QuerySet
from django.utils import timezone

from inventory import photos
from inventory.ledger import By, Refused
from inventory.models import Design, Movement, Photo
from repairs import jobs
from repairs.models import Job, Trial
from repairs.proving_models import BenchEntry, Confirmation, Exemption, LinkSetting, RailReading, said_of

MOST_LINES = 2000


@dataclass(frozen=True)
class Line:
    """One thing that happened: when, of what sort, in words, by whom, and the row that says more."""

    at: datetime
    kind: str
    text: str
    by: str
    row: int
    note: str = ""
    photos: tuple[Photo, ...] = ()


def time_line(job: Job) -> list[Line]:
    """Everything of a job, oldest first: what was noted, moved, tried, set, seen, measured and accepted.

    What happened on its board counts from the day that the job was opened to the day that it was closed.
    """
    lines = [*_entries(job), *_movements(job), *_trials(job), *_facts(job), *_pictures(job), *_ends(job)]
    ordered = sorted(lines, key=lambda line: (line.at, line.kind, line.row))[:MOST_LINES]
    return list(_with_pictures(ordered))


_SHOWN = {
    "note": "log_entry", "task": "log_entry", "trial": "trial", "confirmation": "confirmation",
}  # fmt: skip
"""Kinds of lines that may have pictures, and what these say that they show."""


def _with_pictures(lines: Sequence[Line]) -> Iterator[Line]:
    shown = {
        subject: photos.shown(subject, [line.row for line in lines if _SHOWN.get(line.kind) == subject])
        for subject in set(_SHOWN.values())
    }
    for line in lines:
        found = shown[_SHOWN[line.kind]].get(line.row, ()) if line.kind in _SHOWN else ()
        yield replace(line, photos=tuple(found)) if found else line


def _pictures(job: Job) -> Iterator[Line]:
    """Pictures of the job itself, and of its board while it was open."""
    of = Q(subject="job", subject_id=job.pk)
    if job.board is not None:
        of |= Q(subject="board", subject_id=job.board.pk) & within(job)
    for photo in Photo.objects.filter(of).select_related("by").order_by("-id")[:MOST_LINES]:
        what = job.name if photo.subject == "job" else f"{job.board} {photo.ref}".rstrip()
        yield Line(photo.at, "picture", f"of {what}", said_of(photo.by), photo.pk, photo.note, (photo,))


def within(job: Job) -> Q:
    """From the day that a job was opened to the day that it was closed."""
    last = job.closed or timezone.now()
    return Q(at__gte=job.opened, at__lte=last)


def _entries(job: Job) -> Iterator[Line]:
    for row in job.entries.select_related("by", "done_by"):
        yield Line(row.at, row.kind, row.text, said_of(row.by), row.pk, row.note)
        if row.done is not None:
            yield Line(row.done, "done", row.text, said_of(row.done_by), row.pk)


def _movements(job: Job) -> Iterator[Line]:
    rows = (
        Movement.objects.filter(movements_of(job))
        .select_related("lot__part__spec", "from_place", "to_place", "by")
        .distinct()
        .order_by("-id")[:MOST_LINES]
    )
    for row in rows:
        source = f"{row.from_place} {row.from_ref}".rstrip()
        target = f"{row.to_place} {row.to_ref}".rstrip()
        what = f"{row.quantity} x {row.lot.part.spec.text}" if row.quantity != 1 else row.lot.part.spec.text
        yield Line(row.at, row.kind, f"{what}: {source} to {target}", said_of(row.by), row.pk, row.note)


def movements_of(job: Job) -> Q:
    """Movements for a job: fitted or borrowed for it, and whatever moved on its board meanwhile."""
    found = Q(reservations__need__job=job) | Q(loan__job=job)
    if job.board is not None:
        on_board = Q(from_place=job.board.place_id) | Q(to_place=job.board.place_id)
        found |= on_board & within(job)
    return found


def _trials(job: Job) -> Iterator[Line]:
    for row in trials_of(job):
        of = f"{row.lot}" if row.lot is not None else f"{row.board} {row.ref}".rstrip()
        told = f"{of}: {row.method}, {row.reading or 'no reading'}: {row.verdict}"
        yield Line(row.at, "trial", told, said_of(row.by), row.pk, row.note)


def trials_of(job: Job) -> QuerySet[Trial]:
    """Trials of its board while it was open, and of the pieces that were promised or fitted for it."""
    found = Q(lot__holdings__reservations__need__job=job)
    if job.board is not None:
        found |= (Q(board=job.board) | Q(record__board=job.board)) & within(job)
    rows = Trial.objects.filter(found).select_related("lot__part__spec", "board", "by", "record")
    return rows.distinct().order_by("id")[:MOST_LINES]


_FACTS: Sequence[tuple[str, type[Any]]] = (
    ("link", LinkSetting), ("confirmation", Confirmation), ("rail", RailReading), ("exception", Exemption),
)  # fmt: skip


def _facts(job: Job) -> Iterator[Line]:
    if job.board is None:
        return
    for kind, model in _FACTS:
        for row in model.objects.filter(within(job), board=job.board).select_related("by")[:MOST_LINES]:
            told = f"{row} (taken back since)" if row.withdrawn else str(row)
            yield Line(row.at, kind, told, said_of(row.by), row.pk, row.note)


def _ends(job: Job) -> Iterator[Line]:
    yield Line(job.opened, "opened", job.symptom or "no symptom given", "", job.pk)
    if job.closed is not None:
        yield Line(job.closed, job.status, job.cause or "no cause given", "", job.pk)


# --- tasks


@transaction.atomic
def tick(entry: BenchEntry, *, by: By, done: bool) -> None:
    """A task is done, or is to be done again."""
    if entry.kind != BenchEntry.Kind.TASK:
        raise Refused("not_a_task", "a note is not done: only a task is")
    BenchEntry.objects.filter(pk=entry.pk).update(
        done=timezone.now() if done else None, done_by=by if done else None, version=F("version") + 1
    )


@transaction.atomic
def strike(entry: BenchEntry) -> None:
    """Delete a line that was written by mistake; its pictures are kept."""
    for photo in photos.of("log_entry", entry.pk):
        photos.let_go(photo)
    entry.delete()


# --- closing


@transaction.atomic
def close(job: Job, *, by: By, symptom: str = "", cause: str = "", note: str = "") -> Job:
    """Finish a job: symptom and cause are written down, so that it is found when it is seen again.

    Refused: a job closed before, and whatever `jobs.set_status` refuses.
    """
    job = Job.objects.select_for_update(of=("self",)).get(pk=job.pk)
    if job.status in jobs.CLOSED:
        raise Refused("job_closed", f"{job.name} is {job.status} already")
    said = {"symptom": symptom, "cause": cause, "note": note}
    told = {name: text for name, text in said.items() if text}
    if told:
        Job.objects.filter(pk=job.pk).update(**told, version=F("version") + 1)
    return jobs.set_status(job, Job.Status.DONE)


# --- seen before


def seen_before(design: Design, words: str = "") -> QuerySet[Job]:
    """Closed jobs with a cause on boards of this design, whatever the revision; newest first.

    With words: those in whose symptom, cause, note or log each of them stands.
    """
    found = (
        Job.objects.filter(board__design__name=design.name, status__in=jobs.CLOSED)
        .exclude(cause="")
        .select_related("board__design")
    )
    for word in words.split()[:10]:
        said = Q(symptom__icontains=word) | Q(cause__icontains=word) | Q(note__icontains=word)
        found = found.filter(said | Q(entries__text__icontains=word) | Q(name__icontains=word))
    return found.distinct().order_by("-closed", "-id")
