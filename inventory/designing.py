"""A design written down line by line (`R1, R3 47k 5% 0.25W`), changed by position, copied to a revision."""

import re
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace
from typing import Any

from django.db import transaction
from django.db.models import F

from inventory.designs import (
    MAX_POSITIONS,
    PLACED,
    PositionDraft,
    draw,
    problems_with_design,
    problems_with_refs,
)
from inventory.ledger import Refused
from inventory.models import Design, Position, StoredSpec
from inventory.part_lines import PartLine, read_line
from inventory.refs import split_ref
from inventory.refusals import Code
from inventory.spec import Spec

NOTE_LENGTH = Position._meta.get_field("note").max_length or 0


@dataclass(frozen=True)
class PositionLine:
    """One line as it was typed and as it is read; `wrong` says why it cannot be taken as it stands."""

    number: int
    text: str
    read: PartLine
    wrong: str = ""
    socketed: bool = False

    @property
    def refs(self) -> tuple[str, ...]:
        return self.read.refs

    @property
    def spec(self) -> Spec | None:
        return self.read.spec

    @property
    def beside(self) -> tuple[str, ...]:
        """What was understood of a word and stands nowhere in the part's own line: `0.4 Ω`, `red`."""
        spec_text = self.spec.text.casefold() if self.spec else ""
        traits = self.spec.traits if self.spec else {}
        return tuple(
            f"{word.label} {word.meaning}"
            for word in self.read.words
            if word.understood and word.property_name in traits and word.meaning.casefold() not in spec_text
        )

    @property
    def note(self) -> str:
        """The words that say nothing of the part: they are kept with the position, never dropped."""
        return " ".join(word.text for word in self.read.unread)[:NOTE_LENGTH]


def read_positions(text: str, *, taken: Iterable[str] = ()) -> list[PositionLine]:
    """The lines that say something, each with what is wrong: no reference, no part, a reference twice."""
    seen = set(taken)
    lines = []
    for number, typed in enumerate(text.splitlines(), 1):
        if not typed.strip():
            continue
        line = _line(number, typed.strip())
        twice = [ref for ref in line.refs if ref in seen]
        wrong = ""
        if line.spec is None:
            wrong = "nothing in it says which part: a value such as 47k, or a type such as BC547"
        elif not line.refs:
            wrong = "it names no reference: begin with one, such as R1 or R1-R4"
        elif line.read.ambiguous:
            wrong = line.read.doubts[0]
        elif twice:
            wrong = f"{twice[0]} exists already"
        elif problems := problems_with_refs(list(line.refs)):
            wrong = problems[0].detail
        seen.update(line.refs)
        lines.append(replace(line, wrong=wrong))
    if len(seen) > MAX_POSITIONS:
        lines[-1] = replace(lines[-1], wrong=f"a design has at most {MAX_POSITIONS} positions")
    return lines


_SOCKETED = re.compile(r"[\s,;]+(?:in (?:a )?socket|socketed|socket(?=\s*$))(?=[\s,;]|$)", re.IGNORECASE)


def _line(number: int, typed: str) -> PositionLine:
    """One line read; `socketed` where it says so, and is no socket itself."""
    read = read_line(typed)
    bare = _SOCKETED.sub("", typed)
    if bare != typed and read.unread:
        without = read_line(bare)
        if without.spec is not None and without.spec.kind != "socket":
            return PositionLine(number, typed, without, socketed=True)
    return PositionLine(number, typed, read)


def drawn_from(lines: Sequence[PositionLine]) -> list[PositionDraft]:
    """The positions that the lines write down.  Refused (`unreadable`) where one is wrong."""
    for line in lines:
        if line.wrong:
            raise Refused(Code.UNREADABLE, f"line {line.number}, {line.text}: {line.wrong}")
    return [
        PositionDraft(ref, line.spec, note=line.note, socketed=line.socketed)
        for line in lines
        if line.spec
        for ref in line.refs
    ]


@transaction.atomic
def make(name: str, revision: str, lines: Sequence[PositionLine]) -> Design:
    """A new design of these positions.  Refused where a line is wrong or the name is taken."""
    positions = drawn_from(lines)
    refuse_taken(name, revision)
    design = Design.objects.create(name=name, revision=revision)
    draw(design, positions)
    return design


def refuse_taken(name: str, revision: str) -> None:
    if Design.objects.filter(name=name, revision=revision).exists():
        raise Refused(Code.TAKEN, f"there is a design {name} {revision}".rstrip() + " already")


@transaction.atomic
def copy(design: Design, name: str, revision: str) -> Design:
    """The same positions and facts under another name or revision, without boards and pictures."""
    refuse_taken(name, revision)
    facts = {each: getattr(design, each) for each in ("note", "hazards", "links", "rails", "banks")}
    made = Design.objects.create(name=name, revision=revision, **facts)
    draw(made, _as_drawn(design))
    return made


@transaction.atomic
def add(design: Design, lines: Sequence[PositionLine]) -> list[str]:
    """Further positions; the references that were added."""
    positions = drawn_from(lines)
    _claim(design)
    draw(design, [*_as_drawn(design), *positions])
    return [each.ref for each in positions]


@transaction.atomic
def change(design: Design, ref: str, spec: Spec, *, socketed: bool, note: str) -> None:
    """Another requirement, socket or note at one position; where it is on the picture stays."""
    _claim(design)
    stored = StoredSpec.keep(spec)
    if not design.positions.filter(ref=ref).update(spec=stored, socketed=socketed, note=note[:NOTE_LENGTH]):
        raise Refused(Code.UNKNOWN_POSITION, f"{design} has no position {ref}")


@transaction.atomic
def remove(design: Design, ref: str) -> None:
    """A position fewer.  Refused (`in_use`) where a link, rail or bank of the design names it."""
    rest = [each for each in _as_drawn(design) if each.ref != ref]
    facts = {name: getattr(design, name) for name in ("hazards", "links", "rails", "banks")}
    problems = problems_with_design(facts, [each.ref for each in rest])
    if problems:
        raise Refused(Code.IN_USE, f"{ref} stays: {problems[0].detail}")
    _claim(design)
    draw(design, rest)


@transaction.atomic
def change_facts(design: Design, **members: Any) -> None:
    """Other hazards, links, rails or banks.  Refused (`unreadable`) where they cannot be read."""
    facts = {name: getattr(design, name) for name in ("hazards", "links", "rails", "banks")} | members
    refs = design.positions.values_list("ref", flat=True)
    if problems := problems_with_design(facts, list(refs)):
        where = problems[0].pointer.strip("/").replace("/", " ")
        raise Refused(Code.UNREADABLE, f"{where}: {problems[0].detail}")
    _claim(design)
    Design.objects.filter(pk=design.pk).update(**members)


def _as_drawn(design: Design) -> list[PositionDraft]:
    rows = sorted(design.positions.select_related("spec"), key=lambda row: split_ref(row.ref))
    return [
        PositionDraft(row.ref, row.spec.spec, **{name: getattr(row, name) for name in PLACED}) for row in rows
    ]


def _claim(design: Design) -> None:
    Design.objects.select_for_update().get(pk=design.pk)
    Design.objects.filter(pk=design.pk).update(version=F("version") + 1)
