"""What would change for the open jobs under an assumption.  Nothing is stored.

An assumption is said in a few words: `park:JOB`, `priority:JOB:1`, `borrow`, `strip:BOARD`, `buy:PART:4`.
Jobs, boards and parts are named by their number or by their exact name.
"""

from collections.abc import Collection, Sequence
from dataclasses import replace
from typing import Any, TypeVar

from django.db.models import F, Model, QuerySet

from inventory.models import Board, Holding, Part
from inventory.unchanged import while_unchanged
from inventory.whole_numbers import MAX_PIECES, whole_number
from repairs.answers.parameters import Unreadable
from repairs.answers.shortages.answer import Difference, JobDifference, Shortages, counts
from repairs.answers.shortages.rows import rows_of, shortages
from repairs.hazards import hazards_of
from repairs.models import Job
from repairs.planning import Tier, what_if
from repairs.planning.what_if import Assumed, AssumedPurchase, Assumption, Borrow, Park, Prioritise, Strip
from repairs.proving.cautions import blocks
from repairs.supply_and_demand import Shelf, SupplyAndDemand, planned, the_bench

GRAMMAR = "park:JOB, priority:JOB:1 to 5, borrow, strip:BOARD or buy:PART:PIECES"
MAX_ASSUMPTIONS = 20


class BadAssumption(Unreadable):
    """An assumption that means nothing here: `assumption` is how it was put, `reason` why."""

    def __init__(self, assumption: str, reason: str) -> None:
        self.assumption, self.reason = assumption, reason
        super().__init__(f"{assumption}: {reason}", name="assume")


def suppose(
    assumptions: Sequence[str],
    jobs: Collection[int] | None = None,
    *,
    borrow: bool = False,
    ask: bool = False,
) -> Shortages:
    """Plan as things are and as they are assumed to be.  BadAssumption says which cannot be.

    Rows and totals are of the open jobs, or of those named; the difference is of every open job.
    """
    return _suppose(tuple(assumptions), None if jobs is None else frozenset(jobs), borrow=borrow, ask=ask)


@while_unchanged
def _suppose(texts: tuple[str, ...], jobs: frozenset[int] | None, *, borrow: bool, ask: bool) -> Shortages:
    if len(texts) > MAX_ASSUMPTIONS:
        raise BadAssumption(texts[MAX_ASSUMPTIONS][:80], f"at most {MAX_ASSUMPTIONS} assumptions at once")
    bench = the_bench(borrow=borrow or "borrow" in texts)
    reader = _AssumptionReader(bench)
    assumptions = [reader.read(text, number) for number, text in enumerate(texts)]
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
    names = {job: name for job, (name, _, _) in bench.jobs.items()}
    difference = Difference(
        reader.words,
        counts(shortages(jobs, borrow=borrow, ask=ask)),
        list(found.completed),
        list(found.worse_off),
        [JobDifference(each.job, names[each.job], each.before, each.after) for each in found.changes],
    )
    return Shortages.of(rows_of(then, found.then, jobs), difference)


_Named = TypeVar("_Named", bound=Model)


class _AssumptionReader:
    """Reads assumptions; keeps how they are told, and the shelves that stripped boards would fill."""

    def __init__(self, bench: SupplyAndDemand) -> None:
        self._bench = bench
        self._lacking = {line.job for line, demand in bench.lines.items() if demand.lacking}
        self._boards: set[int] = set()
        self.words: list[str] = []
        self.stripped: dict[Assumed, Shelf] = {}

    def read(self, text: str, number: int) -> Assumption:
        word, _, rest = text.partition(":")
        match word:
            case "borrow" if text == "borrow":
                self.words.append("working boards may be drawn on")
                return Borrow()
            case "park":
                job = self._job(text, rest)
                self.words.append(f"{job} is parked")
                return Park(job.pk)
            case "priority":
                named, _, priority = rest.rpartition(":")
                job = self._job(text, named)
                if priority not in ("1", "2", "3", "4", "5"):
                    raise BadAssumption(text, "expected a priority from 1, the highest, to 5")
                self.words.append(f"{job} has priority {priority}")
                return Prioritise(job.pk, int(priority))
            case "strip":
                return self._strip(text, rest, number)
            case "buy":
                named, _, pieces = rest.rpartition(":")
                part = self._find(text, named, Part.objects.select_related("spec"), "part")
                count = whole_number(pieces) or 0
                if not 1 <= count <= MAX_PIECES:
                    raise BadAssumption(text, f"expected how many pieces: from 1 to {MAX_PIECES:,}")
                self.words.append(f"{count} of {part} are on order")
                return AssumedPurchase(part.spec.spec, count)
        raise BadAssumption(text, f"expected {GRAMMAR}")

    def _job(self, text: str, named: str) -> Job:
        job = self._find(text, named, Job.objects.all(), "job")
        if job.pk not in self._bench.jobs:
            raise BadAssumption(text, f"{job} is {job.status}: only open jobs are planned")
        if job.pk not in self._lacking:
            raise BadAssumption(text, f"{job} lacks nothing: the plan has nothing to do with it")
        return job

    def _strip(self, text: str, named: str, number: int) -> Strip:
        board = self._find(text, named, Board.objects.select_related("design"), "board")
        if board.purpose not in (Board.Purpose.DONOR, Board.Purpose.SCRAPPED):
            raise BadAssumption(
                text, f"{board} is {board.get_purpose_display().lower()}: only donors are stripped"
            )
        if blocked := blocks(hazards_of(board)):
            raise BadAssumption(text, blocked[0].text)
        if board.pk in self._boards:
            raise BadAssumption(text, f"{board} is stripped already")
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

    def _find(self, text: str, named: str, rows: "QuerySet[_Named]", noun: str) -> _Named:
        number = whole_number(named)
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
        raise BadAssumption(text, detail)


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
            case AssumedPurchase(quantity=quantity):
                assumed[Assumed(number)] = Shelf(quantity)
    for key, shelf in stripped.items():
        shelves[key.of] = _without(shelves[key.of], shelf.holdings)
    lines = {line: replace(demand) for line, demand in bench.lines.items() if line.job in jobs}
    shelves.update(assumed.items())
    return replace(bench, jobs=jobs, lines=lines, shelves=shelves)


def _without(shelf: Shelf, gone: Collection[int]) -> Shelf:
    left = _only(shelf, set(shelf.holdings).difference(gone))
    return left if left is not None else Shelf()
