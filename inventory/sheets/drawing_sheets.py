"""The further sheets of a design's workbook: links, rails, banks, hazards and the note of the drawing.

A sheet holds one kind of entry of `inventory.design_facts`.  What an entry has several of (the rules of a
link, the address ranges of a bank) stands in a row each, with the entry's own cells in the first or in all
of them.
"""

from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from typing import Any

from inventory.design_facts import HAZARDS
from inventory.refs import UnreadableRefs, parse_refs, write_refs
from inventory.sheets.pairs import read_list, read_pairs, write_list, write_pairs
from inventory.sheets.positions_sheet import DESIGN, NOTE, REVISION, read_when, whole_or_text
from inventory.sheets.table import Column, SheetRow, Table

LINKS = Table(
    (
        DESIGN, REVISION,
        Column("name", "Link", "Name, Jumper, Strap", "Name on the board: LK1.", needed=True, width=8),
        Column("purpose", "Purpose", "For", "What it chooses.", width=20),
        Column(
            "settings", "Settings", "Ways",
            "All its settings, with commas: 1-2, 2-3.",
            needed=True, width=14,
        ),
        NOTE,
        Column(
            "setting", "Setting", "Set to",
            "The setting that goes with the next cell.  A row for each such rule.",
            width=9,
        ),
        Column(
            "when", "When", "Fitted, If",
            "What is fitted: ref=IC10; number=2716; make=Intel | NEC.  Or a bank=… with suffix, half, "
            "make, number or count.",
            width=44,
        ),
        Column("rule_note", "Rule note", "Why", "Why.", width=40),
    ),
    sheet="Links",
)  # fmt: skip
RAILS = Table(
    (
        DESIGN, REVISION,
        Column("name", "Rail", "Name, Supply", "Name of the rail: +5V.", needed=True, width=9),
        Column(
            "nominal", "Nominal", "Volts, Voltage",
            "Volts that it should have.",
            needed=True, figure=True,
        ),
        Column("low", "Low", "Min, Minimum, Lowest", "The least volts allowed.", needed=True, figure=True),
        Column(
            "high", "High", "Max, Maximum, Highest",
            "The most volts allowed.",
            needed=True, figure=True,
        ),
        Column("order", "Order", "Step", "Which is proven first: 1.", figure=True, width=7),
        Column("at", "At", "Measured at, Where", "Where to measure.", width=24),
        Column(
            "protects", "Protects", "Before",
            "What stays empty until this rail is good: IC6, IC7.",
            width=24,
        ),
        Column(
            "ohms_low", "Least ohms", "Ohms low, Min ohms",
            "The least ohms to ground of a sound board, where that is below 10.", figure=True,
        ),
        Column(
            "ohms_high", "Most ohms", "Ohms high, Max ohms",
            "The most ohms to ground of a sound board, where something on it draws.", figure=True,
        ),
        NOTE,
    ),
    sheet="Rails",
)  # fmt: skip
BANKS = Table(
    (
        DESIGN, REVISION,
        Column("name", "Bank", "Name", "Name of the bank.", needed=True, width=16),
        Column(
            "refs", "Refs", "Ref, Positions, References",
            "Its positions: IC1-IC8.",
            needed=True, width=20,
        ),
        Column(
            "equal", "Equal", "Same",
            "What must be alike in all: number, make, suffix, half.",
            width=18,
        ),
        Column("counts", "Counts", "Count", "How many may be fitted: 0, 8.", width=9),
        NOTE,
        Column(
            "start", "First address", "Start",
            "In hexadecimal.  A row for each stretch of addresses.",
            width=9,
        ),
        Column("end", "Last address", "End", "In hexadecimal.", width=9),
        Column(
            "bits", "Bits", "Data",
            "Which position holds which bits: D0-D3=IC12; D4-D7=IC13.",
            width=30,
        ),
        Column("span_note", "Stretch note", "", "Anything else about the stretch.", width=24),
    ),
    sheet="Banks",
)  # fmt: skip
_HAZARD = Column(
    "name",
    "Hazard",
    "Danger",
    "What can hurt someone on this board.",
    needed=True,
    choices=HAZARDS,
    width=16,
)
HAZARD = Table((DESIGN, REVISION, _HAZARD), sheet="Hazards")
DRAWINGS = Table((DESIGN, REVISION, NOTE), sheet="Designs")


# --- a cell and the member of an entry that it holds


def _numbers(text: str) -> list[Any]:
    return [whole_or_text(each) for each in read_list(text)]


def _refs(text: str) -> list[str]:
    try:
        return parse_refs(text)
    except UnreadableRefs as refused:
        raise ValueError(str(refused)) from None


def _write_refs(refs: Sequence[str]) -> str:
    """In their own order, shortened where that is the natural one."""
    short = write_refs(refs)
    return short if parse_refs(short) == list(refs) else ", ".join(refs)


@dataclass(frozen=True)
class _Member:
    """Column key -> member of the entry; `inner` members belong to the list that the entry holds."""

    key: str
    name: str
    read: Callable[[str], Any] = str
    write: Callable[[Any], str] = str
    inner: bool = False


@dataclass(frozen=True)
class EntryKind:
    """A kind of entry: its sheet, its members, and the name of the list that it may hold."""

    name: str
    table: Table
    members: tuple[_Member, ...]
    inner: str = ""

    def key_of(self, name: str, *, inner: bool) -> str:
        """The column of a member, by its name in the entry."""
        return next(
            (member.key for member in self.members if (member.name, member.inner) == (name, inner)), "name"
        )


KINDS = (
    EntryKind(
        "links", LINKS,
        (
            _Member("name", "name"), _Member("purpose", "purpose"),
            _Member("settings", "settings", read_list, write_list), _Member("note", "note"),
            _Member("setting", "setting", inner=True),
            _Member("when", "when", read_when, write_pairs, inner=True),
            _Member("rule_note", "note", inner=True),
        ),
        inner="rules",
    ),
    EntryKind(
        "rails", RAILS,
        (
            _Member("name", "name"), _Member("nominal", "nominal"),
            _Member("low", "low"), _Member("high", "high"),
            _Member("order", "order", whole_or_text), _Member("at", "at"),
            _Member("protects", "protects", _refs, _write_refs), _Member("ohms_low", "ohms_low"),
            _Member("ohms_high", "ohms_high"), _Member("note", "note"),
        ),
    ),
    EntryKind(
        "banks", BANKS,
        (
            _Member("name", "name"), _Member("refs", "refs", _refs, _write_refs),
            _Member("equal", "equal", read_list, write_list),
            _Member("counts", "counts", _numbers, write_list),
            _Member("note", "note"), _Member("start", "start", inner=True), _Member("end", "end", inner=True),
            _Member("bits", "bits", read_pairs, write_pairs, inner=True),
            _Member("span_note", "note", inner=True),
        ),
        inner="map",
    ),
)  # fmt: skip


# --- rows to entries


@dataclass
class Entries:
    """The entries of one design on one sheet, and the rows that each stands in."""

    kind: EntryKind
    entries: list[dict[str, Any]] = field(default_factory=list)
    rows: list[list[SheetRow]] = field(default_factory=list)

    def add(self, row: SheetRow) -> None:
        """Take a row in: a new entry, or more of the one with its name."""
        members = {member: _read(row, member) for member in self.kind.members if row[member.key]}
        own = {member.name: value for member, value in members.items() if not member.inner}
        inner = {member.name: value for member, value in members.items() if member.inner}
        index = next((at for at, entry in enumerate(self.entries) if entry.get("name") == row["name"]), None)
        if index is None or not self.kind.inner:
            self.entries.append(own)
            self.rows.append([row])
            index = len(self.entries) - 1
        else:
            self.rows[index].append(row)
            for member in self.kind.members:
                if (
                    not member.inner
                    and member.name in own
                    and own[member.name] != self.entries[index].get(member.name)
                ):
                    first = self.rows[index][0].number
                    row.bad(
                        member.key, f"row {first} says otherwise for {row['name']}: expected one or the other"
                    )
        if inner:
            self.entries[index].setdefault(self.kind.inner, []).append(inner)

    def bad(self, pointer: Sequence[str], detail: str) -> None:
        """Name the cell that a pointer into the entries (`2`, `rules`, `0`, `when`, `ref`) is about."""
        index = int(pointer[0]) if pointer and pointer[0].isdigit() else 0
        rows = self.rows[index]
        if len(pointer) > 3 and pointer[1] == self.kind.inner and pointer[2].isdigit():
            with_inner = [
                row for row in rows if any(row[member.key] for member in self.kind.members if member.inner)
            ]
            with_inner[int(pointer[2])].bad(self.kind.key_of(pointer[3], inner=True), detail)
        else:
            rows[0].bad(self.kind.key_of(pointer[1] if len(pointer) > 1 else "name", inner=False), detail)


def _read(row: SheetRow, member: _Member) -> Any:
    try:
        return member.read(row[member.key])
    except ValueError as refused:
        row.bad(member.key, str(refused))
        return None


def same(one: Any, other: Any) -> bool:
    """Whether two entries say the same: what is left out is blank, and a list of one is its item."""
    return bool(_normalised(one) == _normalised(other))


def _normalised(entry: Any) -> Any:
    if isinstance(entry, Mapping):
        members = {name: _normalised(value) for name, value in entry.items()}
        return {name: value for name, value in members.items() if value not in ("", None, [], {})}
    if isinstance(entry, list):
        items = [_normalised(each) for each in entry]
        return items[0] if len(items) == 1 and not isinstance(items[0], dict) else items
    return str(entry).strip() if isinstance(entry, str | int) else entry


# --- entries to rows


def rows_of(kind: EntryKind, entries: Iterable[Mapping[str, Any]]) -> Iterator[dict[str, str]]:
    """Column key -> text for each row that the entries take."""
    for entry in entries:
        own = {member.key: _written(member, entry) for member in kind.members if not member.inner}
        for inner in entry.get(kind.inner) or [{}]:
            yield own | {member.key: _written(member, inner) for member in kind.members if member.inner}


def _written(member: _Member, entry: Mapping[str, Any]) -> str:
    value = entry.get(member.name)
    return "" if value in (None, "", [], {}) else member.write(value)
