"""What is written comes back the same, as xlsx and as csv, and openpyxl sees the same in the workbook."""

from decimal import Decimal
from io import BytesIO

from hypothesis import example, given, settings
from hypothesis import strategies as st
from openpyxl import load_workbook

from inventory.sheets.exports import written
from inventory.sheets.grid import LIMITS, CellOut, ColumnOut, SheetOut
from inventory.sheets.opening import open_book

# A database keeps no half characters (surrogates); csv cannot hold NUL, which no import lets through either.
TEXTS = st.text(st.characters(exclude_categories=["Cs"], exclude_characters="\0"), max_size=60)
AWKWARD = st.sampled_from(
    [
        "=1+1", "+5V", "-12 V", "@", "\t", "\r", "\n=1", "'", "''=1", "'=1", "0805", "103", "1E3", "007",
        "#N/A", "TRUE", "_x0041_", "_x005F_x0041_", "_x000D_", "a\r\nb", " a ", "4.7 kΩ", "0,1 µF", "\u2028",
        "\ufffe", 'say "5 V"', ";", ",", "<&>", "]]>", "1-2", "12:30",
    ]
)  # fmt: skip
CELLS = st.one_of(AWKWARD, TEXTS)


def sheet_of(rows: list[list[str]], width: int) -> SheetOut:
    return SheetOut("Cells", [ColumnOut(f"Heading {n}") for n in range(width)], rows)


def back(rows: list[list[str]], form: str) -> list[list[str]]:
    """The rows after a round trip, all as wide as they went."""
    width = len(rows[0])
    file = BytesIO(b"".join(written([sheet_of(rows, width)], form)))
    read = [cells for _number, cells in open_book(file, "x").sheets[0].rows]
    return [[*cells, *[""] * (width - len(cells))] for cells in read[1:]]


def answer(rows: list[list[str]]) -> list[list[str]]:
    """The rows that hold anything: blank ones are left out on the way in."""
    return [row for row in rows if any(cell.strip() for cell in row)]


@settings(max_examples=150, deadline=None)
@given(st.lists(st.lists(CELLS, min_size=3, max_size=3), min_size=1, max_size=5))
@example([["=1+1", "_x0041_", "a\rb"], ["\ufffe", "'=1", "x"], ["\x07", "\x1f", "."]])
def test_arbitrary_text_comes_back_from_xlsx(rows: list[list[str]]) -> None:
    blank_spaces = [[cell if cell.strip() else "" for cell in row] for row in answer(rows)]
    assert back(rows, "xlsx") == blank_spaces


@settings(max_examples=150, deadline=None)
@given(st.lists(st.lists(CELLS, min_size=3, max_size=3), min_size=1, max_size=5))
@example([["=1+1", "''=1", "a\rb"], ["\t=1", "'=1", "x"]])
@example([[";\x1e", "=1+1", ";"], [";\x1e", "=1+1", ";"]])
def test_arbitrary_text_comes_back_from_csv(rows: list[list[str]]) -> None:
    assert back(rows, "csv") == answer(rows)


@settings(max_examples=60, deadline=None)
@given(
    st.lists(
        st.one_of(AWKWARD, st.text(st.characters(codec="ascii", min_codepoint=32), max_size=30)),
        min_size=1,
        max_size=8,
    )
)
def test_openpyxl_sees_text_where_text_was_written(texts: list[str]) -> None:
    file = BytesIO(b"".join(written([sheet_of([[text] for text in texts], 1)], "xlsx")))
    cells = [row[0] for row in load_workbook(file).active.iter_rows(min_row=2)]
    for cell, text in zip(cells, texts, strict=False):
        assert cell.data_type == ("s" if text else "n")  # never a formula, a number, a date or an error
        assert cell.number_format == ("@" if text else "General")


@settings(max_examples=60, deadline=None)
@given(st.lists(st.decimals(-99_999_999, 99_999_999, places=4), min_size=1, max_size=5))
def test_figures_are_numbers_in_the_workbook_and_come_back_exactly(figures: list[Decimal]) -> None:
    rows: list[list[CellOut]] = [[figure] for figure in figures]
    file = BytesIO(b"".join(written([SheetOut("Figures", [ColumnOut("Price", text=False)], rows)], "xlsx")))
    read = [cells[0] for _number, cells in open_book(file, "x").sheets[0].rows][1:]
    assert [Decimal(cell) for cell in read] == figures
    assert all(cell.data_type == "n" for (cell,) in load_workbook(file).active.iter_rows(min_row=2))


def test_a_text_longer_than_a_cell_can_be_is_cut_to_it() -> None:
    # ECMA-376 has no bound; the programs keep 32,767 characters (openpyxl cuts there too)
    assert back([["x" * 40_000]], "xlsx") == [["x" * LIMITS.cell]]


def test_writing_keeps_a_few_rows_at_a_time() -> None:
    taken = []

    def endless() -> object:
        for number in range(100_000):
            taken.append(number)
            yield [f"row {number}"]

    pieces = written([SheetOut("Long", [ColumnOut("Text")], endless())], "xlsx")  # type: ignore[arg-type]
    while not taken:
        next(pieces)
    assert len(taken) <= 1_000
