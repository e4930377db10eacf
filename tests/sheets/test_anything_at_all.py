"""Whatever stands in the cells, an import answers with a report or bad cells; a preview keeps nothing."""

from io import BytesIO
from typing import Any

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from inventory import sheets
from inventory.models import Lot
from inventory.sheets import IMPORTS, BadRows, UnreadableFile
from tests.examples import examples
from tests.factories import BoardFactory, DesignFactory, NeedFactory, PartFactory, PlaceFactory, spec
from tests.sheets.books import text_table
from tests.sheets.importing import RESISTOR, everything, stock_csv, take_in

pytestmark = pytest.mark.django_db

LIKELY = (
    "resistor", "ic", "capacitor", "crystal", "4k7", "100n", "10", "0", "1", "-1", "999999999999", "5%",
    "63 V", "yes", "good", "faulty", "board", "bought", "Plover donor", "Plover", "A", "R1", "R1-R4, R7",
    "all", "R4-R1", "there", "lifted", "gone", "Drawer 1", "Cabinet A / Drawer 7", "Robin", "scrap bin",
    "outside",
    "/", "a / / b", "v1, 10 in Cabinet A / Drawer 7", "v9, 3 in nowhere", "polarity=npn; gain_min=40",
    '{"rails": [5, -5]}', "{}", "[1]", "{", "rails=5 -5 12", "=1+1", "'", "\x07", "\u202e", "𝟜𝟟", "４７",
    "1e400", "NaN", "∞", "½", "²", "donor", "working", "film", "smd", "0.5", "x" * 300, "9" * 60,
)  # fmt: skip
CELL = st.one_of(
    st.sampled_from(LIKELY), st.just(""), st.text(st.characters(exclude_categories=["Cs"]), max_size=30)
)


@pytest.fixture(autouse=True)
def _workshop() -> None:
    take_in(stock_csv(RESISTOR, RESISTOR | {"Value": "10k"}))
    design = DesignFactory(name="Plover", revision="A", positions={"R1": spec("resistor", "4k7")})
    BoardFactory(name="Plover donor", design=design)
    PlaceFactory(name="Robin", type="person")
    NeedFactory(of=PartFactory(of=spec("resistor", "4k7")).spec.spec, quantity=500)


@pytest.mark.parametrize("kind", IMPORTS)
def test_any_cells_are_taken_in_or_named(kind: str) -> None:
    table = IMPORTS[kind].tables[0]
    headings = [column.heading for column in table.columns]
    lots = [str(pk) for pk in Lot.objects.values_list("pk", flat=True)]
    before = everything()
    cell = st.one_of(CELL, st.sampled_from(lots))
    sound, reasons = 0, set[str]()

    @settings(max_examples=examples(40, 200), deadline=None, suppress_health_check=list(HealthCheck))
    @given(st.lists(st.dictionaries(st.sampled_from(headings), cell, max_size=12), min_size=1, max_size=4))
    def check(rows: list[dict[str, str]]) -> None:
        nonlocal sound
        needed = {column.heading: column.example for column in table.columns if column.example}
        needed |= {"Design": "Plover", "Revision": "A"} if kind == "donor" else {}
        lines: list[Any] = [{**needed, **row} for row in rows]
        try:
            report = sheets.import_sheet(
                _all_columns(headings, lines), name="x", kind=kind, by=None, dry_run=True
            )
            assert report.created + report.updated + report.unchanged == report.rows
            sound += 1
        except (BadRows, UnreadableFile) as refused:
            reasons.add(str(refused))
        assert everything() == before

    check()
    assert sound
    assert len(reasons) > 1


def _all_columns(headings: list[str], lines: list[dict[str, str]]) -> BytesIO:
    rows = [headings, *([line.get(heading, "") for heading in headings] for line in lines)]
    quoted = (",".join('"' + cell.replace('"', '""') + '"' for cell in row) for row in rows)
    return text_table("\n".join(quoted), "utf-8-sig")


@settings(max_examples=60, deadline=None, suppress_health_check=list(HealthCheck))
@given(st.binary(max_size=400), st.sampled_from(list(IMPORTS)))
def test_any_bytes_are_refused_with_a_reason(data: bytes, kind: str) -> None:
    with pytest.raises((BadRows, UnreadableFile)) as refused:
        sheets.import_sheet(BytesIO(data), name="x", kind=kind, by=None)
    assert str(refused.value)
