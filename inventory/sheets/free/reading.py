"""Rows of a list read: the part, how many, where, and what is doubtful, beside what was typed.  Pure.

One file: what a cell means depends on the other cells of its row, so that its readers call each other.
"""

import re
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, field, replace
from functools import lru_cache
from typing import Any

from inventory.part_lines import PartLine, read_line, read_quantity
from inventory.part_lines.cores import BARE
from inventory.part_words.figures import offers_of
from inventory.part_words.kind_words import CLASSES, NamedKind, named_by, plainly
from inventory.part_words.vocabulary import NATURES
from inventory.refs import UnreadableRefs, parse_refs, split_ref
from inventory.sheets.free.conventions import Convention, by, convention_of, is_open_in
from inventory.sheets.free.headings import NUMBER_IN_LIST, plain_heading
from inventory.sheets.free.tables import FreeTable, is_place, is_total
from inventory.sheets.grid import Odd
from inventory.spec import Spec, SpecError
from inventory.spec.wording import property_word

PROPERTIES = (
    "tolerance_percent", "volts", "watts", "amps", "dielectric", "lead_style", "pitch_mm", "make",
)  # fmt: skip
BESIDE = ("marking", "condition", "price", "giver", "note")
"""Columns that are carried as they are typed."""
MEANINGS = (
    "refs", "quantity", "value", "text", "number", "kind", "package", "place", *PROPERTIES, *BESIDE,
    NUMBER_IN_LIST,
)  # fmt: skip
"""What a column may hold; blank is nothing that is read."""
_FIGURES = ("value", "text", "quantity", "price", "volts", "watts", "amps", "tolerance_percent", "pitch_mm")
_MAIN = ("text", "value", "number")
COUNTED_EACH = 500


@dataclass(frozen=True)
class Correction:
    """What a person says otherwise: of one row of a sheet, or of every row with this text in a column.

    `text` is read in place of that cell; `spec` holds fields of the part; `decimal` settles a column.
    """

    sheet: str = ""
    row: int = 0
    column: str = ""
    typed: str | None = None
    text: str | None = None
    spec: Mapping[str, Any] = field(default_factory=dict)
    quantity: int | None = None
    place: str | None = None
    refs: str | None = None
    skip: bool = False
    decimal: str = ""


@dataclass(frozen=True)
class FreeRow:
    """A row and its reading; `problems` keep the list from being imported, `doubts` do not.

    `skipped` says why a row is none of a part.
    """

    number: int
    cells: Mapping[str, str]
    spec: Spec | None = None
    quantity: int | None = None
    refs: tuple[str, ...] = ()
    place: str = ""
    beside: Mapping[str, str] = field(default_factory=dict)
    doubts: tuple[str, ...] = ()
    problems: tuple[str, ...] = ()
    skipped: str = ""

    @property
    def typed(self) -> str:
        return " | ".join(text for text in self.cells.values() if text)


@dataclass(frozen=True)
class ColumnQuestion:
    """A column of which it must be said how its figures are meant."""

    sheet: str
    column: str
    example: str
    choices: tuple[tuple[str, str], ...]


@dataclass(frozen=True)
class FreeReading:
    """A table as it is read: its rows, by which convention its figures are, and what must be asked."""

    table: FreeTable
    rows: tuple[FreeRow, ...]
    conventions: Mapping[str, str]
    questions: tuple[ColumnQuestion, ...]


def read_table(
    table: FreeTable,
    corrections: Sequence[Correction] = (),
    count: Callable[[int], None] = lambda _rows: None,
) -> FreeReading:
    """Every row of the table, in its order; `count` hears how many are read, now and then."""
    conventions = _conventions(table, corrections)
    by_typed = {(plain_heading(c.column), c.typed): c for c in corrections if c.typed is not None}
    by_row = {
        (c.row, plain_heading(c.column)): c for c in corrections if c.row and c.sheet in ("", table.sheet)
    }
    rows, section = [], _Section()
    for number, texts in table.rows:
        cells = {column.heading: texts[column.at] for column in table.columns}
        of_row = [
            correction
            for column in table.columns
            for correction in (
                by_typed.get((plain_heading(column.heading), cells[column.heading])),
                by_row.get((number, plain_heading(column.heading))),
            )
            if correction is not None
        ]
        if (number, "") in by_row:
            of_row.append(by_row[number, ""])
        row = _read_row(table, number, cells, conventions, of_row, section)
        rows.append(row)
        if len(rows) % COUNTED_EACH == 0:
            count(len(rows))
    decided = {
        heading: f"decimal {'comma' if c.decimal == ',' else 'point'}, {c.why}"
        for heading, c in conventions.items()
        if c.decimal
    }
    questions = tuple(
        ColumnQuestion(table.sheet, heading, c.example, _choices(c.example))
        for heading, c in conventions.items()
        if c.open
    )
    return FreeReading(table, tuple(rows), decided, questions)


def _choices(example: str) -> tuple[tuple[str, str], ...]:
    return tuple((sign, by(Convention(sign), example).replace(",", ".")) for sign in ",.")


def _conventions(table: FreeTable, corrections: Sequence[Correction]) -> dict[str, Convention]:
    """Column -> how its figures are written: as it shows, else as the other columns of the table show."""
    of = {
        column.heading: convention_of(row[1][column.at] for row in table.rows)
        for column in table.columns
        if column.meaning in _FIGURES
    }
    shown = {convention.decimal for convention in of.values()} - {""}
    elsewhere = shown.pop() if len(shown) == 1 and not any(each.mixed for each in of.values()) else ""
    for heading, convention in of.items():
        if convention.open and not convention.mixed and elsewhere:
            of[heading] = replace(convention, decimal=elsewhere, why="as in the other columns")
    for correction in corrections:
        for heading in of:
            if correction.decimal and plain_heading(correction.column) == plain_heading(heading):
                of[heading] = replace(of[heading], decimal=correction.decimal, why="as you said")
    return of


@dataclass
class _Section:
    """What the rows above say of those below them."""

    kind: NamedKind | None = None
    place: str = ""


def _read_row(
    table: FreeTable,
    number: int,
    cells: dict[str, str],
    conventions: Mapping[str, Convention],
    corrections: Sequence[Correction],
    section: _Section,
) -> FreeRow:
    row = FreeRow(number, dict(cells))
    if any(correction.skip for correction in corrections):
        return replace(row, skipped="left out, as you said")
    for correction in corrections:
        if correction.text is not None:
            heading = next(h for h in cells if plain_heading(h) == plain_heading(correction.column))
            cells[heading] = correction.text
    if reason := _no_part(table, cells, section):
        return replace(row, skipped=reason)
    texts: dict[str, list[str]] = {}
    problems: list[str] = []
    doubts: list[str] = []
    undecided = False
    for column in table.columns:
        cell = cells[column.heading]
        if not cell or not column.meaning:
            continue
        if isinstance(cell, Odd) and not cell.figure:
            problems.append(f"{column.heading}: {cell.why}")
        convention = conventions.get(column.heading, Convention())
        if not convention.decimal and convention.example and is_open_in(cell):
            choices = " or ".join(meant for _sign, meant in _choices(cell))
            problems.append(f"{column.heading}: {cell} could be {choices}: say how its figures are written")
            undecided = True
            continue  # nothing is read from it before that is said
        texts.setdefault(column.meaning, []).append(by(convention, str(cell)))
    one = {meaning: " ".join(words) for meaning, words in texts.items()}
    refs = _refs(one.get("refs", ""), doubts)
    line = _line(one, refs, section)
    spec = _spec(one, line, doubts)
    spec = _corrected(spec, corrections, problems)
    quantity, about = _quantity(one, line, refs, doubts, problems)
    for correction in corrections:
        quantity = quantity if correction.quantity is None else correction.quantity
        refs = refs if correction.refs is None else _refs(correction.refs, doubts)
    place = next((c.place for c in corrections if c.place is not None), None)
    corrected = any(correction.spec for correction in corrections)
    if not corrected:
        doubts += [f"{word.text}: {word.reason}" for word in (line.unread if line else ())]
        doubts += line.doubts if line else ()
    if line and line.ambiguous and not corrected:
        problems.append(doubts.pop(doubts.index(line.doubts[0])))
    if spec is None and not undecided:
        problems.append("nothing in the row says which part this is")
    beside = {name: one[name] for name in BESIDE if name in one}
    if about:
        beside["note"] = "; ".join(filter(None, (beside.get("note", ""), f"about {quantity}")))
    return replace(
        row,
        spec=spec,
        quantity=quantity,
        refs=tuple(refs or (line.refs if line else ())),
        place=(one.get("place") or section.place) if place is None else place,
        beside=beside,
        doubts=tuple(dict.fromkeys(doubts)),
        problems=tuple(problems),
    )


def _no_part(table: FreeTable, cells: Mapping[str, str], section: _Section) -> str:
    """Why a row is none of a part: it sums up, heads what follows, or says nothing that is read."""
    filled = {heading: text for heading, text in cells.items() if text}
    read = [column for column in table.columns if column.meaning and column.meaning != NUMBER_IN_LIST]
    if is_total(list(filled.values())):
        return "a total"
    if not any(filled.get(column.heading) for column in read):
        return "nothing in it is read"
    alone = next(iter(filled.values())) if len(filled) == 1 else ""
    if alone and (kind := _kind_named(alone)):
        section.kind = kind
        return f"heads a section: {dict(kind.facts).get('device', kind.kind).replace('_', ' ')}"
    if alone and len(read) > 1:
        if is_place(alone):
            section.place = alone
            return f"heads a section: in {alone}"
        if read_line(alone[:200]).spec is None:
            section.kind = None
            return "a line of text"
    return ""


def _kind_named(text: str) -> NamedKind | None:
    return named_by(text.strip(" :-=*#"))


def _refs(text: str, doubts: list[str]) -> list[str]:
    if not text:
        return []
    try:
        return parse_refs(text)
    except UnreadableRefs as refused:
        doubts.append(f"references: {refused}")
        return []


def _line(one: Mapping[str, str], refs: Sequence[str], section: _Section) -> PartLine | None:
    main = " ".join(one[name] for name in _MAIN if name in one)[:200]
    if not main:
        return None
    kind = _kind_named(one.get("kind", ""))
    letters = split_ref(refs[0])[0].upper() if refs else ""
    if kind or letters in CLASSES:
        return _read(main, kind, "" if kind else letters)
    plain = _read(main, None, "")
    if "value" in one and BARE.fullmatch(main) and not section.kind:
        line = _read(main, NamedKind("resistor"), "")
        return replace(line, doubts=(f"{main} has no unit: taken as ohms", *line.doubts))
    hinted = _read(main, section.kind, "") if section.kind else plain
    # a row may stand under the wrong heading: what is read without a doubt is believed before the heading
    return hinted if hinted.readings and _cost(hinted) <= _cost(plain) or not plain.readings else plain


def _cost(line: PartLine) -> tuple[int, int]:
    return len(line.unread), len(line.doubts)


@lru_cache(maxsize=50_000)
def _read(main: str, kind: NamedKind | None, letters: str) -> PartLine:
    """The line, with the letters of its reference as a hint; those are no word of the row itself."""
    plain = read_line(main, kind=kind or "")
    if not letters or kind:
        return plain
    hinted = read_line(f"{letters}1 {main}"[:200])
    if not hinted.readings or (len(plain.unread) < len(hinted.unread) and plain.readings):
        return plain
    own = [
        replace(
            reading,
            words=tuple(
                replace(word, start=word.start - len(letters) - 2, end=word.end - len(letters) - 2)
                for word in reading.words[1:]
            ),
        )
        for reading in hinted.readings
    ]
    return replace(hinted, text=main, refs=(), readings=tuple(own), doubts=_without_counts(hinted.doubts))


def _without_counts(doubts: Sequence[str]) -> tuple[str, ...]:
    return tuple(doubt for doubt in doubts if not doubt.startswith("1 reference"))


def _spec(one: Mapping[str, str], line: PartLine | None, doubts: list[str]) -> Spec | None:
    """The part of the line with what the columns beside it say."""
    spec = line.spec if line else None
    if spec is None:
        kind = _kind_named(one.get("kind", ""))
        columns = [name for name in (*PROPERTIES, "package") if name in one]
        if not kind or not columns or line is not None:
            return None
        spec = Spec(kind=kind.kind, traits=dict(kind.facts))
    kind_cell = one.get("kind", "")
    if kind_cell and not _kind_named(kind_cell):
        doubts.append(f"kind: {kind_cell} is not a known kind")
    for name in PROPERTIES:
        if name in one:
            spec = _with(spec, {name: _fact(name, one[name])}, name, one[name], doubts)
    if "package" in one:
        spec = _packaged(spec, one["package"])
    return spec


def _fact(name: str, text: str) -> str:
    facts = dict(NATURES.get(plainly(text), ()))
    if name == "tolerance_percent":
        return text.lstrip("±+-/ ")
    return facts.get(name, text)


def _with(spec: Spec, facts: Mapping[str, Any], name: str, text: str, doubts: list[str]) -> Spec:
    data = {key: value for key, value in spec.to_dict().items() if value not in (None, "", {})}
    try:
        made = Spec.from_dict({**data, **facts})
    except SpecError as refused:
        doubts.append(f"{property_word(name)}: {text}: {refused.problems[0].detail}")
        return spec
    now = made.to_dict()
    for key in facts:
        if key in data and data[key] != now[key]:
            doubts.append(f"{property_word(name)}: the row says {data[key]} and {now[key]}")
    return made


def _packaged(spec: Spec, text: str) -> Spec:
    """The package in a cell, also where it is one of the words of a longer name, with pitch and leads."""
    nothing: list[str] = []
    found = False
    for word in (text, *re.split(r"[_:\s]+", text)):
        offers = [{name: value} for name, value in NATURES.get(plainly(word), ()) if name == "lead_style"]
        for offer in offers or offers_of(word):
            if set(offer) <= {"package", "lead_style", "pitch_mm"} and not (found and "package" in offer):
                spec = _with(spec, offer, "package", text, nothing)
                found = found or "package" in offer
                break
    return spec if found or spec.package else _with(spec, {"package": text[:64]}, "package", text, nothing)


def _corrected(spec: Spec | None, corrections: Sequence[Correction], problems: list[str]) -> Spec | None:
    for correction in corrections:
        if not correction.spec:
            continue
        data = spec.to_dict() if spec else {}
        if spec and correction.spec.get("kind", spec.kind) != spec.kind:
            data = {}
        try:
            spec = Spec.from_dict(
                {key: fact for key, fact in data.items() if fact not in (None, "", {})}
                | dict(correction.spec)
            )
        except SpecError as refused:
            problems += [f"{each.pointer.lstrip('/')}: {each.detail}" for each in refused.problems]
    return spec


def _quantity(
    one: Mapping[str, str], line: PartLine | None, refs: Sequence[str], doubts: list[str], problems: list[str]
) -> tuple[int | None, bool]:
    """How many, and whether only roughly so."""
    if "quantity" in one:
        count = read_quantity(one["quantity"])
        if count.quantity is None:
            problems.append(f"how many: {one['quantity']} is not a number of pieces")
            return None, False
        doubts += count.doubts
        doubts += [f"{word.text}: not understood beside the number" for word in count.unread]
        if refs and count.quantity != len(refs):
            doubts.append(f"{len(refs)} references, but {count.quantity} pieces")
        return count.quantity, count.about
    if line and line.quantity is not None:
        return line.quantity, line.about
    if not refs and not (line and line.refs):
        doubts.append("no number of pieces: taken as 1")
    return len(refs or (line.refs if line else ())) or 1, False
