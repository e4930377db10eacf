"""What this workshop can spare and what it lacks, from one plan; and the list of both that is given away.

Free is not spare: what an open job's plan draws on, what the reorder level keeps and what the owner keeps
back stays.  Nothing is on the list that the owner did not tick.
"""

from collections import Counter, defaultdict
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Annotated, Literal, Self

from django.db import transaction
from django.db.models import F
from django.utils import timezone
from pydantic import Field

from inventory import stock
from inventory.answers import Answer, SpecOut, WholeAnswer, one_of
from inventory.ledger import Actor, borrowed_lots
from inventory.models import Holding, Lot, StoredSpec
from inventory.ownership import refuse_anothers
from inventory.refusals import Code, Refused
from inventory.roles import OWNER, may_act_as
from inventory.spec import Spec, is_safety_part
from repairs.friends.files import written
from repairs.friends.lists import LackEntry, SpareDocument, SpareEntry
from repairs.proving import cautions
from repairs.sharing_models import LackMark, SpareMark
from repairs.supply_and_demand import planned

CONDITIONS = (Lot.Condition.GOOD, Lot.Condition.UNTESTED)
ACCEPTED = ("same", "with_note")
NEVER_POSTED = ("pcb_oil", "lithium", "asbestos", "mercury", "beryllia", "selenium", "nicd", "microwave")


@dataclass
class SpareLine(Answer):
    """Free pieces of a lot: how many could go, what keeps the others, how many the owner ticked."""

    lot: int
    spec: SpecOut
    spec_text: str
    condition: Annotated[str, one_of(CONDITIONS)]
    marking: str
    came_off: Annotated[str, Field(description="The design of the board that it came off; blank: none.")]
    came_off_ref: str
    free: int
    spare: int
    ticked: Annotated[int, Field(description="So many of them are on the list that is given away.")]
    kept: Annotated[list[str], Field(description="What keeps the others back.")]
    kept_back: Annotated[bool, Field(description="By the owner's mark.")]
    caution: str
    owner: Annotated[str | None, Field(description="Whose it is, who alone ticks it; null: everybody's.")] = (
        None
    )


@dataclass
class LackLine(Answer):
    """A requirement that is short, with the worst grade of fit that would do without a question."""

    requirement: int
    spec: SpecOut
    spec_text: str
    short: int
    accepts: Annotated[str, one_of(ACCEPTED)]
    jobs: list[str]
    ticked: bool


@dataclass
class Spare(WholeAnswer):
    spare: list[SpareLine]
    lacking: list[LackLine]

    @classmethod
    def example(cls) -> Self:
        part = Spec.from_dict({"kind": "resistor", "value": "4k7"})
        chip = Spec.from_dict({"kind": "ic", "number": "4116"})
        spare = SpareLine(
            7,
            part,
            part.text,
            "good",
            "",
            "Plover timer B",
            "R1",
            9,
            4,
            2,
            ["5 kept by its reorder level"],
            False,
            "",
        )
        return cls([spare], [LackLine(12, chip, chip.text, 2, "with_note", ["Mend the Tern"], True)])


def spare_and_lacking() -> Spare:
    """Both lists, over the whole bench."""
    return Spare(_spare(), _lacking())


def _spare() -> list[SpareLine]:
    bench, plan = planned()
    wanted: Counter[int] = Counter()
    for _take, holding, quantity in bench.handed_out([*plan.takes, *plan.asked]):
        if holding is not None:
            wanted[holding] += quantity
    marks = {mark.lot_id: mark for mark in SpareMark.objects.all()}
    rows = (
        Holding.objects.filter(
            quantity__gt=F("promised"), place__type__in=stock.KEPT_IN, lot__condition__in=CONDITIONS
        )
        .exclude(lot__in=borrowed_lots())
        .select_related("lot__part__spec", "lot__origin_board__design", "lot__owner")
        .order_by("lot_id", "id")
    )
    lots: dict[int, list[Holding]] = defaultdict(list)
    for row in rows:
        lots[row.lot_id].append(row)
    level = {row[0].lot.part_id: row[0].lot.part.reorder_at or 0 for row in lots.values()}
    lines = []
    for holdings in lots.values():
        lines.append(_line(holdings, wanted, level, marks.get(holdings[0].lot_id)))
    return lines


def _line(
    holdings: Sequence[Holding], wanted: Mapping[int, int], level: dict[int, int], mark: SpareMark | None
) -> SpareLine:
    """`level` is how many of each part its reorder level still keeps; what this lot keeps is taken off."""
    lot = holdings[0].lot
    spec = lot.part.spec.spec
    free = sum(row.quantity - row.promised for row in holdings)
    for_jobs = sum(wanted.get(row.pk, 0) for row in holdings)
    held = min(free - for_jobs, level[lot.part_id])
    level[lot.part_id] -= held
    spare = free - for_jobs - held
    kept = [f"{for_jobs} wanted by open jobs"] if for_jobs else []
    kept += [f"{held} kept by its reorder level"] if held else []
    refusal = not_given(lot, spec)
    if refusal or (mark is not None and mark.keep):
        kept.append(refusal or "you keep it back")
        spare = 0
    board = lot.origin_board
    came_off = str(board.design) if board and board.design else ""
    ticked = min(mark.quantity, spare) if mark is not None else 0
    return SpareLine(
        lot.pk, spec, spec.text, lot.condition, lot.marking, came_off, lot.origin_ref, free, spare, ticked,
        kept, mark is not None and mark.keep, _caution(spec), lot.owner.username if lot.owner else None,
    )  # fmt: skip


def not_given(lot: Lot, spec: Spec) -> str:
    """Why such a piece is given to nobody (common practice, no source)."""
    found = [each for each in cautions.of_part(spec) if each.blocked or each.step in NEVER_POSTED]
    if found:
        return f"never posted: {found[0].text}"
    if spec.kind == "capacitor" and spec.dielectric == "paper":
        return "never posted: an old paper capacitor may hold PCB oil"
    if is_safety_part(spec) and not lot.marking.strip():
        return "a safety part is given only with its marking legible: write it down"
    return ""


def _caution(spec: Spec) -> str:
    if is_safety_part(spec):
        return f"A safety part: check the marking before it is fitted. {cautions.DEFER}"
    return ""


def _lacking() -> list[LackLine]:
    ticked = set(LackMark.objects.values_list("spec_id", flat=True))
    bench, plan = planned()
    short: dict[int, Counter[int]] = defaultdict(Counter)
    for demand in plan.lacking(bench.demands):
        short[demand.id.spec][demand.job] += demand.quantity
    lines = []
    for row, jobs in short.items():
        spec, names = bench.specs[row], [bench.jobs[job][0] for job in jobs]
        accepts = ACCEPTED[0] if is_safety_part(spec) else ACCEPTED[1]
        lines.append(LackLine(row, spec, spec.text, jobs.total(), accepts, names, row in ticked))
    return sorted(lines, key=lambda each: (each.spec.kind, each.spec.value or 0, each.spec.key))


class OwnersAlone(Refused):
    """Somebody ticks what is not theirs alone, and is no owner of the bench."""

    status = 403


@transaction.atomic
def tick(
    gives: Mapping[int, int], keeps: Mapping[int, bool], lacking: Mapping[int, bool], *, by: Actor
) -> None:
    """The owner's marks: of lots how many may go (0: none), which are kept back; which lacks are told.

    Refused: no such lot or requirement (`does_not_exist`), more than can be spared (`not_enough`), a lot of
    somebody else's, who alone gives it (`not_yours`).
    """
    named = Lot.objects.select_related("part", "owner").filter(pk__in={*gives, *keeps})
    for row in named:
        refuse_anothers(row, by, "it goes on a list for friends")
    shared = lacking or any(row.owner is None for row in named)
    if by is not None and shared and not may_act_as(by, OWNER):
        raise OwnersAlone(
            Code.NOT_YOURS, "what is everybody's is ticked by an owner of the bench", owner=None
        )
    lines = {line.lot: line for line in _spare()}
    for lot, keep in keeps.items():
        _known(lot, lines)
        SpareMark.objects.filter(lot=lot).delete()
        if keep:
            SpareMark.objects.create(lot_id=lot, keep=True)
    if keeps and gives:
        lines = {line.lot: line for line in _spare()}
    for lot, quantity in gives.items():
        line = _known(lot, lines)
        if quantity > line.spare:
            why = f": {'; '.join(line.kept)}" if line.kept else ""
            raise Refused(
                Code.NOT_ENOUGH,
                f"lot {lot}: {quantity} to give, {line.spare} to spare{why}",
                available=line.spare,
            )
        SpareMark.objects.filter(lot=lot, keep=False).delete()
        if quantity:
            SpareMark.objects.create(lot_id=lot, quantity=quantity)
    there = set(StoredSpec.objects.filter(pk__in=lacking.keys()).values_list("id", flat=True))
    if missing := sorted(lacking.keys() - there):
        raise Refused(Code.DOES_NOT_EXIST, f"nothing is required by the number {missing[0]}")
    LackMark.objects.filter(spec__in=lacking.keys()).delete()
    LackMark.objects.bulk_create([LackMark(spec_id=row) for row, ticked in lacking.items() if ticked])


def _known(lot: int, lines: Mapping[int, SpareLine]) -> SpareLine:
    if lot not in lines:
        raise Refused(Code.DOES_NOT_EXIST, f"lot {lot} has no free pieces in a drawer that could be given")
    return lines[lot]


def spare_document() -> SpareDocument:
    """What is ticked, as the list that is given away."""
    both = spare_and_lacking()
    return SpareDocument(
        format="rehome-spare", version=1, made=timezone.localdate().isoformat(),
        spare=[_entry(line) for line in both.spare if line.ticked],
        lacking=[
            LackEntry(written(line.spec), line.short, _accepts(line)) for line in both.lacking if line.ticked
        ],
    )  # fmt: skip


def _entry(line: SpareLine) -> SpareEntry:
    good = line.condition == Lot.Condition.GOOD
    return SpareEntry(
        f"L{line.lot}", written(line.spec), line.ticked, "good" if good else "untested", line.marking,
        line.came_off, line.came_off_ref, line.caution,
    )  # fmt: skip


def _accepts(line: LackLine) -> Literal["same", "with_note"]:
    return "same" if line.accepts == "same" else "with_note"
