"""The shortages as a spreadsheet."""

import pytest

from inventory import sheets
from tests.factories import JobFactory, NeedFactory, PartFactory, spec, stock
from tests.sheets.importing import exported, lines_of

pytestmark = pytest.mark.django_db


@pytest.mark.parametrize("form", ["xlsx", "csv"])
def test_what_is_short_and_who_waits_stands_in_a_row(form: str) -> None:
    of = spec("resistor", "4k7")
    job = JobFactory(name="Plover rebuild")
    for ref in ("R1", "R2", "R3"):
        NeedFactory(job=job, of=of, ref=ref)
    stock(2, part=PartFactory(of=of))
    (line,) = lines_of(exported(form, "shortages"))
    assert (line["Requirement"], line["Kind"], line["Value"]) == (of.text, "resistor", "4k7")
    assert [line[name] for name in ("Needed", "Fitted", "Promised", "Free", "On donors", "Short")] == [
        "3", "0", "0", "2", "0", "1",
    ]  # fmt: skip
    assert line["Jobs that wait"] == "Plover rebuild R3"


def test_the_workbook_also_says_what_to_take_and_what_just_does_not_do() -> None:
    from inventory.sheets.opening import open_book

    job = JobFactory()
    NeedFactory(job=job, of=spec("resistor", "4k7"), ref="R1")
    NeedFactory(job=job, of=spec("capacitor", "100n", volts=63), ref="C1")
    taken = stock(part=PartFactory(of=spec("resistor", "4k7")))
    missed = stock(part=PartFactory(of=spec("capacitor", "100n", volts=16)))
    book = open_book(exported("xlsx", "shortages"), "x")
    read = {sheet.name: [cells for _number, cells in sheet.rows][1:] for sheet in book.sheets}
    (piece,) = read["Pieces to take"]
    assert (piece[1], piece[2], piece[4], piece[6]) == (job.name, "1", taken.place.name, str(taken.lot_id))
    (miss,) = read["Nearest misses"]
    assert (miss[2], miss[5]) == (missed.place.name, "no")
    assert "volts" in miss[6]


def test_jobs_may_be_chosen() -> None:
    one, other = JobFactory(), JobFactory()
    NeedFactory(job=one, of=spec("resistor", "1k"))
    NeedFactory(job=other, of=spec("resistor", "2k2"))
    assert len(lines_of(exported("csv", "shortages"))) == 2
    assert [line["Value"] for line in lines_of(exported("csv", "shortages", job=str(other.pk)))] == ["2k2"]


@pytest.mark.parametrize(
    "options", [{"job": ["x"]}, {"job": ["99999"]}, {"borrow": ["maybe"]}, {"borrow": ["true", "true"]}]
)
def test_a_wrong_option_is_refused(options: dict[str, list[str]]) -> None:
    with pytest.raises(sheets.BadOption):
        sheets.export("shortages", "csv", options)
