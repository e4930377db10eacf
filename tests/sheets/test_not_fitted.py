"""Positions of a list that are not to be fitted: passed over, and said."""

from io import BytesIO

import pytest

from inventory.models import Design
from inventory.sheets.free import FreeList, ImportTarget, import_list, read_list
from tests.sheets.test_any_list import read, rows_of

pytestmark = pytest.mark.django_db


def passed_over(parts: FreeList) -> list[tuple[int, str]]:
    return [(row.number, row.skipped) for reading in parts.readings for row in reading.rows if row.skipped]


def test_a_column_says_what_is_not_fitted() -> None:
    parts = read("Ref,Value,Qty,DNP\nR1,4k7,1,\nR2,0R,1,DNP\nC9,22p,1,x\nC8,22p,1,no\nC7,22p,1,0\n")
    assert rows_of(parts) == ["4k7 resistor | 1 | R1", "22p capacitor | 1 | C8", "22p capacitor | 1 | C7"]
    assert passed_over(parts) == [(3, "not to be fitted: DNP"), (4, "not to be fitted: x")]


@pytest.mark.parametrize("heading", ["Fitted", "Bestückt", "Monté", "Populate"])
def test_a_column_says_what_is_fitted(heading: str) -> None:
    parts = read(f"Ref,Value,Qty,{heading}\nR1,4k7,1,yes\nR2,0R,1,no\nR3,1k,1,\nR4,1k,1,nein\n")
    assert rows_of(parts) == ["4k7 resistor | 1 | R1", "1k resistor | 1 | R3"]
    assert passed_over(parts) == [(3, "not to be fitted: no"), (5, "not to be fitted: nein")]


@pytest.mark.parametrize(
    "words",
    [
        "DNP", "dnp", "D.N.P.", "DNF", "DNI", "do not fit", "Do Not Populate", "not fitted", "not placed",
        "n.b.", "N. B.", "nicht bestückt", "nicht bestücken", "unbestückt", "non monté", "ne pas monter",
        "no montar", "non montare", "nie montować", "niet plaatsen", "ikke monteret", "ej monterad",
        "neosazovat", "not fitted (spare)", "DNP: for later",
    ],
)  # fmt: skip
def test_words_say_what_is_not_fitted(words: str) -> None:
    parts = read(f"Ref;Value;Remark\nR1;4k7;\nR2;10k;{words}\nR3;10k {words};\nR4;{words};\n")
    assert rows_of(parts) == ["4k7 resistor | 1 | R1"]
    typed = [(3, words), (4, f"10k {words}"), (5, words)]
    assert passed_over(parts) == [(row, f"not to be fitted: {cell}") for row, cell in typed]


@pytest.mark.parametrize(
    "words", ["n.b. check the polarity", "not fitted with a heatsink", "DNP-7", "do not fit too tightly"]
)
def test_words_that_say_something_else_leave_the_row(words: str) -> None:
    assert len(rows_of(read(f"Ref;Value;Remark\nR1;4k7;\nR2;10k;{words}\n"))) == 2


def test_a_part_in_a_drawer_that_was_never_fitted_is_a_part() -> None:
    parts = read("Part,Qty,Drawer,Note\nBC547,4,A,new; not fitted\n4k7 5%,3,B,\n")
    assert rows_of(parts)[0] == "BC547 silicon transistor | 4 | | A"


def test_what_a_column_says_of_fitting_is_read_otherwise_when_told_so() -> None:
    parts = read("Ref,Value,DNP\nR1,4k7,\nR2,0R,x\n", mapping={"DNP": ""})
    assert len(rows_of(parts)) == 2


def test_a_position_that_is_not_fitted_is_none_of_the_design() -> None:
    data = b"Ref,Value,DNP\nR1,4k7,\nR2,10k,DNP\n"
    import_list(read_list(BytesIO(data), "board.csv"), ImportTarget(kind="design", design="Chime"), by=None)
    assert [position.ref for position in Design.objects.get(name="Chime").positions.all()] == ["R1"]
