"""The printed report: what is alike stands in one row, and nothing that was used or measured is lost.

The readings are invented.
"""

from dataclasses import replace
from datetime import UTC, datetime
from decimal import Decimal
from typing import Any

from repairs.answers.report.answer import RepairReport, ReportReading, ReportTrial, UsedPart
from repairs.answers.report.in_short import MAX_NOTES, ShortReport, in_short
from repairs.benchlog import LogLine


def part(ref: str, fitted: str = "4k7", origin: str = "Cabinet A", **more: Any) -> UsedPart:
    plain: dict[str, Any] = {"wanted": fitted, "salvaged": True, "price": None, "quantity": 1, "note": ""}
    return UsedPart(ref=ref, fitted=fitted, origin=origin, **{**plain, **more})


def reading(rail: str, stage: str, text: str, ref: str = "") -> ReportReading:
    return ReportReading(rail, stage, ref, text, "hugo")


def short(**parts: list[Any]) -> ShortReport:
    empty: dict[str, list[Any]] = {"parts": [], "readings": [], "trials": [], "log": []}
    return in_short(replace(RepairReport.example(), **{**empty, **parts}), lambda photo: "")


def test_like_parts_are_one_row_with_every_position_and_origin() -> None:
    rows = [part("R1"), part("R2"), part("R3", origin="Tern donor 1 R9"), part("C1", "100n")]
    alike, other = short(parts=rows).parts
    assert (alike.refs, alike.count, alike.origins) == ("R1-R3", 3, ("Cabinet A", "Tern donor 1 R9"))
    assert (other.refs, other.fitted) == ("C1", "100n")


def test_parts_that_differ_in_price_or_note_stay_apart() -> None:
    rows = [part("R1"), part("R2", price=Decimal("0.1")), part("R3", note="legs crossed")]
    assert [(each.refs, each.price) for each in short(parts=rows).parts] == [
        ("R1", ""), ("R2", "0.10"), ("R3", ""),
    ]  # fmt: skip


def test_a_rail_is_one_row_with_each_reading_in_its_column() -> None:
    rows = [
        reading("+5 V", "ohms", "1k2"), reading("+5 V", "chips_out", "0.1 V"),
        reading("+5 V", "chips_out", "5.02 V"),
        reading("+5 V", "at_pins", "5.01 V", "IC1"), reading("-5 V", "ohms", "2k"),
    ]  # fmt: skip
    five, minus = short(readings=rows).rails
    assert five.readings == ("1k2", "0.1 V, 5.02 V", "IC1 5.01 V")
    assert (minus.name, minus.readings, minus.by) == ("-5 V", ("2k", "", ""), "hugo")


def test_what_was_tried_alike_is_one_line_and_a_repeat_is_counted() -> None:
    rows = [ReportTrial(f"lot {number}", "capacitance", "101 nF", "good") for number in (1, 2, 2)]
    assert short(trials=rows).trials == (("capacitance, good", "lot 1: 101 nF; lot 2: 101 nF (2 times)"),)


def test_of_the_log_people_s_own_words_stand_and_the_rest_is_counted() -> None:
    note = LogLine(datetime(2026, 11, 22, tzinfo=UTC), "note", "", "hugo", 1)
    log = [replace(note, kind="lift"), note, replace(note, kind="fit", note="tight")]
    printed = short(log=log)
    assert [each.kind for each in printed.notes] == ["note", "fit"]
    assert printed.lines == 3
    many = short(log=[note] * (MAX_NOTES + 5))
    assert (len(many.notes), many.lines) == (MAX_NOTES, MAX_NOTES + 5)
