"""What would change for the open jobs under an assumption.  Nothing is stored.

An assumption is said in a few words: `park:JOB`, `priority:JOB:1`, `borrow`, `strip:BOARD`, `buy:PART:4`.
Jobs, boards and parts are named by their number or by their exact name.
"""

from collections.abc import Collection, Sequence
from dataclasses import dataclass, replace
from typing import Any, TypeVar

from django.db.models import F, Model, QuerySet

from inventory.models import Board, Holding, Part
from inventory.unchanged import while_unchanged
from repairs.hazards import hazards_of
from repairs.models import Job
from repairs.planning import Tier, what_if
from repairs.planning.what_if import Assumed, Assumption, Borrow, Buy, JobChange, Park, Prioritise, Strip
from repairs.proving.cautions import blocks
from repairs.purchases import MOST_PIECES
from repairs.shortages import Row, rows_of, shortages, totals
from repairs.supply_and_demand import Shelf, SupplyAndDemand, planned, the_bench

GRAMMAR = "park:JOB, priority:JOB:1 to 5, borrow, strip:BOARD or buy:PART:PIECES"
MOST_ASSUMPTIONS = 20


class BadAssumption(ValueError):
    """An assumption that means nothing here; `said` is how it was put."""

    def __init__(self, said: str, detail: str) -> None:
        self.said, self.detail = said, detail
        super().__init__(f"{said}: {detail}")


@dataclass(frozen=True)
class Supposed:
    """The rows as they would be, the totals as they are, and what differs, job by job.

    `assumed` says in words what was assumed.
    """

    assumed: tuple[str, ...]
    rows: Sequence[Row]
    now: dict[str, int]
    changes: tuple[JobChange, ...]
    completed: tuple[int, ...]
    worse_off: tuple[int, ...]
    names: dict[int, str]


def suppose(
    said: Sequence[str], jobs: Collection[int] | None = None, *, borrow: bool = False, ask: bool = False
) -> Supposed:
    """Plan as things are and as they are assumed to be.  BadAssumption says which cannot be.

    Rows and totals are of the open jobs, or of those named; the changes are of every open job.
    """
    return _suppose(tuple(said), None if jobs is None else frozenset(jobs), borrow=borrow, ask=ask)


@while_unchanged
def _suppose(said: tuple[str, ...], jobs: frozenset[int] | None, *, borrow: bool, ask: bool) -> Supposed:
    if len(said) > MOST_ASSUMPTIONS:
        raise BadAssumption(said[MOST_ASSUMPTIONS][:80], f"at most {MOST_ASSUMPTIONS} assumptions at once")
    bench = the_bench(borrow=borrow or "borrow" in said)
    reader = _Reader(bench)
    assumptions = [reader.read(text, number) for number, text in enumerate(said)]
    found = what_if.what_if(
        bench.demands,
        bench.supplies,
        assumptions,
        borrow=borrow,
        allow_ask=ask,
        recorded=bench.recorded,
        now=planned(borrow=borrow, ask=ask).plan,
    )
    then = _as_assumed(bench, assumptions, reader.stripped)
    return Supposed(
        tuple(reader.words),
        rows_of(then, found.then, jobs),
        totals(shortages(jobs, borrow=borrow, ask=ask)),
        found.changes,
        found.completed,
        found.worse_off,
        {job: name for job, (name, _, _) in bench.jobs.items()},
    )


_Named = TypeVar("_Named", bound=Model)


class _Reader:
    """Reads assumptions; keeps how they are told, and the shelves that stripped boards would fill."""

    def __init__(self, bench: SupplyAndDemand) -> None:
        self._bench = bench
        self._lacking = {line.job for line, wanting in bench.lines.items() if wanting.lacking}
        self._boards: set[int] = set()
        self.words: list[str] = []
        self.stripped: dict[Assumed, Shelf] = {}

    def read(self, said: str, number: int) -> Assumption:
        word, _, rest = said.partition(":")
        match word:
            case "borrow" if said == "borrow":
                self.words.append("working boards may be drawn on")
                return Borrow()
            case "park":
                job = self._job(said, rest)
                self.words.append(f"{job} is parked")
                return Park(job.pk)
            case "priority":
                named, _, priority = rest.rpartition(":")
                job = self._job(said, named)
                if priority not in ("1", "2", "3", "4", "5"):
                    raise BadAssumption(said, "want a priority from 1, the highest, to 5")
                self.words.append(f"{job} has priority {priority}")
                return Prioritise(job.pk, int(priority))
            case "strip":
                return self._strip(said, rest, number)
            case "buy":
                named, _, pieces = rest.rpartition(":")
                part = self._find(said, named, Part.objects.select_related("spec"), "part")
                if not (pieces.isascii() and pieces.isdigit() and 1 <= int(pieces[:18]) <= MOST_PIECES):
                    raise BadAssumption(said, f"want how many pieces: from 1 to {MOST_PIECES:,}")
                self.words.append(f"{pieces} of {part} are on order")
                return Buy(part.spec.spec, int(pieces))
        raise BadAssumption(said, f"want {GRAMMAR}")

    def _job(self, said: str, named: str) -> Job:
        job = self._find(said, named, Job.objects.all(), "job")
        if job.pk not in self._bench.jobs:
            raise BadAssumption(said, f"{job} is {job.status}: only open jobs are planned")
        if job.pk not in self._lacking:
            raise BadAssumption(said, f"{job} lacks nothing: the plan has nothing to do with it")
        return job

    def _strip(self, said: str, named: str, number: int) -> Strip:
        board = self._find(said, named, Board.objects.select_related("design"), "board")
        if board.purpose not in (Board.Purpose.DONOR, Board.Purpose.SCRAPPED):
            raise BadAssumption(
                said, f"{board} is {board.get_purpose_display().lower()}: only donors are stripped"
            )
        if blocked := blocks(hazards_of(board)):
            raise BadAssumption(said, blocked[0].text)
        if board.pk in self._boards:
            raise BadAssumption(said, f"{board} is stripped already")
        self._boards.add(board.pk)
        here = set(
            Holding.objects.filter(place=board.place_id, quantity__gt=F("promised")).values_list(
                "id", flat=True
            )
        )
        for alike, shelf in self._bench.shelves.items():
            if alike.tier == Tier.DONOR and (taken := _only(shelf, here)):
                self.stripped[Assumed(number, alike)] = taken
        self.words.append(f"all free pieces of {board} are in the drawers")
        return Strip({key.of: shelf.free for key, shelf in self.stripped.items() if key.assumption == number})

    def _find(self, said: str, named: str, rows: "QuerySet[_Named]", noun: str) -> _Named:
        number = int(named) if named.isascii() and named.isdigit() and len(named) <= 18 else None
        found = (
            list(rows.filter(name=named).order_by("pk")[:2])
            if number is None
            else list(rows.filter(pk=number))
        )
        if len(found) == 1:
            return found[0]
        detail = (
            f"more than one {noun} has this name: say its number" if found else f"there is no such {noun}"
        )
        raise BadAssumption(said, detail)


def _only(shelf: Shelf, holdings: Collection[int]) -> Shelf | None:
    """What these holdings have of a shelf; None where that is nothing."""
    held = [each for each in zip(shelf.holdings, shelf.pieces, strict=True) if each[0] in holdings]
    return Shelf(sum(p for _, p in held), [h for h, _ in held], [p for _, p in held]) if held else None


def _as_assumed(
    bench: SupplyAndDemand, assumptions: Sequence[Assumption], stripped: dict[Assumed, Shelf]
) -> SupplyAndDemand:
    """The bench to tell the other plan by: jobs in their assumed line, pieces on their assumed shelves."""
    jobs = dict(bench.jobs)
    shelves: dict[Any, Shelf] = dict(bench.shelves.items())
    assumed = dict(stripped)
    for number, each in enumerate(assumptions):
        match each:
            case Park(job=job):
                jobs.pop(job, None)
            case Prioritise(job=job, priority=priority) if job in jobs:
                name, _, due = jobs[job]
                jobs[job] = name, priority, due
            case Buy(quantity=quantity):
                assumed[Assumed(number)] = Shelf(quantity)
    for key, shelf in stripped.items():
        shelves[key.of] = _without(shelves[key.of], shelf.holdings)
    lines = {line: replace(wanting) for line, wanting in bench.lines.items() if line.job in jobs}
    shelves.update(assumed.items())
    return replace(bench, jobs=jobs, lines=lines, shelves=shelves)


def _without(shelf: Shelf, gone: Collection[int]) -> Shelf:
    left = _only(shelf, set(shelf.holdings).difference(gone))
    return left if left is not None else Shelf()
