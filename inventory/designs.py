"""Designs: what may be written down as one, changing a design's positions, and what differs between two.

What a design says of links, rails, banks and hazards is read by `inventory.design_facts`.
"""

from collections.abc import Collection, Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from decimal import Decimal
from typing import Any

from django.db import transaction

from inventory.design_facts import read_conditions, read_design
from inventory.models import REF_LENGTH, Design, Position, StoredSpec
from inventory.refs import UnreadableRefs, parse_refs, split_ref
from inventory.refusals import Code
from inventory.spec import FieldProblem, Fit, Spec, fits
from inventory.whole_numbers import whole_number

SIDES = ("", "top", "bottom")
MAX_POSITIONS = 5000


@dataclass(frozen=True)
class PositionDraft:
    """One position as it is to be drawn."""

    ref: str
    spec: Spec
    socketed: bool = False
    note: str = ""
    x: Decimal | None = None
    y: Decimal | None = None
    side: str = ""
    empty_when: Mapping[str, Any] = field(default_factory=dict)


@transaction.atomic
def draw(design: Design, positions: Sequence[PositionDraft]) -> None:
    """Make these the design's positions: what stays keeps its row, the rest goes."""
    specs = StoredSpec.keep_all([drawn.spec for drawn in positions])
    known = {position.ref: position for position in design.positions.all()}
    design.positions.exclude(ref__in=[drawn.ref for drawn in positions]).delete()
    rows = [
        Position(
            pk=known[drawn.ref].pk if drawn.ref in known else None,
            design=design,
            ref=drawn.ref,
            spec=specs[drawn.spec],
            **{name: getattr(drawn, name) for name in PLACED},
        )
        for drawn in positions
    ]
    Position.objects.bulk_create([row for row in rows if row.pk is None], batch_size=500)
    Position.objects.bulk_update(
        [row for row in rows if row.pk is not None], ["spec", *PLACED], batch_size=200
    )


PLACED = ("socketed", "note", "x", "y", "side", "empty_when")


# --- what a design may be


def is_ref(text: str) -> bool:
    """Whether this is one reference designator, as it would be written on a board."""
    try:
        return parse_refs(text) == [text]
    except UnreadableRefs:
        return False


def problems_with_refs(refs: Sequence[str]) -> list[FieldProblem]:
    """References that cannot be read or are given twice, by their place in the list."""
    problems = []
    first: dict[str, int] = {}
    for index, ref in enumerate(refs):
        if not is_ref(ref):
            detail = (
                f"{ref[:REF_LENGTH]!r}: must be one reference such as R7, at most {REF_LENGTH} characters"
            )
            problems.append(FieldProblem(f"/{index}/ref", Code.UNREADABLE, detail))
        elif ref in first:
            problems.append(
                FieldProblem(f"/{index}/ref", Code.REPEATED, f"{ref} exists already, at {first[ref]}")
            )
        first.setdefault(ref, index)
    return problems


def problems_with_design(data: Mapping[str, Any], refs: Collection[str]) -> list[FieldProblem]:
    """Everything wrong with the hazards, links, rails and banks of a design that has these references."""
    return list(read_design(data, refs).problems)


def problems_with_conditions(
    conditions: Sequence[tuple[str, Any]], banks: object, refs: Collection[str]
) -> list[FieldProblem]:
    """What is wrong with (reference, when it is left empty), by their place in the list."""
    return read_conditions(conditions, banks, refs)[1]


def named(text: str) -> Design | None:
    """The design of this number, or of this name and revision: `Tern TR6 main board C`."""
    if (number := whole_number(text)) is not None:
        return Design.objects.filter(pk=number).first()
    return next((each for each in Design.objects.order_by("id") if str(each) == text), None)


# --- what differs


@dataclass(frozen=True)
class Change:
    """A reference with another part in each: what differs, and whether the old part serves the new."""

    ref: str
    was: Position
    now: Position
    properties: tuple[str, ...]
    fit: Fit


@dataclass(frozen=True)
class Comparison:
    same: tuple[Position, ...]
    changed: tuple[Change, ...]
    added: tuple[Position, ...]
    removed: tuple[Position, ...]


def compare(old: Design, new: Design) -> Comparison:
    """By reference, in natural order: from the old design to the new one."""
    was = {position.ref: position for position in old.positions.select_related("spec")}
    now = {position.ref: position for position in new.positions.select_related("spec")}
    both = [ref for ref in _in_order(was) if ref in now]
    changes = {ref: change for ref in both if (change := _change(was[ref], now[ref])) is not None}
    return Comparison(
        same=tuple(was[ref] for ref in both if ref not in changes),
        changed=tuple(changes.values()),
        added=tuple(now[ref] for ref in _in_order(now) if ref not in was),
        removed=tuple(was[ref] for ref in _in_order(was) if ref not in now),
    )


def _in_order(refs: Collection[str]) -> Iterator[str]:
    return iter(sorted(refs, key=split_ref))


def _change(was: Position, now: Position) -> Change | None:
    before, after = was.spec.spec.to_dict(), now.spec.spec.to_dict()
    differing = [name for name in before if before[name] != after[name] and not name.endswith("_text")]
    if was.socketed != now.socketed:
        differing.append("socketed")
    if not differing:
        return None
    return Change(was.ref, was, now, tuple(differing), fits(now.spec.spec, was.spec.spec))
