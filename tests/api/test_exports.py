"""`exports/`: spreadsheets out, and empty ones to fill in."""

from io import BytesIO
from typing import Any

import pytest

from inventory.models import Design
from inventory.sheets.opening import open_book
from tests.factories import DesignFactory, NeedFactory, spec
from tests.sheets.importing import RESISTOR, lines_of, stock_csv, take_in

XLSX = "application/vnd.openxmlformats-officedocument.spreadsheetml.sheet"


def fetched(client: Any, path: str) -> Any:
    answer = client.get(f"/api/v1/exports/{path}")
    if answer.status_code == 200:
        answer.file = BytesIO(b"".join(answer.streaming_content))
    return answer


@pytest.fixture
def design(db: None) -> Design:
    return DesignFactory(name="Plover", revision="A", positions={"R1": spec("resistor", "4k7")})


@pytest.mark.parametrize(("form", "media"), [("xlsx", XLSX), ("csv", "text/csv")])
def test_stock_is_sent_as_a_download(viewer: Any, form: str, media: str) -> None:
    take_in(stock_csv(RESISTOR))
    answer = fetched(viewer, f"stock.{form}")
    assert answer.status_code == 200
    assert answer["Content-Type"].partition(";")[0] == media
    assert answer["Content-Disposition"].startswith('attachment; filename="stock-')
    assert answer["Content-Disposition"].endswith(f'.{form}"')
    assert answer.streaming
    assert [line["Value"] for line in lines_of(answer.file)] == ["4k7"]


@pytest.mark.parametrize("form", ["xlsx", "csv"])
def test_a_design_is_asked_for_by_its_id(viewer: Any, design: Design, form: str) -> None:
    answer = fetched(viewer, f"design.{form}?design={design.pk}")
    assert [line["Ref"] for line in lines_of(answer.file)] == ["R1"]


@pytest.mark.parametrize(
    "query", ["", "?design=", "?design=999999", "?design=x", "?design=1&design=2", "?colour=red"]
)
def test_a_wrong_question_is_400(viewer: Any, design: Design, query: str) -> None:
    answer = fetched(viewer, f"design.csv{query}")
    assert answer.status_code == 400
    assert answer["Content-Type"] == "application/problem+json"


def test_the_ledger_is_sent(viewer: Any) -> None:
    take_in(stock_csv(RESISTOR))
    for form in ("xlsx", "csv"):
        assert [line["Kind"] for line in lines_of(fetched(viewer, f"ledger.{form}").file)] == ["receive"]


def test_shortages_are_sent(viewer: Any) -> None:
    need = NeedFactory(of=spec("resistor", "4k7"))
    for form in ("xlsx", "csv"):
        answer = fetched(viewer, f"shortages.{form}?job={need.job_id}&borrow=true")
        assert [line["Short"] for line in lines_of(answer.file)] == ["1"]
    assert fetched(viewer, "shortages.csv?job=999999").status_code == 400


@pytest.mark.parametrize("kind", ["stock", "design", "donor"])
def test_an_empty_workbook_is_sent(viewer: Any, kind: str) -> None:
    answer = fetched(viewer, f"templates/{kind}.xlsx")
    assert answer["Content-Type"] == XLSX
    assert lines_of(answer.file) == []
    answer.file.seek(0)
    headings = open_book(answer.file, "empty").sheets[0]
    answer = fetched(viewer, f"templates/{kind}.csv")
    assert answer["Content-Type"].partition(";")[0] == "text/csv"
    assert list(open_book(answer.file, "empty").sheets[0].rows) == list(headings.rows)


@pytest.mark.parametrize(
    "path", ["stock.pdf", "nothing.xlsx", "stock", "templates/ledger.xlsx", "templates/ledger.csv"]
)
def test_what_is_not_exported_is_404(viewer: Any, path: str) -> None:
    assert fetched(viewer, path).status_code == 404


def test_an_unknown_parameter_is_400(viewer: Any) -> None:
    assert fetched(viewer, "stock.csv?kind=resistor").status_code == 400


def test_nothing_is_sent_to_a_stranger(stranger: Any, db: None) -> None:
    for path in ("stock.xlsx", "ledger.csv", "templates/stock.xlsx"):
        assert fetched(stranger, path).status_code == 401


def test_exports_are_only_read(bench: Any) -> None:
    assert bench.post("/api/v1/exports/stock.csv").status_code == 405
