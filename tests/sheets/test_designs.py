"""Parts lists of designs, and in a workbook the links, rails, banks and hazards."""

from decimal import Decimal
from io import BytesIO
from typing import Any

import pytest
from openpyxl import load_workbook

from inventory.designs import PositionDraft, draw, problems_with_design
from inventory.models import Design, Position
from inventory.spec import Spec
from tests.factories import DesignFactory, spec
from tests.sheets.books import saved, text_table
from tests.sheets.importing import book_of, counts, exported, lines_of, refused, take_in

pytestmark = pytest.mark.django_db

PLOVER = {"Design": "Plover", "Revision": "A"}
R = PLOVER | {"Ref": "R1-R4, R7", "Kind": "resistor", "Value": "4k7", "Tolerance": "5%"}
CHIPS = PLOVER | {"Ref": "IC1-IC4", "Kind": "ic", "Number": "2114", "Socketed": "yes"}

DRAWING: dict[str, Any] = {
    "links": [
        {
            "name": "LK1", "purpose": "memory pin 21", "settings": ["1-2", "2-3"], "note": "cut the track",
            "rules": [
                {"setting": "1-2", "when": {"ref": "IC1", "make": ["Intel", "NEC"]}, "note": "5 V"},
                {"setting": "2-3", "when": {"bank": "memory", "half": "upper"}},
                {"setting": "2-3", "when": {"bank": "memory", "count": 2}},
            ],
        },
        {"name": "LK2", "settings": ["on, always", "off"]},
    ],
    "rails": [
        {"name": "+5V", "nominal": "5", "low": "4.75", "high": "5.25", "order": 1, "at": "IC1 pin 18",
         "protects": ["IC1", "IC2", "IC3"]},
        {"name": "-5V", "nominal": "-5", "low": "-5.25", "high": "-4.75"},
    ],
    "banks": [
        {"name": "memory", "refs": ["IC1", "IC2", "IC3", "IC4"], "equal": ["number", "make"],
         "counts": [2, 4], "map": [
             {"start": "0000", "end": "03FF", "bits": {"D0-D3": "IC1", "D4-D7": "IC2"}},
             {"start": "0400", "end": "07FF", "bits": {"D0-D3": "IC3", "D4-D7": "IC4"}, "note": "upper"},
         ]},
    ],
    "hazards": ["mains", "stored_charge"],
}  # fmt: skip


@pytest.fixture
def plover() -> Design:
    design = DesignFactory(name="Plover", revision="A", note="tone generator", **DRAWING)
    chip = Spec(kind="ic", number="2114")
    draw(design, [PositionDraft(f"IC{n}", chip, socketed=True) for n in (1, 2, 3, 4)])
    assert problems_with_design(DRAWING, {"IC1", "IC2", "IC3", "IC4"}) == []
    return design


def refs() -> list[str]:
    return list(Position.objects.order_by("id").values_list("ref", flat=True))


# --- positions


def test_a_row_draws_all_its_positions() -> None:
    report = take_in(book_of(R, CHIPS | {"Note": "memory"}), "design")
    assert counts(report) == (2, 0, 0)
    assert refs() == ["R1", "R2", "R3", "R4", "R7", "IC1", "IC2", "IC3", "IC4"]
    chip = Position.objects.get(ref="IC3")
    assert (chip.socketed, chip.note, chip.spec.number) == (True, "memory", "2114")
    assert "Design made: Plover A." in report.notes


def test_the_same_parts_list_again_changes_nothing() -> None:
    take_in(book_of(R, CHIPS), "design")
    assert counts(take_in(book_of(R, CHIPS), "design")) == (0, 0, 2)
    assert Design.objects.get().version == 2  # once, as it was drawn


def test_a_changed_row_redraws_its_positions_and_the_rest_stay() -> None:
    take_in(book_of(R, CHIPS), "design")
    before = Position.objects.get(ref="R2").pk
    report = take_in(book_of(R | {"Ref": "R2, R9", "Value": "10k"}), "design")
    assert counts(report) == (1, 0, 0)
    assert Position.objects.get(ref="R2").spec.spec.value_text == "10k"
    assert Position.objects.get(ref="R2").pk == before
    assert len(refs()) == 10
    assert any("not in the sheet stay: IC1-IC4, R1, R3, R4, R7" in note for note in report.notes)


def test_a_column_that_the_sheet_lacks_stays_as_drawn() -> None:
    take_in(book_of(R | {"Ref": "R1", "X": 0.25, "Y": 0.5, "Note": "hot", "Watts": "1/4"}), "design")
    take_in(text_table("Design,Revision,Ref,Kind,Value\nPlover,A,R1,resistor,10k\n"), "design")
    position = Position.objects.get()
    assert (position.x, position.y, position.note) == (Decimal("0.25"), Decimal("0.5"), "hot")
    assert (position.spec.spec.value_text, position.spec.watts) == ("10k", Decimal("0.25"))


def test_several_designs_may_stand_in_one_sheet() -> None:
    take_in(book_of(R, R | {"Revision": "B"}, R | {"Design": "Curlew"}), "design")
    assert [str(design) for design in Design.objects.order_by("id")] == ["Plover A", "Plover B", "Curlew A"]


@pytest.mark.parametrize(
    ("heading", "text"),
    [
        ("Design", ""),
        ("Design", "x" * 121),
        ("Revision", "x" * 33),
        ("Ref", ""),
        ("Ref", "R4-R1"),
        ("Ref", "R1, R1"),
        ("Kind", "thing"),
        ("Value", "lots"),
        ("Socketed", "maybe"),
        ("Note", "x" * 401),
        ("Quantity", "4"),
        ("X", "0.5"),
        ("Side", "edge"),
    ],
)
def test_a_bad_cell_in_a_parts_list_is_named(heading: str, text: str) -> None:
    (bad,) = refused(book_of(CHIPS, R | {heading: text}), "design")
    assert (bad.row, bad.column, bad.found) == (3, heading, text)


def test_a_reference_in_two_rows_is_refused() -> None:
    (bad,) = refused(book_of(R, CHIPS, R | {"Ref": "R3"}), "design")
    assert (bad.row, bad.column) == (4, "Ref")
    assert "R3 is in row 2 already" in bad.detail


def test_the_number_of_references_may_be_given_too() -> None:
    assert counts(take_in(book_of(R | {"Qty": 5}), "design")) == (1, 0, 0)


# --- the rest of the drawing


@pytest.mark.parametrize("form", ["xlsx", "csv"])
def test_an_exported_design_that_goes_back_in_changes_nothing(plover: Design, form: str) -> None:
    report = take_in(exported(form, "design", design=str(plover.pk)), "design")
    assert (report.created, report.updated) == (0, 0)
    plover.refresh_from_db()
    assert plover.version == 1
    assert {name: getattr(plover, name) for name in DRAWING} == DRAWING


def test_an_exported_design_makes_the_same_design_elsewhere(plover: Design) -> None:
    file = exported("xlsx", "design", design="Plover A")
    Design.objects.all().delete()
    report = take_in(file, "design")
    assert counts(report) == (report.rows, 0, 0)
    made = Design.objects.get()
    assert {name: getattr(made, name) for name in DRAWING} == DRAWING
    assert (made.note, made.positions.count()) == ("tone generator", 4)


def with_cell(file: BytesIO, sheet: str, cell: str, text: str) -> BytesIO:
    book = load_workbook(file)
    book[sheet][cell] = text
    return saved(book)


def test_a_link_that_was_changed_takes_the_place_of_the_old_one(plover: Design) -> None:
    file = with_cell(exported("xlsx", "design", design=str(plover.pk)), "Rails", "D2", "5.1")
    assert take_in(file, "design").updated == 1
    plover.refresh_from_db()
    assert plover.rails[0]["nominal"] == "5.1"
    assert plover.rails[1] == DRAWING["rails"][1]
    assert (plover.links, plover.version) == (DRAWING["links"], 2)


@pytest.mark.parametrize(
    ("sheet", "cell", "text", "column"),
    [
        ("Links", "H2", "ref=IC9; number=2114", "When"),
        ("Links", "H2", "nonsense", "When"),
        ("Links", "H3", "bank=nowhere; half=upper", "When"),
        ("Links", "G4", "3-4", "Setting"),
        ("Rails", "E2", "high", "Low"),
        ("Rails", "E3", "5", "Low"),
        ("Rails", "I2", "IC1, IC9", "Protects"),
        ("Rails", "I2", "IC2-IC1", "Protects"),
        ("Banks", "E2", "colour", "Equal"),
        ("Banks", "H2", "XYZ", "First address"),
        ("Banks", "J3", "D0-D3=IC9", "Bits"),
        ("Hazards", "C2", "boredom", "Hazard"),
    ],
)
def test_a_bad_cell_on_a_further_sheet_is_named(
    plover: Design, sheet: str, cell: str, text: str, column: str
) -> None:
    errors = refused(
        with_cell(exported("xlsx", "design", design=str(plover.pk)), sheet, cell, text), "design"
    )
    assert (sheet, int(cell[1:]), column) in [(bad.sheet, bad.row, bad.column) for bad in errors]


def test_links_may_name_positions_of_the_same_book() -> None:
    book = load_workbook(book_of(CHIPS))
    links = book.create_sheet("Links")
    links.append(["Design", "Revision", "Link", "Settings", "Setting", "When"])
    links.append(["Plover", "A", "LK1", "1-2, 2-3", "1-2", "ref=IC4; make=Intel"])
    take_in(saved(book), "design")
    assert Design.objects.get().links == [
        {
            "name": "LK1",
            "settings": ["1-2", "2-3"],
            "rules": [{"setting": "1-2", "when": {"ref": "IC4", "make": "Intel"}}],
        }
    ]


def test_each_position_is_a_row_of_its_own_in_natural_order(plover: Design) -> None:
    draw(plover, [PositionDraft(ref, spec("resistor", "1k")) for ref in ("R10", "R2", "R1")])
    file = exported("csv", "design", design=str(plover.pk))
    assert [line["Ref"] for line in lines_of(file)] == ["R1", "R2", "R10"]
