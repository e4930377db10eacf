"""The tables in a grid: one below another or side by side, with section and total rows.  Pure."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from itertools import takewhile

from inventory.part_lines import read_line, read_quantity
from inventory.part_words.figures import offers_of
from inventory.part_words.kind_words import CLASSES, named_by
from inventory.refs import UnreadableRefs, parse_refs, split_ref
from inventory.sheets.free.grids import Grid
from inventory.sheets.free.headings import (
    KNOWN_HEADINGS,
    NONE,
    NUMBER_IN_LIST,
    TOTALS,
    meaning_of,
    plain_heading,
)
from inventory.sheets.free.located import is_place
from inventory.sheets.grid import Odd

Line = tuple[int, Sequence[str]]
_SAMPLE = 60
_USUAL_LETTERS = frozenset(("R", "C", "L", "D", "Q", "U", "IC"))
"""One of them is in every column of such letters; T and F alone are time-lag and fast fuses."""
_LONGEST_HEADING = 60


@dataclass(frozen=True)
class FreeColumn:
    """A column of a list: where it stands, its heading (a letter where it has none), what it holds.

    `meaning` is blank where nothing is known of it; `why` says how that was decided.
    """

    at: int
    heading: str
    meaning: str
    why: str


@dataclass(frozen=True)
class FreeTable:
    """One list: `rows` as (number, cells of `columns` in their order)."""

    sheet: str
    first_row: int
    left: int
    columns: tuple[FreeColumn, ...]
    rows: tuple[Line, ...]

    @property
    def first_column(self) -> str:
        """Where it begins, as a spreadsheet names it: the second of two side by side at E."""
        return _letters(self.left)

    @property
    def shape(self) -> tuple[str, ...]:
        """By what the same list is known when it comes again."""
        return tuple(plain_heading(column.heading) for column in self.columns)

    def mapped(self, meanings: Mapping[str, str], why: str) -> "FreeTable":
        """The same with what these headings are said to mean."""
        by_heading = {plain_heading(heading): meaning for heading, meaning in meanings.items()}
        columns = tuple(
            replace(column, meaning=by_heading[key], why=why)
            if (key := plain_heading(column.heading)) in by_heading
            else column
            for column in self.columns
        )
        return replace(self, columns=columns)


def tables_in(grid: Grid, known: Mapping[str, str] = KNOWN_HEADINGS) -> list[FreeTable]:
    """The lists on a sheet, in the order in which they are read; `known` are headings and what they mean."""
    lines = [(number, list(cells)) for number, cells in grid.rows]
    heads = [
        (at, span)
        for at, (_number, cells) in enumerate(lines)
        for span in _heading_spans(lines, at, cells, known)
    ]
    if not heads:
        return _without_headings(grid, lines)
    tables: list[FreeTable] = []
    for at, (left, right) in heads:
        below = [other for other, (low, high) in heads if other > at and low < right and left < high]
        end = min(below, default=len(lines))
        number, cells = lines[at]
        rows = [_cut(line, left, right) for line in lines[at + 1 : end]]
        rows = [row for row in rows if any(cell.strip() or isinstance(cell, Odd) for cell in row[1])]
        columns = _columns(list(_padded(cells, right))[left:right], left, rows, known)
        shape = tuple(plain_heading(column.heading) for column in columns)
        table = FreeTable(grid.name, number, left, columns, tuple(rows))
        again = next((each for each in tables if (each.shape, each.left) == (shape, left)), None)
        if again is None:
            tables.append(table)
        else:  # the headings again, at the top of a page
            tables[tables.index(again)] = replace(again, rows=(*again.rows, *rows))
    return [table for table in tables if table.rows]


def _padded(cells: Sequence[str], width: int) -> Sequence[str]:
    return [*cells, *[""] * (width - len(cells))]


def _cut(line: Line, left: int, right: int) -> Line:
    number, cells = line
    return number, [
        cell if isinstance(cell, Odd) else cell.strip() for cell in _padded(cells, right)[left:right]
    ]


def _heading_spans(
    lines: Sequence[tuple[int, list[str]]], at: int, cells: Sequence[str], known: Mapping[str, str]
) -> list[tuple[int, int]]:
    """Where headings stand in a row: from a column to before a column, for each list beside another."""
    heads = _headed(cells, known)
    filled = [index for index, cell in enumerate(cells) if cell.strip()]
    enough = len(heads) > 1 or (
        len(heads) == 1 and len(filled) == 1 and _begins_a_column(lines, at, filled[0])
    )
    if not enough or 2 * len(heads) < len(filled):
        return []
    starts: list[int] = []
    seen: set[str] = set()
    for index in filled:
        meaning = _as_heading(cells[index], known) or f"?{plain_heading(cells[index])}"
        gap = starts and not any(cells[each].strip() for each in range(max(0, index - 1), index))
        if not starts or meaning in seen or (gap and _is_gap(lines, at, index - 1, known)):
            starts.append(index)
            seen = set()
        seen.add(meaning)
    starts = _with_parts(starts, filled, cells, known)
    ends = [*starts[1:], max(map(len, (line[1] for line in lines[at:]))) if len(starts) == 1 else len(cells)]
    ends[-1] = max(ends[-1], filled[-1] + 1)
    return list(zip(starts, ends, strict=True))


def _with_parts(
    starts: Sequence[int], filled: Sequence[int], cells: Sequence[str], known: Mapping[str, str]
) -> list[int]:
    """The starts of those lists that have parts in them: a lone Quantity beside an empty column is none."""
    kept: list[int] = []
    for start, end in zip(starts, [*starts[1:], len(cells)], strict=True):
        meanings = {_heads(cells[index], known) for index in filled if start <= index < end}
        if not kept or meanings & {"text", "value", "number"}:
            kept.append(start)
    first = {_heads(cells[index], known) for index in filled if index < (kept[1] if kept[1:] else len(cells))}
    return kept if first & {"text", "value", "number", "refs"} else [kept[0], *kept[2:]]


def _heads(cell: str, known: Mapping[str, str]) -> str:
    """What a heading says, where `Resistor` heads a column of them."""
    return _as_heading(cell, known) or ("text" if named_by(cell) else "")


def _as_heading(cell: str, known: Mapping[str, str]) -> str:
    return meaning_of(cell, known) if cell.strip() and len(cell) <= _LONGEST_HEADING else ""


def _begins_a_column(lines: Sequence[tuple[int, list[str]]], at: int, column: int) -> bool:
    """Whether a lone word stands over a list of parts: nothing like it came before."""
    above = any(len(line[1]) > column and line[1][column].strip() for line in lines[:at])
    return not above and named_by(lines[at][1][column]) is None and at + 1 < len(lines)


def _is_gap(lines: Sequence[tuple[int, list[str]]], at: int, column: int, known: Mapping[str, str]) -> bool:
    """Whether a column is empty below the headings, down to the next ones: the list ends before it."""
    below = takewhile(lambda line: len(_headed(line[1], known)) < 2, lines[at + 1 :])
    return not any(len(cells) > column and cells[column].strip() for _number, cells in below)


def _headed(cells: Sequence[str], known: Mapping[str, str]) -> list[tuple[int, str]]:
    """The headings in a row, as (where, what it says)."""
    return [(index, meaning) for index, cell in enumerate(cells) if (meaning := _as_heading(cell, known))]


def _without_headings(grid: Grid, lines: Sequence[tuple[int, list[str]]]) -> list[FreeTable]:
    """A list that nobody headed: told by its cells alone."""
    width = max((len(cells) for _number, cells in lines), default=0)
    rows = [_cut(line, 0, width) for line in lines]
    headings: Sequence[str] = [""] * width
    if _are_words_over(rows):
        headings, rows = rows[0][1], rows[1:]
    columns = _columns(headings, 0, rows, KNOWN_HEADINGS)
    if not any(column.meaning in ("text", "value", "number") for column in columns):
        return []
    return [FreeTable(grid.name, rows[0][0], 0, columns, tuple(rows))]


def _are_words_over(rows: Sequence[Line]) -> bool:
    """Whether the first row heads the others in words that are not known: it has no figure and no part, and
    they have figures below two of its cells at least."""
    heads = [(at, cell) for at, cell in enumerate(rows[0][1]) if cell] if rows[1:] else []
    if len(heads) < 2 or any(_has_figure(cell) or _is_part(cell) or named_by(cell) for _at, cell in heads):
        return False
    below = [[row[1][at] for row in rows[1:_SAMPLE] if row[1][at]] for at, _cell in heads]
    return sum(_mostly(cells, _has_figure) for cells in below) > 1


# --- what is which


_JOINED = ("text", "note", "place")
"""What several columns may hold, read as one."""
_SAYS_PART = ("text", "value", "number")


def _columns(
    headings: Sequence[str], left: int, rows: Sequence[Line], known: Mapping[str, str]
) -> tuple[FreeColumn, ...]:
    columns = []
    taken: set[str] = set()
    headed = [_as_heading(heading, known) for heading in headings]
    for at, heading in enumerate(headings):
        cells = [row[1][at] for row in rows[:_SAMPLE] if row[1][at]]
        if not heading.strip() and not cells:
            continue
        name = " ".join(heading.split()) or _letters(left + at)
        meaning, why = headed[at], "by its heading"
        others = any(each in _SAYS_PART for each in (*headed[:at], *headed[at + 1 :]))
        if meaning == NONE or (plain_heading(heading) in TOTALS and not _mostly(cells, _is_count)):
            meaning = ""
        elif meaning in ("text", "number") and others and _counts(cells):
            meaning, why = NUMBER_IN_LIST, "it counts the lines"
        elif meaning == "number" and not _mostly(cells, _has_figure) and _are_kinds(cells):
            meaning, why = "kind", "its cells are kinds of parts"
        elif meaning == "refs" and not _mostly(cells, _are_refs):
            meaning, why = (NUMBER_IN_LIST, "it counts the lines") if _counts(cells) else _by_cells(cells)
        elif not meaning or (meaning in taken and meaning not in _JOINED):
            meaning, why = _by_cells(cells)
        if meaning in taken and meaning not in _JOINED:
            meaning, why = "", f"{meaning} is in another column already"
        taken.add(meaning)
        columns.append(FreeColumn(at, name, meaning, why if meaning else why or "nothing known"))
    parts = [column for column in columns if column.meaning in _SAYS_PART]
    if not parts:
        columns = _likeliest_text(columns, rows)
    return tuple(columns)


def _by_cells(cells: Sequence[str]) -> tuple[str, str]:
    for meaning, looks, what in (
        ("refs", _are_refs, "references"), ("package", _is_package, "packages"),
        ("kind", _is_kind, "kinds of parts"), ("quantity", _is_count, "numbers of pieces"),
        ("place", is_place, "places"), ("text", _names_part, "parts"),
    ):  # fmt: skip
        if _mostly(cells, looks) and not (meaning == "quantity" and _counts(cells)):
            return meaning, f"its cells look like {what}"
    return "", ""


def _likeliest_text(columns: list[FreeColumn], rows: Sequence[Line]) -> list[FreeColumn]:
    """The columns where none is headed as the parts: some schematic editors call their values comments."""
    shares = {}
    for column in columns:
        cells = [row[1][column.at] for row in rows[:_SAMPLE] if row[1][column.at]]
        parts = sum(map(_is_part, cells))
        if column.meaning in ("", "marking", "note") and parts * 3 > len(cells):
            shares[column] = parts / len(cells)
    best = max(shares, key=lambda column: shares[column], default=None)
    said = "no other column says the parts" if best and best.meaning else "some cells look like parts"
    return [replace(each, meaning="text", why=said) if each is best else each for each in columns]


def _mostly(cells: Sequence[str], looks: object) -> bool:
    return bool(cells) and sum(bool(looks(cell)) for cell in cells) * 10 >= 7 * len(cells)  # type: ignore[operator]


def _are_refs(text: str) -> bool:
    try:
        refs = parse_refs(text)
    except UnreadableRefs:
        return False
    return all(split_ref(ref)[0].upper() in CLASSES and split_ref(ref)[1] >= 0 for ref in refs)


def _is_package(text: str) -> bool:
    return any("package" in offer for offer in offers_of(text))


def _is_kind(text: str) -> bool:
    return named_by(text) is not None


def _are_kinds(cells: Sequence[str]) -> bool:
    """Whether the cells are kinds of parts, by words or by the letters of references: R, C, Q."""
    letters = {cell.upper() for cell in cells if cell.upper() in CLASSES}
    return _mostly(cells, _is_kind) or (
        bool(letters & _USUAL_LETTERS)
        and _mostly(cells, lambda cell: _is_kind(cell) or cell.upper() in letters)
    )


def _is_count(text: str) -> bool:
    line = read_quantity(text)
    return line.quantity is not None and not line.unread


def _is_part(text: str) -> bool:
    line = read_line(text[:200])
    return line.spec is not None and len(line.unread) < len(line.words)


def _names_part(text: str) -> bool:
    """Whether a text says a part by more than a bare figure."""
    return _is_part(text) and read_line(text[:200]).unitless is None


def _has_figure(text: str) -> bool:
    return any(sign.isdigit() for sign in text)


def _counts(cells: Sequence[str]) -> bool:
    """Whether the cells are 1, 2, 3 … or 10, 20, 30 …: they number the lines."""
    figures = [cell.rstrip(".") for cell in cells[:10]]
    step = 10 if figures[:1] == ["10"] else 1
    return len(figures) > 2 and figures == [str(n * step) for n in range(1, len(figures) + 1)]


def _letters(at: int) -> str:
    """The column as a spreadsheet names it: A, B … AA."""
    name = ""
    at += 1
    while at:
        at, rest = divmod(at - 1, 26)
        name = chr(65 + rest) + name
    return name


def is_total(cells: Sequence[str]) -> bool:
    """Whether a row sums up the list: `Total`, `Zwischensumme Widerstände`, `Gesamt 79 Teile`."""
    rests = [rest for cell in cells if (rest := _after_total(cell)) is not None]
    others = [cell for cell in cells if _after_total(cell) is None]
    return bool(rests) and not any(
        _names_part(cell) and not _is_count(cell) and any(sign.isalpha() for sign in cell)
        for cell in (*rests, *others)
    )


def _after_total(cell: str) -> str | None:
    """What follows the word for a total that a cell begins with; None where it begins with none."""
    if plain_heading(cell) in TOTALS:
        return ""
    first, _space, rest = cell.strip().partition(" ")
    return rest if plain_heading(first) in TOTALS else None
