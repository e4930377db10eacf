"""Date codes: every row of the published table, and what the era does to them."""

from __future__ import annotations

import pytest

from inventory.decoding import Question, decode
from inventory.decoding.dates import MONTHS, dates_in

from .published import read, rows

TABLE = rows("date_codes")
YEARS = [row for row in TABLE if row["position"] == "1 year"]
MONTH_ROWS = [row for row in TABLE if row["position"] == "2 month"]


@pytest.mark.parametrize("row", YEARS, ids=[f"{row['symbol']} {row['meaning']}" for row in YEARS])
def test_every_year_letter(row: dict[str, str]) -> None:
    assert f"{row['meaning']}-05" in [each.iso for each in dates_in(f"{row['symbol']}5", None)], row["source"]


@pytest.mark.parametrize("row", MONTH_ROWS, ids=[row["symbol"] for row in MONTH_ROWS])
def test_every_month_character(row: dict[str, str]) -> None:
    assert MONTHS[row["symbol"]] == int(row["meaning"]), row["source"]
    assert f"2012-{int(row['meaning']):02d}" in [each.iso for each in dates_in(f"C{row['symbol']}", None)]


def test_the_letters_that_look_like_figures_are_no_year() -> None:
    # Same table: twenty letters A to X without G I O Q.
    assert all(dates_in(f"{letter}5", None) == [] for letter in "GIOQYZ")


@pytest.mark.parametrize(
    ("code", "date", "source"),
    [
        ("1208", "2012-W08", "YYWW, EN 60062:1994 clause 5.2"),
        ("1208", "2008-W12", "WWYY, from memory"),
        ("845", "1988-W45", "YWW, from memory"),
        ("85", "1998-05", "ten-year cycle, from memory"),
        ("C05", "2012-W05", "year letter and week, from memory"),
        ("8523", "1985-W23", "YYWW, EN 60062:1994 clause 5.2"),
        ("7830", "1978-W30", "YYWW, computed"),
        ("9952", "1999-W52", "YYWW, computed"),
    ],
)
def test_the_other_date_systems(code: str, date: str, source: str) -> None:
    assert date in [each.iso for each in dates_in(code, None)], source


@pytest.mark.parametrize(
    ("marking", "era", "date"),
    [  # lots of makers from memory
        ("SN74LS04N 8216A", None, "1982-W16"),
        ("LM324N QH8139", 1982, "1981-W39"),
        ("MC6809P 3D2", 1984, "1983-04"),
        ("NE555P 0312", 2003, "2003-W12"),  # YYWW or WWYY, as the person says when
        ("NE555P 0312", 2012, "2012-W03"),
    ],
)
def test_letters_of_the_lot_stand_before_or_behind_the_date(marking: str, era: int | None, date: str) -> None:
    assert read(marking, era=era).readings[0].date == date


def test_a_second_type_number_is_no_date() -> None:
    # A C1815 (JIS C 7012, 2S left off) is no week of 2018 unless somebody says so.
    for marking in ("A1015 C1815", "LM358 D1210"):
        assert not read(marking).readings[0].date


def test_the_year_of_a_copyright_is_no_week() -> None:
    assert not read("MC6821P ©1984").readings[0].date
    assert read("MC6821P (C)1984 8623").readings[0].date == "1986-W23"


def test_an_impossible_week_is_no_date() -> None:
    # 8167 is not YYWW (weeks 01 to 53), computed.
    assert not [each for each in dates_in("8167", None) if each.iso.startswith("1981")]
    assert dates_in("9999", None) == []


def test_the_era_chooses_between_years_that_repeat() -> None:
    # The letter cycle repeats every 20 years (IEC 60062, from memory); the era is the person's.
    firsts = {era: decode(Question(marking="C5", era=era)).readings[0].date for era in (1975, 1990, 2014)}
    assert firsts == {1975: "1972-05", 1990: "1992-05", 2014: "2012-05"}


def test_a_lone_letter_is_a_year_only_when_the_person_says_so() -> None:
    # X418 to X426 of the worked examples.
    assert [each.date for each in read("U (year letter)").readings][:1] == ["2006"]
    assert not any(each.date for each in read("U").readings)


def test_a_type_number_may_be_a_date_and_both_are_shown() -> None:
    # 7430 alone on a 14-pin chip (common practice, no source).
    found = read("7430").readings
    assert {"7430"} <= {each.number for each in found}
    assert "1974-W30" in {each.date for each in found}


def test_a_date_beside_a_type_belongs_to_it() -> None:
    # Prefix and suffix mark the part (cctalk 1998-April 0215).
    best = read("SN74LS04N 8213").readings[0]
    assert (best.number, best.date) == ("74LS04", "1982-W13")


@pytest.mark.parametrize("body", ["dip", "so-8", "to-92", ""])
@pytest.mark.parametrize(
    "marking",
    ["XC9536", "NJ8820", "8303N", "8830N", "7524J", "XL1509", "QQ8139", "FM2431", "KC1533", "8144B"],
)
def test_a_date_glued_to_its_lot_is_never_sure_by_itself(marking: str, body: str) -> None:
    # Common practice, no source: as many types look so.
    readings = read(marking, body=body).readings
    assert sum(each.score for each in readings if each.date) < 0.76


@pytest.mark.parametrize("body", ["dip", "so-8"])
@pytest.mark.parametrize("marking", ["XC9536", "NJ8820", "8303N", "8830N", "7524J", "XL1509", "QQ8139"])
def test_letters_that_begin_or_end_a_chip_s_number_make_a_type_first(marking: str, body: str) -> None:
    # From memory of makers' numbers: level with a date, and never behind it.
    readings = read(marking, body=body).readings
    assert (readings[0].kind, readings[0].number) == ("ic", marking)
    assert readings[1].date
    assert readings[0].score - readings[1].score < 0.2


@pytest.mark.parametrize(
    ("marking", "era"),
    [("XC9554", None), ("8199B", None), ("QQ3512", None), ("8144B", 1995), ("XC9536", 1981)],
)
def test_a_lot_whose_figures_are_no_week_or_of_no_such_year_is_no_date(marking: str, era: int | None) -> None:
    for body in ("dip", ""):
        assert not any(each.date for each in read(marking, body=body, era=era).readings)
