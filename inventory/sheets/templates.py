"""Empty sheets to fill in: headings; in a workbook also drop-downs, and notes that say what goes where."""

from collections.abc import Iterator

from inventory.sheets.exports import column_out, written
from inventory.sheets.grid import CellOut, ColumnOut, SheetOut
from inventory.sheets.importing import IMPORTS
from inventory.sheets.table import Column, Table

_NOTES = (
    ColumnOut("On sheet", 10), ColumnOut("Heading there", 16), ColumnOut("Must be there", 12),
    ColumnOut("What goes in", 70), ColumnOut("Words to choose from", 40), ColumnOut("Like this", 26),
    ColumnOut("Read just as well", 50),
)  # fmt: skip
_GENERAL = (
    "Blank rows do not matter.  Columns may stand in any order, and those that you do not need may be "
    "deleted.  Cells for markings and numbers are set to Text: 0805, 103 and 1E3 stay as they are typed.",
    "Try it first: a preview does everything that the import would do, says what would change and what is "
    "wrong, and takes it back.  An import is kept whole or not at all.",
)


def template(kind: str, form: str = "xlsx") -> Iterator[bytes]:
    """An empty sheet of a kind (a name in IMPORTS), as pieces of its file.

    As csv it is the headings of its main table alone.
    """
    tables, title = IMPORTS[kind].tables, IMPORTS[kind].title
    empty = [
        SheetOut(
            name=table.sheet or title,
            columns=[column_out(column, hint=True) for column in table.columns if _is_asked(column)],
            rows=(),
        )
        for table in tables
    ]
    notes = SheetOut("Notes", _NOTES, list(_notes(title, tables)), wrapped=True)
    return written([*empty, notes], form)


def _is_asked(column: Column) -> bool:
    return not (column.rare or column.ours)


def _notes(title: str, tables: tuple[Table, ...]) -> Iterator[list[CellOut]]:
    for text in _GENERAL:
        yield ["", "", "", text, "", "", ""]
    for table in tables:
        for column in table.columns:
            if _is_asked(column):
                yield [
                    table.sheet or title,
                    column.heading,
                    "yes" if column.needed else "",
                    column.about,
                    ", ".join(column.choices),
                    column.example,
                    column.also,
                ]
