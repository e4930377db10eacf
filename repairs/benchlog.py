"""A job's bench log in one time line, what was seen before on its design, and how a job is closed."""

from collections.abc import Callable, Iterable, Iterator, Sequence
from dataclasses import dataclass, replace
from datetime import datetime
from functools import partial
from typing import Any

from django.db import transaction
from django.db.models import F, Q, QuerySet
from django.utils import timezone

from inventory.ledger import Actor, Refused
from inventory.models import Design, Movement, Photo
from inventory.pictures import photos
from inventory.refusals import Code
from repairs import jobs
from repairs.models import Job, Trial
from repairs.proving_models import (
    AcceptedException,
    BenchEntry,
    Confirmation,
    LinkSetting,
    RailReading,
    name_of,
)
from repairs.sharing_models import DesignRecord

MAX_LINES = 2000


@dataclass(frozen=True)
class LogLine:
    """One thing that happened: when, of what sort, in words, by whom, and the row that says more."""

    at: datetime
    kind: str
    text: str
    by: str
    row: int
    note: str = ""
    photos: tuple[Photo, ...] = ()


def time_line(job: Job) -> list[LogLine]:
    """Everything of a job, oldest first: what was noted, moved, tried, set, seen, measured and accepted.

    What happened on its board counts from the day that the job was opened to the day that it was closed.
    """
    lines = [*_entries(job), *_movements(job), *_trials(job), *_facts(job), *_pictures(job), *_ends(job)]
    ordered = sorted(lines, key=lambda line: (line.at, line.kind, line.row))[:MAX_LINES]
    return list(_with_pictures(ordered))


_SHOWN = {
    "note": "log_entry", "task": "log_entry", "trial": "trial", "confirmation": "confirmation",
}  # fmt: skip
"""Kinds of lines that may have pictures, and what these say that they show."""


def _with_pictures(lines: Sequence[LogLine]) -> Iterator[LogLine]:
    shown = {
        subject: photos.shown(subject, [line.row for line in lines if _SHOWN.get(line.kind) == subject])
        for subject in set(_SHOWN.values())
    }
    for line in lines:
        found = shown[_SHOWN[line.kind]].get(line.row, ()) if line.kind in _SHOWN else ()
        yield replace(line, photos=tuple(found)) if found else line


def _pictures(job: Job) -> Iterator[LogLine]:
    """Pictures of the job itself, and of its board while it was open."""
    of = Q(subject="job", subject_id=job.pk)
    if job.board is not None:
        of |= Q(subject="board", subject_id=job.board.pk) & within(job)
    for photo in Photo.objects.filter(of).select_related("by").order_by("-id")[:MAX_LINES]:
        what = job.name if photo.subject == "job" else f"{job.board} {photo.ref}".rstrip()
        yield LogLine(photo.at, "picture", f"of {what}", name_of(photo.by), photo.pk, photo.note, (photo,))


def within(job: Job) -> Q:
    """From the day that a job was opened to the day that it was closed."""
    last = job.closed or timezone.now()
    return Q(at__gte=job.opened, at__lte=last)


def _entries(job: Job) -> Iterator[LogLine]:
    for row in job.entries.select_related("by", "done_by"):
        yield LogLine(row.at, row.kind, row.text, name_of(row.by), row.pk, row.note)
        if row.done is not None:
            yield LogLine(row.done, "done", row.text, name_of(row.done_by), row.pk)


def lately(most: int) -> list[LogLine]:
    """The last things that were done on the bench, newest first: of all jobs, and of none."""
    return Lately()[:most]


class Lately:
    """Everything that was done on the bench, newest first; counted, and read a slice at a time."""

    def __len__(self) -> int:
        return sum(rows.count() for _time, rows, _lines in self._sources())

    def __getitem__(self, wanted: slice) -> list[LogLine]:
        sources = self._sources()
        keys = [
            (at, source, pk)
            for source, (time, rows, _lines) in enumerate(sources)
            for at, pk in rows.order_by(f"-{time}", "-id").values_list(time, "pk")[: wanted.stop]
        ]
        chosen = sorted(keys, reverse=True)[wanted]
        by_row: dict[tuple[int, int], LogLine] = {}
        for source, (_time, rows, lines) in enumerate(sources):
            found = [pk for _at, of, pk in chosen if of == source]
            for pk, line in zip(found, lines(rows, found), strict=True) if found else ():
                by_row[source, pk] = line
        return [by_row[source, pk] for _at, source, pk in chosen]

    @staticmethod
    def _sources() -> "list[tuple[str, QuerySet[Any], _Lines]]":
        """Of each table that says when something was done: that column, its rows, and how they are told."""
        return [
            ("opened", Job.objects.all(), _each_as(
                lambda row: LogLine(row.opened, "opened", row.name, "", row.pk))),
            ("closed", Job.objects.exclude(closed=None), _each_as(
                lambda row: LogLine(row.closed, row.status, row.name, "", row.pk, row.cause))),
            ("at", Movement.objects.all(), _one_by_one(_movement_lines)),
            ("at", Trial.objects.select_related("lot__part__spec", "board", "by"),
             _one_by_one(_trial_lines)),
            *(("at", model.objects.select_related("by", "board"), _each_as(partial(_board_fact, kind)))
              for kind, model in _FACTS),
            ("at", BenchEntry.objects.select_related("by", "job"), _each_as(
                lambda row: LogLine(row.at, row.kind, f"{row.job}: {row.text}", name_of(row.by), row.job_id,
                                    row.note))),
        ]  # fmt: skip


_Lines = Callable[["QuerySet[Any]", list[int]], list[LogLine]]


def _one_by_one(lines: Callable[[Any], Iterator[LogLine]]) -> _Lines:
    """Lines of the rows with these numbers, in that order."""

    def of(rows: "QuerySet[Any]", pks: list[int]) -> list[LogLine]:
        by_row = {line.row: line for line in lines(rows.filter(pk__in=pks))}
        return [by_row[pk] for pk in pks]

    return of


def _each_as(line: Callable[[Any], LogLine]) -> _Lines:
    def of(rows: "QuerySet[Any]", pks: list[int]) -> list[LogLine]:
        found = rows.in_bulk(pks)
        return [line(found[pk]) for pk in pks]

    return of


def _board_fact(kind: str, row: Any) -> LogLine:
    return LogLine(row.at, kind, f"{row.board}: {_fact_line(row)}", name_of(row.by), row.board_id, row.note)


def _movements(job: Job) -> Iterator[LogLine]:
    return _movement_lines(Movement.objects.filter(movements_of(job)).distinct().order_by("-id")[:MAX_LINES])


def _movement_lines(rows: QuerySet[Movement]) -> Iterator[LogLine]:
    for row in rows.select_related("lot__part__spec", "from_place", "to_place", "by"):
        source = f"{row.from_place} {row.from_ref}".rstrip()
        target = f"{row.to_place} {row.to_ref}".rstrip()
        what = f"{row.quantity} x {row.lot.part.spec.text}" if row.quantity != 1 else row.lot.part.spec.text
        yield LogLine(row.at, row.kind, f"{what}: {source} to {target}", name_of(row.by), row.pk, row.note)


def movements_of(job: Job) -> Q:
    """Movements for a job: fitted or borrowed for it, and whatever moved on its board meanwhile."""
    found = Q(reservations__need__job=job) | Q(loan__job=job)
    if job.board is not None:
        on_board = Q(from_place=job.board.place_id) | Q(to_place=job.board.place_id)
        found |= on_board & within(job)
    return found


def _trials(job: Job) -> Iterator[LogLine]:
    return _trial_lines(trials_of(job))


def _trial_lines(rows: Iterable[Trial]) -> Iterator[LogLine]:
    for row in rows:
        of = f"{row.lot}" if row.lot is not None else f"{row.board} {row.ref}".rstrip()
        text = f"{of}: {row.method}, {row.reading or 'no reading'}: {row.verdict}"
        yield LogLine(row.at, "trial", text, name_of(row.by), row.pk, row.note)


def trials_of(job: Job) -> QuerySet[Trial]:
    """Trials of its board while it was open, and of the pieces that were promised or fitted for it."""
    found = Q(lot__holdings__reservations__need__job=job)
    if job.board is not None:
        found |= (Q(board=job.board) | Q(record__board=job.board)) & within(job)
    rows = Trial.objects.filter(found).select_related("lot__part__spec", "board", "by", "record")
    return rows.distinct().order_by("id")[:MAX_LINES]


_FACTS: Sequence[tuple[str, type[Any]]] = (
    ("link", LinkSetting), ("confirmation", Confirmation), ("rail", RailReading),
    ("exception", AcceptedException),
)  # fmt: skip


def _facts(job: Job) -> Iterator[LogLine]:
    if job.board is None:
        return
    for kind, model in _FACTS:
        for row in model.objects.filter(within(job), board=job.board).select_related("by")[:MAX_LINES]:
            yield LogLine(row.at, kind, _fact_line(row), name_of(row.by), row.pk, row.note)


def _fact_line(row: Any) -> str:
    return f"{row} (taken back since)" if row.withdrawn else str(row)


def _ends(job: Job) -> Iterator[LogLine]:
    yield LogLine(job.opened, "opened", job.symptom or "no symptom given", "", job.pk)
    if job.closed is not None:
        yield LogLine(job.closed, job.status, job.cause or "no cause given", "", job.pk)


# --- tasks


@transaction.atomic
def tick(entry: BenchEntry, *, by: Actor, done: bool) -> None:
    """A task is done, or is to be done again."""
    if entry.kind != BenchEntry.Kind.TASK:
        raise Refused(Code.NOT_A_TASK, "a note is not done: only a task is")
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
def close(job: Job, *, by: Actor, symptom: str = "", cause: str = "", note: str = "") -> Job:
    """Finish a job: symptom and cause are written down, so that it is found when it is seen again.

    Refused: a job closed before, and whatever `jobs.set_status` refuses.
    """
    job = Job.objects.select_for_update(of=("self",)).get(pk=job.pk)
    if job.status in jobs.CLOSED:
        raise Refused(Code.JOB_CLOSED, f"{job.name} is {job.status} already")
    texts = {"symptom": symptom, "cause": cause, "note": note}
    given = {name: text for name, text in texts.items() if text}
    if given:
        Job.objects.filter(pk=job.pk).update(**given, version=F("version") + 1)
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
        written = Q(symptom__icontains=word) | Q(cause__icontains=word) | Q(note__icontains=word)
        found = found.filter(written | Q(entries__text__icontains=word) | Q(name__icontains=word))
    return found.distinct().order_by("-closed", "-id")


def seen_elsewhere(design: Design, words: str = "") -> QuerySet[DesignRecord]:
    """What other workshops saw on boards of this design, by the files of it that came in; newest first."""
    found = DesignRecord.objects.select_related("friend").filter(
        design__name=design.name, what=DesignRecord.What.SEEN
    )
    for word in words.split()[:10]:
        found = found.filter(Q(facts__symptom__icontains=word) | Q(facts__cause__icontains=word))
    return found.select_related("design").order_by("-facts__on", "-id")
