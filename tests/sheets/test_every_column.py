"""Every column goes all the way: into new rows, into rows that are known already, and out again.

A sample cell for each column, before and after a change; a column without one fails the first test.
"""

import pytest

from inventory.designs import PLACED
from inventory.models import Board, Design, Lot, Place
from inventory.sheets.drawing_sheets import KINDS
from inventory.sheets.positions_sheet import POSITIONS, SPOT_FACTS
from inventory.sheets.stock_table import STOCK
from inventory.sheets.table import Table
from tests.sheets.importing import counts, exported, lines_of, refused, stock_csv, take_in

pytestmark = pytest.mark.django_db

_SPEC = {
    "kind": ("capacitor", "resistor"),
    "number": ("CX-12", "CX-13"),
    "value": ("100n", "220n"),
    "tolerance_percent": ("10", "20"),
    "volts": ("275", "310"),
    "watts": ("0.5", "0.25"),
    "amps": ("1.5", "2"),
    "dielectric": ("film", "paper"),
    "package": ("box", "dipped"),
    "lead_style": ("radial", "axial"),
    "pitch_mm": ("15", "22.5"),
    "polarised": ("no", "yes"),
    "safety_class": ("x2", "y2"),
    "speed_ns": ("70", "100"),
    "make": ("Ostler", "Ferrand"),
    "traits": ("esr_ohm=0.4", "esr_ohm=0.5"),
}
STOCK_CELLS = _SPEC | {
    "lot": ("", ""),
    "name": ("Suppressor", "Mains suppressor"),
    "measured": ("98n", "97n"),
    "measured_tolerance": ("0.5", "1.5"),
    "quantity": ("1", "0"),
    "place": ("Rack / Tray 1", "Rack / Tray 2"),
    "condition": ("good", "suspect"),
    "marking": ("104K X2", "104M X2"),
    "source": ("board", "bought"),
    "giver": ("Old wireless", "Other wireless"),
    "from_ref": ("C7", "C8"),
    "price": ("0.3125", "0.4375"),
    "pack_size": ("5", "10"),
    "reorder_at": ("2", "3"),
    "note": ("case cracked", "case glued"),
    "promised": ("", ""),
    "written": ("", ""),
}
DESIGN_CELLS = _SPEC | {
    "design": ("Curlew meter", "Curlew meter 2"),
    "revision": ("B", "C"),
    "ref": ("C7", "C8"),
    "quantity": ("1", "2"),
    "socketed": ("yes", "no"),
    "note": ("upright", "flat"),
    "x": ("0.250000", "0.500000"),
    "y": ("0.750000", "0.500000"),
    "empty_when": ("ref=IC2; number=7400", "ref=IC2; number=7402"),
    "side": ("top", "bottom"),
}
FIXED = {"lot", "source", "giver", "from_ref", *_SPEC}
"""What a lot is and where it came from stay as they are: changing such a cell is refused."""
READ_ONLY = {"promised", "written", "quantity", "place"}
"""Written for people, or tested as counts and moves in test_lots_again."""


def _cells(table: Table, samples: dict[str, tuple[str, str]], **changed: str) -> dict[str, str]:
    cells = {column.heading: samples[column.key][0] for column in table.columns}
    return cells | {table[key].heading: text for key, text in changed.items()}


@pytest.mark.parametrize(("table", "samples"), [(STOCK, STOCK_CELLS), (POSITIONS, DESIGN_CELLS)])
def test_every_column_has_a_sample(table: Table, samples: dict[str, tuple[str, str]]) -> None:
    assert samples.keys() == table.index.keys()
    assert all(before != after or before == "" for before, after in samples.values())


def test_every_attribute_of_a_position_has_a_column() -> None:
    assert {fact.key for fact in SPOT_FACTS} == set(PLACED)
    for kind in KINDS:
        assert {member.key for member in kind.members} | {"design", "revision"} == set(kind.table.index)


@pytest.fixture
def lot() -> Lot:
    """One piece, of which every column says something."""
    for name in ("Old wireless", "Other wireless"):
        place = Place.objects.create(name=name, type=Place.Type.BOARD)
        Board.objects.create(name=name, place=place)
    take_in(stock_csv(_cells(STOCK, STOCK_CELLS)))
    return Lot.objects.get()


def test_a_new_row_of_stock_comes_back_column_by_column(lot: Lot) -> None:
    (line,) = lines_of(exported())
    ours = {"lot": str(lot.pk), "written": "v1, 1 in Rack / Tray 1"}
    assert {key: line[STOCK[key].heading] for key in STOCK.index} == {
        key: ours.get(key, before) for key, (before, _after) in STOCK_CELLS.items()
    }


def test_what_was_written_changes_nothing(lot: Lot) -> None:
    assert counts(take_in(exported())) == (0, 0, 1)
    assert counts(take_in(exported("csv"))) == (0, 0, 1)


@pytest.mark.parametrize("key", sorted(STOCK_CELLS.keys() - FIXED - READ_ONLY))
def test_a_changed_cell_of_a_known_lot_is_kept(lot: Lot, key: str) -> None:
    (line,) = lines_of(exported("csv"))
    changed = line | {STOCK[key].heading: STOCK_CELLS[key][1]}
    assert counts(take_in(stock_csv(changed))) == (0, 1, 0)
    (now,) = lines_of(exported("csv"))
    unwritten = STOCK["written"].heading
    assert now | {unwritten: ""} == changed | {unwritten: ""}


@pytest.mark.parametrize("key", sorted(FIXED - {"lot"}))
def test_what_a_lot_is_and_came_from_is_refused_and_not_dropped(lot: Lot, key: str) -> None:
    (line,) = lines_of(exported("csv"))
    assert refused(stock_csv(line | {STOCK[key].heading: STOCK_CELLS[key][1]}))


@pytest.mark.parametrize("key", ["name", "price", "pack_size", "reorder_at"])
def test_a_new_row_of_a_known_part_changes_the_part(lot: Lot, key: str) -> None:
    another = _cells(STOCK, STOCK_CELLS, source="bought", giver="", from_ref="", quantity="3")
    assert counts(take_in(stock_csv(another | {STOCK[key].heading: STOCK_CELLS[key][1]}))) == (1, 0, 0)
    assert {line[STOCK[key].heading] for line in lines_of(exported())} == {STOCK_CELLS[key][1]}


# --- positions


@pytest.fixture
def design() -> Design:
    other = _cells(POSITIONS, DESIGN_CELLS) | dict.fromkeys((c.heading for c in POSITIONS.columns[3:]), "")
    chip = other | {"Ref": "IC2", "Kind": "ic", "Number": "7400", "Socketed": "no"}
    take_in(stock_csv(_cells(POSITIONS, DESIGN_CELLS), chip), "design")
    return Design.objects.get()


def _written(design: Design) -> list[dict[str, str]]:
    return lines_of(exported("csv", "design", design=str(design.pk)))


def test_a_new_position_comes_back_column_by_column(design: Design) -> None:
    line = _written(design)[0]
    not_written = {"quantity"}  # it only counts the references of a row
    assert {key: line[POSITIONS[key].heading] for key in POSITIONS.index if key not in not_written} == {
        key: before for key, (before, _after) in DESIGN_CELLS.items() if key not in not_written
    }


@pytest.mark.parametrize("key", sorted(DESIGN_CELLS.keys() - {"design", "revision", "ref", "quantity"}))
def test_a_changed_cell_of_a_known_position_is_kept(design: Design, key: str) -> None:
    line, chip = _written(design)
    changed = line | {POSITIONS[key].heading: DESIGN_CELLS[key][1]}
    if key == "kind":  # a resistor has neither dielectric nor farads nor such traits
        changed |= {"Dielectric": "", "Value": "4k7", "Traits": "", "Safety class": "", "Polarised": ""}
    assert counts(take_in(stock_csv(changed, chip), "design")) == (0, 1, 1)
    assert _written(design) == [changed, chip]
