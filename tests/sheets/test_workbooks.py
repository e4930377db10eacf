"""xlsx as other programs write it; openpyxl, an independent library, is the referee."""

import datetime
import re
import zipfile
from collections.abc import Callable
from io import BytesIO
from typing import Any

import pytest
from openpyxl import Workbook, load_workbook

from inventory.sheets.grid import LIMITS, Limits, Odd, UnreadableFile
from inventory.sheets.opening import open_book
from tests.sheets.books import rows_of, saved, with_shared_strings, workbook


def one_cell(value: Any, number_format: str = "General") -> str:
    """What we see in a cell with this value and format."""
    book = Workbook()
    book.active["A1"] = value
    book.active["A1"].number_format = number_format
    return rows_of(saved(book))[0][1][0]


def changed(file: BytesIO, part: str, change: Callable[[bytes], bytes]) -> BytesIO:
    """The same workbook with one of its parts changed."""
    out = BytesIO()
    with zipfile.ZipFile(file) as old, zipfile.ZipFile(out, "w", zipfile.ZIP_DEFLATED) as new:
        for name in old.namelist():
            new.writestr(name, change(old.read(name)) if name == part else old.read(name))
    out.seek(0)
    return out


def with_sheet_data(xml: str) -> BytesIO:
    """A workbook whose sheet has this XML for its rows."""
    return changed(
        workbook([["x"]]),
        "xl/worksheets/sheet1.xml",
        lambda old: re.sub(rb"<sheetData>.*</sheetData>", f"<sheetData>{xml}</sheetData>".encode(), old),
    )


@pytest.mark.parametrize(
    ("value", "number_format", "seen"),
    [
        (103, "General", "103"),
        (103.0, "General", "103"),
        (0.1, "General", "0.1"),
        (
            0.1 + 0.2,
            "General",
            "0.3",
        ),  # IEEE 754 has no 0.3; a spreadsheet program keeps and shows 15 figures
        (1e-9, "General", "0.000000001"),
        (805, "0000", "0805"),
        (4.7, "0.00", "4.70"),
        (4.705, "0.00", "4.705"),
        (0.05, "0%", "5%"),
        (0.025, "0.0%", "2.5%"),
        (63, '0" V"', "63"),
        (1234.5, "#,##0.00", "1234.50"),
        (-12, "General", "-12"),
        (True, "General", "TRUE"),
        ("0805", "@", "0805"),
        ("1E3", "General", "1E3"),
    ],
)
def test_a_cell_reads_as_the_person_sees_it(value: Any, number_format: str, seen: str) -> None:
    read = one_cell(value, number_format)
    assert read == seen
    assert not isinstance(read, Odd)


@pytest.mark.parametrize(
    ("value", "number_format", "why", "figure"),
    [
        (1000, "0.00E+00", "powers of ten", True),  # 1E3 typed into a plain cell
        (datetime.date(2024, 2, 1), "d-mmm", "date", False),  # 1-2 typed into a plain cell
        (datetime.time(10, 5), "h:mm", "date", False),
        ("#N/A", "General", "error", False),
        (1234567890123456789, "General", "more figures", True),
    ],
)
def test_what_a_spreadsheet_made_of_the_typing_is_recognised(
    value: Any, number_format: str, why: str, figure: bool
) -> None:
    read = one_cell(value, number_format)
    assert isinstance(read, Odd)
    assert why in read.why
    assert read.figure is figure


def test_a_date_is_named_as_the_day_that_the_person_sees() -> None:
    assert one_cell(datetime.date(2024, 2, 1), "yyyy-mm-dd") == "2024-02-01"


def test_a_formula_is_read_by_its_stored_result() -> None:
    rows = rows_of(with_sheet_data('<row r="1"><c r="A1"><f>3+4</f><v>7</v></c></row>'))
    assert rows == [(1, ["7"])]


def test_a_formula_without_a_stored_result_is_not_taken_for_a_blank_cell() -> None:
    ((_number, cells),) = rows_of(workbook([["=3+4"]]))
    assert isinstance(cells[0], Odd)
    assert "without a stored result" in cells[0].why


def test_text_that_looks_like_a_formula_stays_text() -> None:
    rows = rows_of(with_sheet_data('<row r="1"><c r="A1" t="inlineStr"><is><t>=3+4</t></is></c></row>'))
    assert rows == [(1, ["=3+4"])]


def test_rich_text_is_one_text_and_how_it_sounds_is_left_out() -> None:
    # ECMA-376 part 1, 18.4.4 and 18.4.6: runs of rich text, and phonetic runs above it
    text = "<is><r><t>10</t></r><r><t>4K</t></r><rPh><t>ten</t></rPh></is>"
    assert rows_of(with_sheet_data(f'<row r="1"><c r="A1" t="inlineStr">{text}</c></row>')) == [(1, ["104K"])]


def test_escaped_characters_are_read_as_themselves() -> None:
    # ECMA-376 part 1, 22.9.2.19: _xHHHH_ is a character, _x005F_ an underscore that starts none
    text = "<is><t>a_x000D_b _x005F_x0041_</t></is>"
    assert rows_of(with_sheet_data(f'<row r="1"><c r="A1" t="inlineStr">{text}</c></row>')) == [
        (1, ["a\rb _x0041_"])
    ]


def test_rows_and_cells_without_addresses_follow_each_other() -> None:
    # ECMA-376 part 1, 18.3.1.4 and 18.3.1.73: `r` is optional
    rows = rows_of(
        with_sheet_data("<row><c><v>1</v></c><c><v>2</v></c></row><row/><row><c><v>3</v></c></row>")
    )
    assert rows == [(1, ["1", "2"]), (3, ["3"])]


def test_rows_that_are_left_out_still_count() -> None:
    book = Workbook()
    book.active["A1"], book.active["C5"] = "head", "x"
    assert rows_of(saved(book)) == [(1, ["head"]), (5, ["", "", "x"])]


def test_sheets_come_in_their_order_and_hidden_ones_are_marked() -> None:
    book = Workbook()
    book.active.title = "First"
    book.create_sheet("Second").sheet_state = "hidden"
    read = open_book(saved(book), "x")
    assert [(sheet.name, sheet.hidden) for sheet in read.sheets] == [("First", False), ("Second", True)]


def test_a_prefix_before_every_tag_changes_nothing() -> None:
    # Namespaces in XML 1.0: the prefix is free; some writers use x:
    def prefixed(old: bytes) -> bytes:
        tagged = re.sub(rb"<(/?)([a-z])", rb"<\1x:\2", old)
        return tagged.replace(b"xmlns=", b"xmlns:x=")

    assert rows_of(changed(workbook([["a", 2]]), "xl/worksheets/sheet1.xml", prefixed)) == [(1, ["a", "2"])]


def test_what_openpyxl_reads_we_read() -> None:
    lines = [["text", 12, 0.5, None, "µ Ω"], [None, None], ["x" * 300, -1, 0.000001], ["text", "tail <&>"]]
    for file in (workbook(lines), with_shared_strings(workbook(lines))):
        theirs = load_workbook(file, read_only=True).worksheets[0].iter_rows(values_only=True)
        file.seek(0)
        ours = dict(rows_of(file))
        for number, line in enumerate(theirs, start=1):
            seen = ours.get(number, [])
            assert [*seen, *[""] * (len(line) - len(seen))] == [_as_text(value) for value in line]


def _as_text(value: Any) -> str:
    if isinstance(value, float):
        return f"{value:.15f}".rstrip("0")
    return "" if value is None else str(value)


# --- large, hostile, something else


def refusal(file: BytesIO, limits: Limits = LIMITS) -> UnreadableFile:
    with pytest.raises(UnreadableFile) as refused:
        rows_of(file, limits)
    return refused.value


def zipped(**members: bytes) -> BytesIO:
    file = BytesIO()
    with zipfile.ZipFile(file, "w", zipfile.ZIP_DEFLATED) as archive:
        for name, data in members.items():
            archive.writestr(name.replace("__", "/"), data)
    file.seek(0)
    return file


def test_a_part_that_unpacks_to_far_more_than_a_sheet_is_refused_unread() -> None:
    bomb = changed(workbook([["x"]]), "xl/worksheets/sheet1.xml", lambda old: old + b" " * 30_000_000)
    assert bomb.getbuffer().nbytes < 100_000
    refused = refusal(bomb)
    assert refused.status == 413
    assert "unpacks to far more" in refused.detail


def test_many_parts_that_unpack_to_too_much_together_are_refused_unread() -> None:
    file = workbook([["x" * 1000] * 10])
    assert refusal(file, Limits(inflated=10_000)).status == 413


def test_too_many_parts_are_refused() -> None:
    assert refusal(workbook([["x"]]), Limits(members=3)).status == 413


def test_too_many_sheets_are_refused() -> None:
    assert refusal(workbook([["x"]], Second=[["y"]]), Limits(sheets=1)).status == 413


def test_too_many_rows_are_refused_and_blank_ones_do_not_count() -> None:
    assert refusal(workbook([[n] for n in range(12)]), Limits(rows=10)).status == 413
    spread = workbook([[n] if n % 3 == 0 else [None] for n in range(33)])
    assert len(rows_of(spread, Limits(rows=10))) == 11


def test_a_cell_far_to_the_right_is_refused_and_one_far_down_costs_nothing() -> None:
    book = Workbook()
    book.active["XFD1"] = 1
    assert "columns" in refusal(saved(book)).detail
    book = Workbook()
    book.active["A1048576"] = 1
    assert rows_of(saved(book)) == [(1_048_576, ["1"])]


def test_an_endless_cell_is_refused() -> None:
    text = "x" * 300_000
    assert (
        refusal(
            with_sheet_data(f'<row r="1"><c r="A1" t="inlineStr"><is><t>{text}</t></is></c></row>')
        ).status
        == 413
    )


def test_endless_nesting_is_refused() -> None:
    assert "nested" in refusal(with_sheet_data("<a>" * 500 + "</a>" * 500)).detail


def test_entities_that_multiply_are_refused() -> None:
    entities = b'<!DOCTYPE x [<!ENTITY a "aaaaaaaaaa"><!ENTITY b "&a;&a;&a;&a;&a;&a;&a;&a;&a;&a;">]>'
    for part in ("xl/worksheets/sheet1.xml", "xl/workbook.xml", "xl/sharedStrings.xml"):

        def declare(old: bytes) -> bytes:
            body = old.partition(b"?>")[2] if old.startswith(b"<?xml") else old
            return b'<?xml version="1.0"?>' + entities + body

        refused = refusal(changed(with_shared_strings(workbook([["x"]])), part, declare))
        assert refused.status == 422


def test_a_row_number_beyond_the_format_is_refused() -> None:
    for number in ("0", "-1", "1048577", "99999999999999999999", "x", "nan", "1e999"):
        assert refusal(with_sheet_data(f'<row r="{number}"><c r="A1"><v>1</v></c></row>')).status == 422


@pytest.mark.parametrize(
    ("file", "status", "given"),
    [
        (zipped(mimetype=b"application/vnd.oasis.opendocument.spreadsheet"), 415, "OpenDocument"),
        (zipped(readme=b"hello"), 415, "no workbook"),
        (zipped(**{"[Content_Types].xml": b"<x/>", "xl__workbook.bin": b""}), 415, ".xlsb"),
        (zipped(**{"[Content_Types].xml": b"<x/>"}), 422, "damaged"),
        (BytesIO(b"PK\x03\x04 and no more"), 422, "damaged"),
    ],
)
def test_what_is_no_workbook_is_refused_with_the_reason(file: BytesIO, status: int, given: str) -> None:
    refused = refusal(file)
    assert refused.status == status
    assert given in refused.detail


@pytest.mark.parametrize(
    ("part", "old", "new"),
    [
        ("_rels/.rels", b"officeDocument", b"somethingElse"),
        ("xl/workbook.xml", b"r:id=", b"r:no="),
        ("xl/workbook.xml", b"rId1", b"rId77"),
        ("xl/_rels/workbook.xml.rels", b"sheet1.xml", b"sheet7.xml"),
        ("xl/styles.xml", b'numFmtId="0"', b'numFmtId="zero"'),
        ("xl/worksheets/sheet1.xml", b'r="A1"', b'r="1"'),
        ("xl/worksheets/sheet1.xml", b"</row>", b""),
    ],
)
def test_a_part_that_does_not_fit_the_others_is_damage(part: str, old: bytes, new: bytes) -> None:
    whole = workbook([["x", 1]])
    with zipfile.ZipFile(whole) as archive:
        assert old in archive.read(part)
    refused = refusal(changed(whole, part, lambda text: text.replace(old, new)))
    assert (refused.status, "damaged" in refused.detail) == (422, True)


def test_a_locked_workbook_is_refused() -> None:
    data = bytearray(workbook([["x"]]).getvalue())
    for signature, at in ((b"PK\x01\x02", 8), (b"PK\x03\x04", 6)):
        for found in re.finditer(re.escape(signature), bytes(data)):
            data[found.start() + at] |= 1  # APPNOTE.TXT 4.4.4: bit 0 says that the part is encrypted
    refused = refusal(BytesIO(bytes(data)))
    assert refused.status == 415
    assert "password" in refused.detail
