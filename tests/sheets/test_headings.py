"""Headings as people write them."""

import pytest
from openpyxl import load_workbook

from inventory.models import Lot
from inventory.sheets.table import Column, Table
from tests.sheets.books import saved, text_table, workbook
from tests.sheets.importing import RESISTOR, book_of, counts, everything, refused, stock_csv, take_in

pytestmark = pytest.mark.django_db


@pytest.mark.parametrize(
    "headings",
    [
        "Kind,Value,Quantity,Place",
        "KIND,VALUE,QTY,LOCATION",
        "Component type,Resistance,Qty.,Storage location",
        " Part-Type , Value (Ω) ,In stock [pcs],Drawer",
        "kind,value,Pcs,Bin",
    ],
)
def test_headings_are_matched_by_what_people_call_them(headings: str) -> None:
    report = take_in(text_table(f"{headings}\nresistor,4k7,10,Drawer 1\n"))
    assert counts(report) == (1, 0, 0)
    assert report.unknown_columns == []
    assert Lot.objects.get().part.spec.spec.value_text == "4k7"


def test_columns_may_stand_in_any_order() -> None:
    take_in(text_table("Place,Quantity,Marking,Value,Kind\nDrawer 1,10,103,10n,capacitor\n"))
    assert Lot.objects.get().marking == "103"


def test_unknown_columns_are_reported_and_left_out() -> None:
    report = take_in(stock_csv(RESISTOR | {"Colour of the box": "red", "Shelf life": "long"}))
    assert report.unknown_columns == ["Colour of the box", "Shelf life"]


def test_a_missing_needed_column_is_named_with_what_it_may_be_called() -> None:
    (bad,) = refused(text_table("Kind,Value,Place\nresistor,4k7,Drawer 1\n"))
    assert (bad.row, bad.column, bad.found) == (1, "Quantity", "")
    assert "missing" in bad.detail
    assert "Qty" in bad.detail


def test_every_missing_column_is_named_at_once() -> None:
    assert [bad.column for bad in refused(text_table("Value,Marking\n4k7,x\n"))] == [
        "Kind",
        "Quantity",
        "Place",
    ]


def test_two_columns_that_mean_the_same_are_refused() -> None:
    (bad,) = refused(text_table("Kind,Value,Qty,Place,Count\nresistor,4k7,10,Drawer 1,10\n"))
    assert (bad.row, bad.column) == (1, "Count")
    assert "same as the column Qty" in bad.detail


def test_a_title_above_the_headings_is_passed_over() -> None:
    report = take_in(text_table("My drawers in spring\n\nKind,Value,Qty,Place\nresistor,4k7,10,Drawer 1\n"))
    assert counts(report) == (1, 0, 0)


def test_a_file_without_known_headings_is_refused() -> None:
    (bad,) = refused(text_table("alpha,beta\n1,2\n"))
    assert "nothing to import" in bad.detail
    assert "Kind, Quantity, Place" in bad.detail


def test_headings_without_rows_are_refused() -> None:
    (bad,) = refused(text_table("Kind,Quantity,Place\n"))
    assert "nothing to import" in bad.detail


def test_every_sheet_with_such_headings_is_read_and_the_others_are_shown() -> None:
    lines = [["Kind", "Value", "Qty", "Place"], ["resistor", "1k", 3, "Drawer 1"]]
    report = take_in(workbook(lines, sheet="Cabinet A", **{"Cabinet B": lines, "Sums": [["Total"], [6]]}))
    assert (report.rows, report.created) == (2, 2)
    assert any("Sums was not read" in note for note in report.notes)


def test_a_later_sheet_that_lacks_a_needed_column_is_an_error_not_left_out() -> None:
    lines = [["Kind", "Value", "Qty", "Place"], ["resistor", "1k", 3, "Drawer 1"]]
    (bad,) = refused(workbook(lines, Second=[["Kind", "Value", "Place"], ["resistor", "1k", "Drawer 2"]]))
    assert (bad.sheet, bad.row, bad.column) == ("Second", 1, "Quantity")


def test_a_sheet_of_notes_and_a_hidden_sheet_are_for_people() -> None:
    lines = [["Kind", "Value", "Qty", "Place"], ["resistor", "1k", 3, "Drawer 1"]]
    book = load_workbook(workbook(lines, Notes=lines, Old=lines))
    book["Old"].sheet_state = "hidden"
    assert take_in(saved(book)).rows == 1


def test_a_preview_is_the_import_taken_back() -> None:
    file = book_of(RESISTOR, RESISTOR | {"Value": "10k"})
    before = everything()
    preview = take_in(file, dry_run=True)
    assert everything() == before
    done = take_in(file)
    assert counts(preview) == counts(done) == (2, 0, 0)
    assert preview.notes == done.notes
    assert preview.dry_run


def test_a_heading_for_two_columns_cannot_be_declared() -> None:
    with pytest.raises(ValueError, match="names"):
        Table((Column("a", "Value"), Column("b", "Other", "value")))
