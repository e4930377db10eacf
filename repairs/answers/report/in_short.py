"""A repair's report as it is printed, on two pages: what is alike stands in one row, the log in its notes."""

from collections import Counter
from collections.abc import Callable, Iterable
from dataclasses import dataclass, replace
from decimal import Decimal
from itertools import groupby

from inventory.models import Photo
from inventory.refs import split_ref, write_refs
from repairs.answers.report.answer import (
    RepairReport,
    ReportException,
    ReportReading,
    ReportTrial,
    UsedPart,
)
from repairs.benchlog import LogLine

STAGES = ("ohms", "chips_out", "at_pins")
MAX_NOTES, MAX_PICTURES = 20, 4
WORTH_SAYING_ONCE = 3
"""So many parts off the same positions of one board: it stands above the table, and in no row."""


@dataclass(frozen=True)
class LikeParts:
    """Pieces alike in what was fitted, its price and its note: at which positions, how many, where from.

    `origins` leave out what is said of most parts at once.
    """

    refs: str
    count: int
    fitted: str
    origins: tuple[str, ...]
    price: str
    note: str


@dataclass(frozen=True)
class RailRow:
    """The readings of one rail, by stage in the order of bringing up."""

    name: str
    readings: tuple[str, ...]
    by: str


@dataclass(frozen=True)
class ShownPicture:
    """Its address, and what is written beneath it."""

    address: str
    note: str


@dataclass(frozen=True)
class ShortReport:
    """What two pages say of a report; `lines` counts the whole log, `notes` are what people wrote in it.

    `donor` is the board off whose same positions most parts came; blank where there is none.
    """

    donor: str
    parts: tuple[LikeParts, ...]
    accepted: tuple[ReportException, ...]
    rails: tuple[RailRow, ...]
    trials: tuple[tuple[str, str], ...]
    notes: tuple[LogLine, ...]
    pictures: tuple[ShownPicture, ...]
    lines: int


def in_short(report: RepairReport, address_of: Callable[[Photo], str]) -> ShortReport:
    """The short form of a report; a picture whose address is "" is left out."""
    donor, notes = _donor(report.parts), list(_notes(report.log))
    shown = {address_of(photo): photo for line in report.log for photo in line.photos}
    shown.pop("", None)
    return ShortReport(
        donor=donor,
        parts=tuple(_parts(report.parts, donor)),
        accepted=tuple(_accepted(report.exceptions)),
        rails=tuple(_rails(report.readings)),
        trials=tuple(_trials(report.trials)),
        notes=tuple(notes[-MAX_NOTES:]),
        pictures=tuple(
            ShownPicture(address, photo.note) for address, photo in list(shown.items())[-MAX_PICTURES:]
        ),
        lines=len(report.log),
    )


def _donor(parts: Iterable[UsedPart]) -> str:
    """The board off whose same positions most of the parts came, where they are several."""
    boards = Counter(
        part.origin.removesuffix(f" {part.ref}")
        for part in parts
        if part.ref and part.origin.endswith(f" {part.ref}")
    )
    [(board, count)] = boards.most_common(1) or [("", 0)]
    return board if count >= WORTH_SAYING_ONCE else ""


def _accepted(exceptions: Iterable[ReportException]) -> Iterable[ReportException]:
    """What one person accepted for one reason stands in one line, with all that it is about."""
    alike: dict[tuple[str, str, str], list[ReportException]] = {}
    for row in exceptions:
        alike.setdefault((row.check, row.why, row.by), []).append(row)
    for group in alike.values():
        yield replace(group[0], subject=write_refs(row.subject for row in group if row.subject))


def _notes(log: Iterable[LogLine]) -> Iterable[LogLine]:
    """What people wrote; pieces moved together with one note, such as chips out and in, as one line."""
    written = (line for line in log if line.kind == "note" or line.note)
    for (kind, _by, note), group in groupby(written, lambda line: (line.kind, line.by, line.note)):
        first, *others = group
        if kind == "note" or not others:
            yield from (first, *others)
        else:
            yield replace(first, text=f"{1 + len(others)} pieces: {note}", note="")


def _parts(parts: Iterable[UsedPart], donor: str) -> Iterable[LikeParts]:
    alike: dict[tuple[str, Decimal | None, str], list[UsedPart]] = {}
    for part in parts:
        alike.setdefault((part.fitted, part.price, part.note), []).append(part)
    for (fitted, _price, note), group in alike.items():
        refs = sorted({part.ref for part in group if part.ref}, key=split_ref)
        yield LikeParts(
            refs=write_refs(refs) or "loose",
            count=sum(part.quantity for part in group),
            fitted=fitted,
            origins=tuple(
                dict.fromkeys(
                    part.origin for part in group if not donor or part.origin != f"{donor} {part.ref}"
                )
            ),
            price=group[0].price_text,
            note=note,
        )


def _rails(readings: Iterable[ReportReading]) -> Iterable[RailRow]:
    by_rail: dict[str, list[ReportReading]] = {}
    for row in readings:
        by_rail.setdefault(row.rail, []).append(row)
    for name, group in by_rail.items():
        by_stage = tuple(
            ", ".join(f"{row.ref} {row.reading}".strip() for row in group if row.stage == stage)
            for stage in STAGES
        )
        yield RailRow(name, by_stage, " and ".join(dict.fromkeys(row.by for row in group)))


def _trials(trials: Iterable[ReportTrial]) -> Iterable[tuple[str, str]]:
    """Method and verdict, and each piece that was tried so with its reading."""
    alike: dict[str, list[str]] = {}
    for row in trials:
        piece = f"{row.of}: {row.reading}" if row.reading else row.of
        alike.setdefault(f"{row.method}, {row.verdict}", []).append(piece)
    for method, pieces in alike.items():
        counted = (f"{each} ({n} times)" if n > 1 else each for each, n in Counter(pieces).items())
        yield method, "; ".join(counted)
