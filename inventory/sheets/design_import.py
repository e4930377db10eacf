"""Parts lists into designs.

A design is found by name and revision, or made.  A position in the sheet is drawn as the row says;
positions that the sheet does not have stay, and the report says which.  Of the further sheets, what is
there for a design takes the place of what it had.  The same sheet again changes nothing.
"""

from collections.abc import Collection, Mapping, Sequence
from dataclasses import dataclass, field
from typing import Any

from inventory.design_facts import HAZARDS
from inventory.designs import (
    MAX_POSITIONS,
    PLACED,
    PositionDraft,
    draw,
    problems_with_conditions,
    problems_with_design,
)
from inventory.ledger import Actor
from inventory.models import Design, Position
from inventory.refs import write_refs
from inventory.sheets import cells
from inventory.sheets.drawing_sheets import DRAWINGS, HAZARD, KINDS, Entries, same
from inventory.sheets.names import DesignNames
from inventory.sheets.positions_sheet import POSITIONS, drawn_in
from inventory.sheets.report import Report
from inventory.sheets.specs import SpecReader
from inventory.sheets.table import Progress, SheetRow

TABLES = (POSITIONS, *(kind.table for kind in KINDS), HAZARD, DRAWINGS)
"""The sheets of a design's workbook, the parts list first."""

_LONGEST = {"design": 120, "revision": 32, "note": 4000}


@dataclass
class _Plan:
    """What a book says of one design."""

    design: Design
    made: bool
    known: dict[str, Position]
    drawn: dict[str, PositionDraft] = field(default_factory=dict)
    drawn_in: dict[str, SheetRow] = field(default_factory=dict)
    entries: dict[str, Entries] = field(default_factory=dict)
    hazards: dict[str, SheetRow] = field(default_factory=dict)
    changed: list[str] = field(default_factory=list)  # columns of the design
    redrawn: bool = False


def import_rows(
    rows: Mapping[str, Sequence[SheetRow]], *, by: Actor, report: Report, progress: Progress
) -> None:
    """Do what the rows of each table say.  Bad cells are named on the rows; the caller takes it all back."""
    plans = _Plans(report)
    for done, row in enumerate(rows[POSITIONS.sheet]):
        plans.draw(row)
        if done % 500 == 0:
            progress("checking", done)
    for kind in KINDS:
        for row in rows[kind.table.sheet]:
            plans.enter(kind.name, row)
    for row in rows[HAZARD.sheet]:
        plans.warn(row)
    for row in rows[DRAWINGS.sheet]:
        plans.describe(row)
    plans.carry_out()


class _Plans:
    def __init__(self, report: Report) -> None:
        self.report, self.specs, self.designs = report, SpecReader(), DesignNames()
        self.by_design: dict[int, _Plan] = {}

    def _of(self, row: SheetRow) -> _Plan | None:
        """The plan for the design of a row, made with the design where there is none."""
        name, revision = (
            cells.text(row, "design", _LONGEST["design"]),
            cells.text(row, "revision", _LONGEST["revision"]),
        )
        if not row["design"]:
            row.bad("design", "expected the name of the design in every row")
        if not row.sound and not name:
            return None
        design = self.designs.get(name, revision)
        made = design is None
        if design is None:
            design = Design.objects.create(name=name, revision=revision)
            self.designs.add(design)
            self.report.notes.append(f"Design made: {design}.")
        if design.pk not in self.by_design:
            known = {position.ref: position for position in design.positions.select_related("spec")}
            self.by_design[design.pk] = _Plan(design, made, known)
        return self.by_design[design.pk]

    def draw(self, row: SheetRow) -> None:
        plan = self._of(row)
        made = changed = False
        for drawn in drawn_in(row, self.specs, plan.known if plan else {}):
            if plan is None:
                break
            first = plan.drawn_in.setdefault(drawn.ref, row)
            if first is not row:
                row.bad("ref", f"{drawn.ref} is in row {first.number} already")
            plan.drawn[drawn.ref] = drawn
            now = plan.known.get(drawn.ref)
            made = made or now is None
            changed = changed or (now is not None and not _as_drawn(now, drawn))
        if plan is not None:
            plan.redrawn = plan.redrawn or made or changed
            if len(plan.known.keys() | plan.drawn.keys()) > MAX_POSITIONS:
                row.bad("ref", f"a design has at most {MAX_POSITIONS:,} positions")
        if made:
            self.report.created += 1
        else:
            self.report.count(changed=changed)

    def enter(self, kind: str, row: SheetRow) -> None:
        plan = self._of(row)
        if not row["name"]:
            row.bad("name", "expected a name")
        elif plan is not None:
            entries = plan.entries.setdefault(
                kind, Entries(next(each for each in KINDS if each.name == kind))
            )
            entries.add(row)

    def warn(self, row: SheetRow) -> None:
        plan = self._of(row)
        word = cells.word(row, "name", {word.replace("_", ""): word for word in HAZARDS})
        if not row["name"]:
            row.bad("name", f"must be one of {', '.join(HAZARDS)}")
        if plan is not None and word:
            plan.hazards.setdefault(word, row)
            if word in plan.design.hazards:
                self.report.unchanged += 1
            else:
                self.report.created += 1

    def describe(self, row: SheetRow) -> None:
        plan = self._of(row)
        note = cells.text(row, "note", _LONGEST["note"])
        if plan is not None:
            changed = row.has("note") and plan.design.note.strip() != note
            if changed:
                plan.design.note = note
                plan.changed.append("note")
            if plan.made:
                self.report.created += 1
            else:
                self.report.count(changed=changed)

    def carry_out(self) -> None:
        for plan in self.by_design.values():
            self._judge_drawing(plan)
            left = [ref for ref in plan.known if ref not in plan.drawn]
            if plan.redrawn and all(row.sound for row in plan.drawn_in.values()):
                draw(plan.design, [*plan.drawn.values(), *(_drawn_now(plan.known[ref]) for ref in left)])
            if left and plan.drawn:
                refs = write_refs(left)[:200]
                self.report.notes.append(f"{plan.design}: positions that are not in the sheet stay: {refs}.")
            if plan.redrawn or plan.changed:
                plan.design.version += 1
                plan.design.save(update_fields=[*dict.fromkeys(plan.changed), "version"])

    def _judge_drawing(self, plan: _Plan) -> None:
        """Set links, rails, banks and hazards on the design; name what is wrong with them."""
        before = {name: getattr(plan.design, name) for name in ("links", "rails", "banks", "hazards")}
        drawing = dict(before)
        drawing |= {kind: entries.entries for kind, entries in plan.entries.items()}
        if plan.hazards:
            drawing["hazards"] = list(plan.hazards)
        refs = plan.known.keys() | plan.drawn.keys()
        sound = True
        for problem in problems_with_design(drawing, refs):
            part, *pointer = problem.pointer.removeprefix("/").split("/")
            if part in plan.entries:
                plan.entries[part].bad(pointer, problem.detail)
                sound = False
        self._judge_conditions(plan, drawing["banks"], refs)
        for kind, entries in plan.entries.items():
            known = {entry.get("name"): entry for entry in before[kind]}
            for entry, rows in zip(entries.entries, entries.rows, strict=True):
                if entry.get("name") in known:
                    changed = not same(known[entry.get("name")], entry)
                    for _row in rows:
                        self.report.count(changed=changed)
                else:
                    self.report.created += len(rows)
        for name, value in drawing.items():
            if sound and not same(before[name], value):
                setattr(plan.design, name, value)
                plan.changed.append(name)

    def _judge_conditions(self, plan: _Plan, banks: object, refs: Collection[str]) -> None:
        drawn = list(plan.drawn.values())
        conditions = [(each.ref, each.empty_when) for each in drawn]
        for problem in problems_with_conditions(conditions, banks, refs):
            index = int(problem.pointer.split("/")[1])
            plan.drawn_in[drawn[index].ref].bad("empty_when", problem.detail)


def _as_drawn(now: Position, drawn: PositionDraft) -> bool:
    if now.spec.spec != drawn.spec:
        return False
    return all(_plain(getattr(now, name)) == _plain(getattr(drawn, name)) for name in PLACED)


def _plain(value: Any) -> Any:
    return value.strip() if isinstance(value, str) else value


def _drawn_now(position: Position) -> PositionDraft:
    return PositionDraft(
        ref=position.ref, spec=position.spec.spec, **{name: getattr(position, name) for name in PLACED}
    )
