"""The printed report: what is alike stands in one row, and nothing that was used or measured is lost.

The readings are invented.
"""

from dataclasses import replace
from datetime import UTC, datetime
from decimal import Decimal
from typing import Any

from repairs.answers.report.answer import RepairReport, ReportException, ReportReading, ReportTrial, UsedPart
from repairs.answers.report.in_short import MAX_NOTES, ShortReport, in_short
from repairs.benchlog import LogLine


def part(ref: str, fitted: str = "4k7", origin: str = "Cabinet A", **more: Any) -> UsedPart:
    plain: dict[str, Any] = {"wanted": fitted, "salvaged": True, "price": None, "quantity": 1, "note": ""}
    return UsedPart(ref=ref, fitted=fitted, origin=origin, **{**plain, **more})


def reading(rail: str, stage: str, text: str, ref: str = "") -> ReportReading:
    return ReportReading(rail, stage, ref, text, "hugo")


def short(**parts: list[Any]) -> ShortReport:
    empty: dict[str, list[Any]] = {"parts": [], "readings": [], "trials": [], "exceptions": [], "log": []}
    return in_short(replace(RepairReport.example(), **{**empty, **parts}), lambda photo: "")


def test_like_parts_are_one_row_with_every_position_and_origin() -> None:
    rows = [part("R1"), part("R2"), part("R3", origin="Tern donor 1 R9"), part("C1", "100n")]
    alike, other = short(parts=rows).parts
    assert (alike.refs, alike.count, alike.origins) == ("R1-R3", 3, ("Cabinet A", "Tern donor 1 R9"))
    assert (other.refs, other.fitted) == ("C1", "100n")


def test_the_donor_of_most_parts_is_said_once_and_what_came_from_elsewhere_at_its_part() -> None:
    same = [
        part(ref, fitted, f"Tern donor 1 {ref}")
        for ref, fitted in (("R1", "4k7"), ("R2", "4k7"), ("C1", "100n"))
    ]
    other = [part("R3", "4k7", "Tern donor 1 R9"), part("D1", "1N4148", "bought the market")]
    printed = short(parts=[*same, *other])
    assert printed.donor == "Tern donor 1"
    assert {each.refs: each.origins for each in printed.parts} == {
        "R1-R3": ("Tern donor 1 R9",), "C1": (), "D1": ("bought the market",),
    }  # fmt: skip
    few = short(parts=same[:2])
    assert (few.donor, few.parts[0].origins) == ("", ("Tern donor 1 R1", "Tern donor 1 R2"))


def test_what_was_accepted_for_one_reason_is_one_line() -> None:
    rows = [ReportException("condition", ref, "worked yesterday", "hugo") for ref in ("C1", "C2", "C3")]
    rows += [ReportException("position", "C9", "not on this board", "hugo")]
    printed = [(each.check, each.subject) for each in short(exceptions=rows).accepted]
    assert printed == [("condition", "C1-C3"), ("position", "C9")]


def test_chips_that_came_out_together_are_one_line() -> None:
    moved = LogLine(datetime(2026, 11, 22, tzinfo=UTC), "remove", "IC1 to a tray", "hugo", 1, "chips out")
    printed = short(log=[moved, replace(moved, text="IC2 to a tray"), replace(moved, note="chips back in")])
    assert [(each.text, each.note) for each in printed.notes] == [
        ("2 pieces: chips out", ""), ("IC1 to a tray", "chips back in"),
    ]  # fmt: skip
    assert printed.lines == 3


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
