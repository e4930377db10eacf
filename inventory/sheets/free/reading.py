"""Rows of a list read: the part, how many, where, and what is doubtful, beside what was typed.  Pure.

One file: what a cell means depends on the other cells of its row, so that its readers call each other.
"""

import re
from collections import defaultdict
from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field, replace
from functools import lru_cache, partial
from typing import Any

from inventory.part_lines import PartLine, read_line, read_quantity
from inventory.part_lines.cores import BARE
from inventory.part_lines.doubts import About, Doubt
from inventory.part_lines.parsing import UNKNOWN
from inventory.part_words.applying import apply_offers
from inventory.part_words.conventions import Convention, by, is_open_in, may_be_a_count, without_spaces
from inventory.part_words.footprints import package_facts
from inventory.part_words.kind_words import CLASSES, LONE_LETTERS, NamedKind, named_by, plainly
from inventory.part_words.vocabulary import NATURES
from inventory.refs import UnreadableRefs, parse_refs, split_ref
from inventory.sheets.free.choices import Choice, choices_of, in_unit
from inventory.sheets.free.columns import (
    FIGURES,
    MAIN,
    ColumnQuestion,
    Columns,
    columns_of,
    decimal_question,
    unit_question,
)
from inventory.sheets.free.corrections import Correction
from inventory.sheets.free.fitting import not_fitted
from inventory.sheets.free.headings import BESIDE, NUMBER_IN_LIST, PROPERTIES, plain_heading
from inventory.sheets.free.located import is_only_place, is_place, located
from inventory.sheets.free.tables import FreeColumn, FreeTable, is_total
from inventory.sheets.grid import Odd
from inventory.spec import Spec, SpecError
from inventory.spec.wording import property_word

COUNTED_EACH = 500
_LONGEST = 200
"""Signs of a part in words that are read."""
_BETWEEN = {"place": " / "}
"""As paths of places have it."""
_TEXTS = ("giver", "note")
"""Columns in which a day may be meant."""
_BESIDE_THE_PART = ("price", *_TEXTS)
"""Columns that a part can do without."""
_ABOUT_A_PART = frozenset(("place", "condition", "price", "giver", "note"))
"""Columns that say nothing of which part it is: a row of nothing else is postage, or a remark."""
_HAS_FIGURE = re.compile("[0-9½¼¾]")
_BEFORE_FIGURES = re.compile(r"(?<=[a-z])[- ]+(?=[0-9])")


class Problem(str):
    """The sentence as it is shown; `heading` is that of the column it is about, "" where it is the row."""

    heading: str
    detail: str

    def __new__(cls, detail: str, heading: str = "") -> "Problem":
        problem = super().__new__(cls, f"{heading}: {detail}" if heading else detail)
        problem.heading, problem.detail = heading, detail
        return problem


@dataclass(frozen=True)
class FreeRow:
    """A row and its reading; `problems` keep the list from being imported, `doubts` do not.

    `choices` are the parts that it may mean where that must be asked, `unitless` the column of its figure
    without a unit, `unknown_words` what nothing is known to read as.  `skipped` says why a row is no part.
    """

    number: int
    cells: Mapping[str, str]
    spec: Spec | None = None
    quantity: int | None = None
    refs: tuple[str, ...] = ()
    place: str = ""
    beside: Mapping[str, str] = field(default_factory=dict)
    doubts: tuple[str, ...] = ()
    problems: tuple[Problem, ...] = ()
    unknown_words: tuple[str, ...] = ()
    choices: tuple[Choice, ...] = ()
    unitless: str = ""
    skipped: str = ""

    @property
    def typed(self) -> str:
        return " | ".join(text for text in self.cells.values() if text)


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
    columns = columns_of(table, corrections)
    of_rows = _corrections_of_rows(table, corrections)
    rows, section = [], _Section(_kind_headed(table))
    for number, texts in table.rows:
        cells = {column.heading: texts[column.at] for column in table.columns}
        keys = [
            (plain_heading(heading), which) for heading, cell in cells.items() for which in (cell, number)
        ]
        of_row = [correction for key in (*keys, ("", number)) for correction in of_rows.get(key, ())]
        rows.append(_read_row(table, number, cells, columns, of_row, section))
        if len(rows) % COUNTED_EACH == 0:
            count(len(rows))
    return FreeReading(table, tuple(rows), columns.decided, tuple(_questions(table, columns, rows)))


def _kind_headed(table: FreeTable) -> NamedKind | None:
    """The kind of the parts of a list by the heading over them: `Capacitor`."""
    main = [column.heading for column in table.columns if column.meaning in MAIN]
    kinds = {kind for heading in main if (kind := _kind_named(heading))}
    return kinds.pop() if len(kinds) == 1 else None


def _corrections_of_rows(
    table: FreeTable, corrections: Sequence[Correction]
) -> Mapping[tuple[str, str | int], list[Correction]]:
    """Corrections of rows, by the column and what is typed in it, or by the column and the row."""
    of_rows: dict[tuple[str, str | int], list[Correction]] = defaultdict(list)
    for correction in corrections:
        column = plain_heading(correction.column)
        if correction.typed is not None:
            of_rows[column, correction.typed].append(correction)
        elif correction.row and _is_of(correction, table):
            of_rows[column, correction.row].append(correction)
    return of_rows


def absent_rows(tables: Sequence[FreeTable], corrections: Sequence[Correction]) -> dict[int, str]:
    """Number of a correction -> why there is nothing that it corrects.

    A column that no table has is not counted here: what was said of columns holds for other lists, too.
    """
    absent: dict[int, str] = {}
    typed_in: dict[str, set[str]] = defaultdict(set)
    for table in tables:
        for column in table.columns:
            typed_in[plain_heading(column.heading)].update(
                str(texts[column.at]) for _row, texts in table.rows
            )
    numbers = [(table, {row for row, _texts in table.rows}) for table in tables]
    for at, correction in enumerate(corrections):
        heading = plain_heading(correction.column)
        if correction.typed is not None:
            if heading in typed_in and correction.typed not in typed_in[heading]:
                absent[at] = f"no row has {correction.typed[:60]!r} in the column {correction.column[:60]}"
        elif correction.row and not any(
            correction.row in rows for table, rows in numbers if _is_of(correction, table)
        ):
            meant = [(table, rows) for table, rows in numbers if rows and _is_of(correction, table)]
            where = ", ".join(f"{min(rows)} to {max(rows)}" for _table, rows in meant)
            listed = " and ".join(dict.fromkeys(table.sheet for table, _rows in numbers)) or "none"
            sheet = f"the list is in rows {where}" if where else f"lists were found in these sheets: {listed}"
            named = f" of a list in sheet {correction.sheet[:60]}" if correction.sheet and not where else ""
            absent[at] = f"there is no row {correction.row}{named}: {sheet}"
    return absent


def _is_of(correction: Correction, table: FreeTable) -> bool:
    begins = correction.first_column.upper()
    return correction.sheet in ("", table.sheet) and begins in ("", table.first_column)


def _questions(table: FreeTable, columns: Columns, rows: Sequence[FreeRow]) -> Iterator[ColumnQuestion]:
    asked: dict[str, list[Choice]] = {}
    for row in rows:
        if row.unitless:
            asked.setdefault(row.unitless, []).extend(row.choices)
    for heading, convention in columns.conventions.items():
        if convention.open:
            yield decimal_question(table, heading, convention.example)
        if asked.get(heading):
            yield unit_question(table, heading, asked[heading], undecided=convention.open)


@dataclass
class _Section:
    """What the rows above say of those below them."""

    kind: NamedKind | None = None
    place: str = ""


def _read_row(
    table: FreeTable,
    number: int,
    cells: dict[str, str],
    columns: Columns,
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
    if words := not_fitted(table, cells):
        return replace(row, skipped=f"not to be fitted: {words}")
    texts: dict[str, list[str]] = {}
    problems: list[Problem] = []
    doubts: list[str] = []
    unknown: list[str] = []
    undecided: list[FreeColumn] = []
    settled = any({"kind", "value", "number"} & correction.spec.keys() for correction in corrections)
    given = _given(corrections, settled)
    unreadable: set[str] = set()
    for column in table.columns:
        cell = cells[column.heading]
        if column.meaning in ("", NUMBER_IN_LIST) or (
            column.meaning in MAIN and settled and is_open_in(cell)
        ):
            continue
        if isinstance(cell, Odd) and not cell.figure and not (cell and column.meaning in _TEXTS):
            if column.meaning in _BESIDE_THE_PART and not cell:
                doubts.append(f"{column.heading}: {cell.why}")
            elif column.meaning not in given:
                problems.append(Problem(cell.why, column.heading))
                unreadable.add(column.meaning)
            if column.meaning != "place":
                continue  # nothing is read from what is not what was typed
        if not cell:
            continue
        text = _joined(table, column, str(cell), problems)
        convention = columns.conventions.get(column.heading, Convention())
        if not convention.decimal and convention.example and is_open_in(text):
            either = " or ".join(meant for _sign, meant in decimal_question(table, "", text).choices)
            problems.append(
                Problem(f"{cell} could be {either}: say how its figures are written", column.heading)
            )
            undecided.append(column)
            continue  # nothing is read from it before that is said
        texts.setdefault(column.meaning, []).append(columns.figure(column.heading, text))
    one = _with_place(_together(_with_kind(texts)))
    if sum(len(one.get(name, "")) for name in MAIN) > _LONGEST:
        doubts.append(f"only the first {_LONGEST} characters of what says the part are read")
    refs = _refs(one.get("refs", ""), doubts)
    line, choices, unitless = _part_of(table, columns, cells, (one, refs, section), undecided)
    if settled:
        choices, unitless = (), ""
    spec = None if unitless else _spec(one, line, doubts)
    spec = _corrected(spec, corrections, problems)
    quantity, about = None, False
    if "quantity" not in given | unreadable:
        quantity, about = _quantity(one, line, refs, doubts, problems)
    for correction in corrections:
        quantity = quantity if correction.quantity is None else correction.quantity
        refs = refs if correction.refs is None else _refs(correction.refs, doubts)
    place = next((c.place for c in corrections if c.place is not None), None)
    if line and not any(correction.spec for correction in corrections):
        doubts += [f"{word.text}: {word.reason}" for word in line.unread]
        unknown = [word.text for word in line.unread if word.reason == UNKNOWN]
        if unitless and line.unitless:
            could = ", ".join(choice.spec.text for choice in choices)
            problems.append(
                Problem(f"{line.unitless.text} has no unit: say which it is of {could}", unitless)
            )
        elif line.ambiguous:
            if all(each.detail != line.doubts[0] for each in problems):
                problems.append(Problem(line.doubts[0]))
            doubts += line.doubts[1:]
        else:
            doubts += line.doubts
    if spec is None and not undecided and not unitless and not unreadable.intersection(MAIN):
        problems.append(Problem("nothing in the row says which part this is"))
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
        unknown_words=tuple(dict.fromkeys(unknown)),
        choices=choices,
        unitless=unitless,
    )


def _with_kind(texts: dict[str, list[str]]) -> dict[str, list[str]]:
    """The texts with a lone R, C, L or D as the kind where another cell says the part and none the kind.

    Beside a figure it would else be read as one printed code, in which it is a letter for the tolerance.
    """
    main = [(name, text) for name in MAIN for text in texts.get(name, ())]
    letters = [each for each in main if each[1].upper() in LONE_LETTERS]
    if "kind" in texts or len(letters) != 1 or len(main) == 1:
        return texts
    ((name, letter),) = letters
    rest = [text for text in texts[name] if text != letter]
    return {**texts, "kind": [letter], name: rest}


def _together(texts: Mapping[str, Sequence[str]]) -> dict[str, str]:
    """Several cells of one meaning as one; of two places the second is in the first, as paths are written."""
    return {meaning: _BETWEEN.get(meaning, " ").join(words) for meaning, words in texts.items() if words}


def _with_place(one: dict[str, str]) -> dict[str, str]:
    """The same with the place that stands in the text of the part, where no column says one."""
    found = located(one.get("text", "")[:_LONGEST]) if "place" not in one else None
    return {**one, "place": found.place, "text": found.rest} if found else one


def _given(corrections: Sequence[Correction], settled: bool) -> set[str]:
    """The meanings of columns of which corrections say what they would."""
    given = set(MAIN) if settled else set()
    for correction in corrections:
        said = {"quantity": correction.quantity, "place": correction.place, "refs": correction.refs}
        given.update(name for name, value in said.items() if value is not None)
    return given


def _joined(table: FreeTable, column: FreeColumn, cell: str, problems: list[Problem]) -> str:
    """The cell without the spaces between thousands, where they can be no spaces between words."""
    if column.meaning not in FIGURES or column.meaning == "number":
        return cell
    counted = any(each.meaning == "quantity" for each in table.columns)
    if column.meaning == "text" and not counted and (pieces := may_be_a_count(cell)):
        rest = cell[len(pieces) :].strip()
        problems.append(
            Problem(f"{cell} could be {without_spaces(cell)}, or {pieces} of {rest}", column.heading)
        )
        return cell
    return without_spaces(cell)


def _part_of(
    table: FreeTable,
    columns: Columns,
    cells: Mapping[str, str],
    beside: tuple[Mapping[str, str], Sequence[str], "_Section"],
    undecided: Sequence[FreeColumn],
) -> tuple[PartLine | None, tuple[Choice, ...], str]:
    """What says the part, what else it may mean, and the column of its figure without a unit."""
    one, refs, section = beside
    main = [column for column in table.columns if column.meaning in MAIN and cells[column.heading]]
    units = [unit for each in main for unit in columns.units.get(each.heading, ())]
    in_ohms = any(column.heading in columns.resistors for column in main) and not units
    read = partial(_line, one=one, refs=refs, section=section, in_ohms=in_ohms)
    typed = " ".join(cells[column.heading] for column in main)

    def choices(text: str) -> Iterator[Choice]:
        yield from choices_of(read(text), read, typed=typed, as_spec=lambda line: _spec(one, line, []))

    if any(column in undecided for column in main):
        each_way = (by(Convention(sign), without_spaces(typed))[:200] for sign in ",.")
        either = tuple(choice for text in each_way for choice in choices(text))
        unitless = any(choice.unit for choice in either) and not units
        return None, either, undecided[0].heading if unitless else ""
    text = " ".join(one[name] for name in MAIN if name in one)[:_LONGEST]
    line = read(text) if text else None
    if line and line.unitless:
        meant = (in_unit(line, unit, read, typed=typed) for unit in units)
        line = next(filter(None, meant), line)
    if line is None or line.unitless is None:
        return line, (), ""
    own = {each.heading: by(columns.conventions[each.heading], cells[each.heading]) for each in main}
    holding = (heading for heading, cell in own.items() if line.unitless.text in without_spaces(cell))
    return line, tuple(choices(text)), next(holding, main[0].heading)


def _no_part(table: FreeTable, cells: Mapping[str, str], section: _Section) -> str:
    """Why a row is none of a part: it sums up, heads what follows, or says nothing that is read."""
    filled = {heading: text for heading, text in cells.items() if text}
    read = [column for column in table.columns if column.meaning and column.meaning != NUMBER_IN_LIST]
    if is_total(list(filled.values())):
        return "a total"
    alone = next(iter(filled.values())) if len(filled) == 1 else ""
    if alone and (kind := _kind_named(alone)):
        section.kind = kind
        return f"heads a section: {dict(kind.facts).get('device', kind.kind).replace('_', ' ')}"
    if alone and (is_only_place(alone) or (len(read) > 1 and is_place(alone) and not located(alone))):
        section.place = alone
        return f"heads a section: in {alone}"
    if any(column.meaning in MAIN and isinstance(cells[column.heading], Odd) for column in read):
        return ""
    if not any(filled.get(column.heading) for column in read):
        return "nothing in it is read"
    if not any(filled.get(column.heading) for column in read if column.meaning not in _ABOUT_A_PART):
        return "it names no part"
    if alone and len(read) > 1 and read_line(alone[:200]).spec is None:
        section.kind = None
        return "a line of text"
    return ""


def _kind_named(text: str) -> NamedKind | None:
    bare = text.strip(" :-=*#")
    return named_by(bare) or LONE_LETTERS.get(bare.upper())


def _refs(text: str, doubts: list[str]) -> list[str]:
    if not text:
        return []
    try:
        return parse_refs(text)
    except UnreadableRefs as refused:
        doubts.append(f"references: {refused}")
        return []


def _line(
    main: str, *, one: Mapping[str, str], refs: Sequence[str], section: _Section, in_ohms: bool
) -> PartLine:
    counted = "quantity" in one or bool(refs)
    kind = _kind_named(one.get("kind", ""))
    letters = split_ref(refs[0])[0].upper() if refs else one.get("kind", "").upper()
    if kind or letters in CLASSES:
        return _read(main, kind, "" if kind else letters, counted)
    plain = _read(main, None, "", counted)
    if in_ohms and BARE.fullmatch(main) and not section.kind:
        line = _read(main, NamedKind("resistor"), "", counted)
        return replace(
            line, doubts=(Doubt(f"{main} has no unit: taken as ohms, as the others"), *line.doubts)
        )
    hinted = _read(main, section.kind, "", counted) if section.kind else plain
    # a row may stand under the wrong heading: what is read without a doubt is believed before the heading
    return hinted if hinted.readings and _cost(hinted) <= _cost(plain) or not plain.readings else plain


def _cost(line: PartLine) -> tuple[int, int]:
    return len(line.unread), len(line.doubts)


@lru_cache(maxsize=50_000)
def _read(main: str, kind: NamedKind | None, letters: str, counted: bool) -> PartLine:
    """The line, with the letters of its reference as a hint; those are no word of the row itself.

    How its column writes figures was decided before.
    """
    plain = read_line(main, kind=kind or "", counted=counted, decided=True)
    if not letters or kind:
        return plain
    hinted = read_line(f"{letters}1 {main}"[:200], decided=True)
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
    bare = hinted.unitless
    if bare:
        bare = replace(bare, start=bare.start - len(letters) - 2, end=bare.end - len(letters) - 2)
    doubts = tuple(each for each in hinted.doubts if each.about is not About.COUNT_OF_REFERENCES)
    return replace(hinted, text=main, refs=(), readings=tuple(own), doubts=doubts, unitless=bare)


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
    if kind_cell and not _kind_named(kind_cell) and kind_cell.upper() not in CLASSES:
        doubts.append(f"kind: {kind_cell} is not a known kind")
    natures = tuple({name: value} for name, value in NATURES.get(plainly(kind_cell), ()))
    spec = apply_offers(natures, stated_in(spec), spec.kind).spec or spec
    for name in PROPERTIES:
        if name in one:
            spec = _with(spec, {name: _fact(name, one[name])}, name, one[name], doubts)
    if "package" in one:
        spec = _packaged(spec, one["package"], doubts)
    return spec


def stated_in(spec: Spec) -> dict[str, Any]:
    """The fields of a part that are stated, and no others."""
    return {name: fact for name, fact in spec.to_dict().items() if fact not in (None, "", {})}


def _fact(name: str, text: str) -> str:
    facts = dict(NATURES.get(plainly(text), ()))
    if name == "tolerance_percent":
        return text.lstrip("±+-/ ")
    return facts.get(name, text)


def _with(spec: Spec, facts: Mapping[str, Any], name: str, text: str, doubts: list[str]) -> Spec:
    data = stated_in(spec)
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


def _packaged(spec: Spec, text: str, doubts: list[str]) -> Spec:
    """The part with what its package or footprint says; a cell that says nothing of either is its package."""
    facts = package_facts(text) or {"package": text.rpartition(":")[2][:64]}
    stated, named = _as_spelled(spec.package), _as_spelled(facts.get("package", ""))
    if stated == named and "-" not in spec.package and "-" in facts.get("package", ""):
        spec = replace(spec, package="")  # a TO92, which is the usual TO-92
    elif _is_named_by(stated, named):
        facts.pop("package", None)
    elif _is_named_by(named, stated):
        spec = replace(spec, package="")  # a DIP, which is now known to be a DIP-8
    for name, fact in facts.items():
        spec = _with(spec, {name: fact}, name, text, doubts)
    return spec


def _as_spelled(package: str) -> str:
    """A package without what people spell differently: TO 92, to-92 and TO92 are one."""
    return _BEFORE_FIGURES.sub("", package.casefold())


def _is_named_by(package: str, family: str) -> bool:
    rest = package.removeprefix(family)
    return package.startswith(family) and not (family[-1:].isdigit() and rest[:1].isdigit())


def _corrected(spec: Spec | None, corrections: Sequence[Correction], problems: list[Problem]) -> Spec | None:
    for correction in corrections:
        if not correction.spec:
            continue
        data = stated_in(spec) if spec else {}
        if spec and correction.spec.get("kind", spec.kind) != spec.kind:
            data = {}
        try:
            spec = Spec.from_dict(data | dict(correction.spec))
        except SpecError as refused:
            problems += [Problem(f"{each.pointer.lstrip('/')}: {each.detail}") for each in refused.problems]
    return spec


def _quantity(
    one: Mapping[str, str],
    line: PartLine | None,
    refs: Sequence[str],
    doubts: list[str],
    problems: list[Problem],
) -> tuple[int | None, bool]:
    """How many, and whether only roughly so."""
    if "quantity" in one:
        count = read_quantity(one["quantity"])
        if count.quantity is None or any(_HAS_FIGURE.search(word.text) for word in count.unread):
            problems.append(Problem(f"how many: {one['quantity']} is not a number of pieces"))
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
