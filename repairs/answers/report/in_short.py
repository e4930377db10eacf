"""A repair's report as it is printed, on two pages: what is alike stands in one row, the log in its notes."""

from collections import Counter
from collections.abc import Callable, Iterable
from dataclasses import dataclass
from decimal import Decimal

from inventory.models import Photo
from inventory.refs import split_ref, write_refs
from repairs.answers.report.answer import RepairReport, ReportReading, ReportTrial, UsedPart
from repairs.benchlog import LogLine

STAGES = ("ohms", "chips_out", "at_pins")
MAX_NOTES, MAX_PICTURES = 20, 4


@dataclass(frozen=True)
class LikeParts:
    """Pieces alike in what was fitted, its price and its note: at which positions, how many, where from."""

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
    """What two pages say of a report; `lines` counts the whole log, `notes` are what people wrote in it."""

    parts: tuple[LikeParts, ...]
    rails: tuple[RailRow, ...]
    trials: tuple[tuple[str, str], ...]
    notes: tuple[LogLine, ...]
    pictures: tuple[ShownPicture, ...]
    lines: int


def in_short(report: RepairReport, address_of: Callable[[Photo], str]) -> ShortReport:
    """The short form of a report; a picture whose address is "" is left out."""
    notes = [line for line in report.log if line.kind == "note" or line.note]
    shown = {address_of(photo): photo for line in report.log for photo in line.photos}
    shown.pop("", None)
    return ShortReport(
        parts=tuple(_parts(report.parts)),
        rails=tuple(_rails(report.readings)),
        trials=tuple(_trials(report.trials)),
        notes=tuple(notes[-MAX_NOTES:]),
        pictures=tuple(
            ShownPicture(address, photo.note) for address, photo in list(shown.items())[-MAX_PICTURES:]
        ),
        lines=len(report.log),
    )


def _parts(parts: Iterable[UsedPart]) -> Iterable[LikeParts]:
    alike: dict[tuple[str, Decimal | None, str], list[UsedPart]] = {}
    for part in parts:
        alike.setdefault((part.fitted, part.price, part.note), []).append(part)
    for (fitted, _price, note), group in alike.items():
        refs = sorted({part.ref for part in group if part.ref}, key=split_ref)
        yield LikeParts(
            refs=write_refs(refs) or "loose",
            count=sum(part.quantity for part in group),
            fitted=fitted,
            origins=tuple(dict.fromkeys(part.origin for part in group)),
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
