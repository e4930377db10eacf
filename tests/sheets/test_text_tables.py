"""csv in all the ways in which programs save it."""

import pytest

from inventory.sheets import csvtext
from inventory.sheets.grid import LIMITS, Limits, UnreadableFile
from inventory.sheets.opening import open_book
from tests.sheets.books import rows_of, text_table


def test_rows_are_numbered_as_the_spreadsheet_shows_them() -> None:
    # RFC 4180, 2.6: a line break inside quotes is part of the cell.  A blank line still is a row on screen.
    rows = rows_of(text_table('a,b\n\n"two\nlines",x\n,\nlast,y\n'))
    assert rows == [(1, ["a", "b"]), (3, ["two\nlines", "x"]), (5, ["last", "y"])]


def test_quotes_are_doubled_inside_quotes() -> None:
    # RFC 4180, 2.7
    assert rows_of(text_table('a,b\n"5"" disc",2\n')) == [(1, ["a", "b"]), (2, ['5" disc', "2"])]


def test_an_inch_mark_in_the_middle_of_a_cell_is_an_inch_mark() -> None:
    assert rows_of(text_table('a,b\n5" disc,2\n'))[1] == (2, ['5" disc', "2"])


@pytest.mark.parametrize("encoding", ["utf-8", "utf-8-sig", "utf-16", "utf-16-le", "utf-16-be", "utf-32"])
def test_unicode_text_is_read_whatever_its_encoding(encoding: str) -> None:
    text = "Kind,Value\nresistor,4.7 kΩ\ncapacitor,0.1 µF\n"
    assert rows_of(text_table(text, encoding)) == [
        (1, ["Kind", "Value"]),
        (2, ["resistor", "4.7 kΩ"]),
        (3, ["capacitor", "0.1 µF"]),
    ]


def test_western_text_is_read_and_reported() -> None:
    book = open_book(text_table("Value\n0.1 µF\n", "latin-1"), "old.csv")
    assert [cells for _number, cells in book.sheets[0].rows] == [["Value"], ["0.1 µF"]]
    assert "not in UTF-8" in book.notes[0]


@pytest.mark.parametrize("separator", [",", ";", "\t"])
def test_the_separator_is_found(separator: str) -> None:
    lines = [["Kind", "Value", "Note"], ["resistor", "2,2k", "left, of two; both"], ["capacitor", "10n", ""]]
    quoted = "\n".join(separator.join(f'"{cell}"' for cell in line) for line in lines)
    assert [cells for _number, cells in rows_of(text_table(quoted))] == lines


def test_decimal_commas_do_not_hide_the_separator() -> None:
    assert rows_of(text_table("Value;Volts\n2,2k;6,3\n4,7k;6,3\n"))[1] == (2, ["2,2k", "6,3"])


def test_a_first_line_that_names_the_separator_is_no_row() -> None:
    # common practice, no source: spreadsheet programs hide a first line such as sep=;
    assert rows_of(text_table("sep=;\na;b\n1;2\n")) == [(1, ["a", "b"]), (2, ["1", "2"])]


def test_ragged_rows_are_read_as_they_are() -> None:
    assert rows_of(text_table("a,b,c\n1\n1,2,3,4\n"))[1:] == [(2, ["1"]), (3, ["1", "2", "3", "4"])]


@pytest.mark.parametrize(
    ("text", "harmless"),
    [
        ("=1+1", "'=1+1"),
        ("+5V", "'+5V"),
        ("-12 V", "'-12 V"),
        ("@home", "'@home"),
        ("\t=1", "'\t=1"),
        ("\r=1", "'\r=1"),
        ("'=1", "''=1"),
        ("'tis", "'tis"),
        ("4k7", "4k7"),
    ],
)
def test_what_a_spreadsheet_would_run_is_marked_as_text_and_comes_back(text: str, harmless: str) -> None:
    # The characters are those of OWASP, "CSV Injection".
    assert csvtext.harmless(text) == harmless
    assert csvtext.as_typed(harmless) == text


def test_a_negative_figure_that_a_person_wrote_is_no_formula() -> None:
    assert rows_of(text_table("X,Y\n-0.5,+2\n"))[1] == (2, ["-0.5", "+2"])


def refusal(data: bytes, limits: Limits = LIMITS) -> UnreadableFile:
    from io import BytesIO

    with pytest.raises(UnreadableFile) as refused:
        rows_of(BytesIO(data), limits)
    return refused.value


@pytest.mark.parametrize(
    ("data", "status", "given"),
    [
        (b"", 422, "empty"),
        (b" \n\n", 422, "empty"),
        (b'a,b\n"open,1\n2,3\n', 422, "row 2 cannot be read: a quote"),
        (b'a,b\n"x"y,1\n', 422, "row 2 cannot be read"),
        (b"a,b\n1,\0\0\0\0\n" * 9, 415, "neither"),
        (b"\x89PNG\r\n\x1a\n\0\0\0\rIHDR", 415, "neither"),
        (b"\xd0\xcf\x11\xe0\xa1\xb1\x1a\xe1" + b"\0" * 600, 415, "old .xls"),
        (b"<html><table><tr><td>Kind</td></tr></table>", 415, "web page"),
        (b"%PDF-1.7\n", 415, "PDF"),
        ("Kind\nΩ".encode("utf-16")[:-1], 422, "damaged"),
        (b"\x01\x02\x03\x04,b\n", 415, "neither"),
    ],
)
def test_what_is_no_table_is_refused_with_the_reason(data: bytes, status: int, given: str) -> None:
    refused = refusal(data)
    assert refused.status == status
    assert given in refused.detail


def test_too_large_a_file_is_refused_before_it_is_read() -> None:
    assert refusal(b"a,b\n" * 10, Limits(bytes=20)).status == 413


def test_too_many_rows_are_refused() -> None:
    assert refusal(b"a\n" * 12, Limits(rows=10)).status == 413
    assert len(rows_of(text_table("a\n" * 11), Limits(rows=10))) == 11  # the headings do not count


def test_too_many_columns_are_refused() -> None:
    assert refusal(b"a,b,c,d\n", Limits(columns=3)).status == 413
    assert rows_of(text_table("a,b,c,,,\n"), Limits(columns=3))


def test_an_endless_cell_is_refused() -> None:
    assert "far too long" in refusal(b"a,b\n" + b"x" * 140_000 + b",1\n").detail
