"""`imports/`: a spreadsheet comes in, whole or not at all."""

import json
from io import BytesIO
from typing import Any

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile
from django.test import override_settings
from openpyxl import load_workbook

from inventory.models import Board, Design, Holding, Lot, Movement
from repairs.models import Purchase
from tests.factories import spec
from tests.sheets.books import saved, workbook
from tests.sheets.importing import RESISTOR, book_of, exported, stock_csv

PATH = "/api/v1/imports/"
SURVEY = {"Board": "Plover donor", "Ref": "R1", "Kind": "resistor", "Value": "4k7"}
PARTS = {"Design": "Plover", "Revision": "A", "Ref": "R1-R4", "Kind": "resistor", "Value": "4k7"}


def sent(
    client: Any, file: BytesIO | bytes, kind: str = "stock", name: str = "drawers.csv", **more: Any
) -> Any:
    headers = more.pop("headers", {})
    data = file if isinstance(file, bytes) else file.getvalue()
    body = {"file": SimpleUploadedFile(name, data), "as": kind, **more}
    return client.post(PATH, body, format="multipart", headers=headers)


def test_a_stock_sheet_comes_in_and_is_reported(bench: Any) -> None:
    answer = sent(bench, stock_csv(RESISTOR, RESISTOR | {"Value": "10k", "Colour": "red"}))
    assert answer.status_code == 200
    assert answer.data == {
        "as": "stock", "dry_run": False, "rows": 2, "created": 2, "updated": 0, "unchanged": 0,
        "unknown_columns": ["Colour"], "notes": ["Places made: Cabinet A; Cabinet A / Drawer 7."],
    }  # fmt: skip
    assert Movement.objects.filter(by=bench.person).count() == 2


@pytest.mark.parametrize(("kind", "line"), [("stock", RESISTOR), ("design", PARTS), ("donor", SURVEY)])
@pytest.mark.parametrize("form", ["xlsx", "csv"])
def test_every_kind_comes_in_as_xlsx_and_csv(bench: Any, kind: str, line: dict[str, str], form: str) -> None:
    file = book_of(line) if form == "xlsx" else stock_csv(line)
    answer = sent(bench, file, kind, f"sheet.{form}")
    assert (answer.status_code, answer.data["created"]) == (200, 1)
    assert {"stock": Lot, "design": Design, "donor": Board}[kind].objects.exists()


def test_the_kind_of_file_is_recognised_by_what_is_in_it_not_by_its_name(bench: Any) -> None:
    assert sent(bench, book_of(RESISTOR), name="drawers.csv").data["created"] == 1
    assert sent(bench, stock_csv(RESISTOR), name="drawers.xlsx").data["unchanged"] == 1


@pytest.mark.parametrize("given", ["true", "1", "yes", True])
def test_a_dry_run_keeps_nothing(bench: Any, given: Any) -> None:
    answer = sent(bench, stock_csv(RESISTOR), dry_run=given)
    assert (answer.data["dry_run"], answer.data["created"]) == (True, 1)
    assert not Lot.objects.exists()


def test_bad_cells_are_422_and_all_named(bench: Any) -> None:
    answer = sent(
        bench, book_of(RESISTOR, RESISTOR | {"Quantity": "a few", "Kind": "thing"}, sheet="Drawers")
    )
    assert answer.status_code == 422
    assert answer["Content-Type"] == "application/problem+json"
    kind, quantity = answer.data["errors"]
    assert quantity == {
        "sheet": "Drawers", "row": 3, "column": "Quantity", "found": "a few",
        "detail": "expected a whole number from 0 to 1,000,000,000",
    }  # fmt: skip
    assert (kind["row"], kind["column"], kind["found"]) == (3, "Kind", "thing")
    assert answer.data["errors_total"] == 2
    assert answer.data["detail"] == "2 cells are not accepted; nothing is kept"
    assert not Lot.objects.exists()


def test_the_list_of_bad_cells_is_bounded(bench: Any) -> None:
    answer = sent(bench, stock_csv(*(RESISTOR | {"Quantity": "x"} for _ in range(1200))))
    assert (len(answer.data["errors"]), answer.data["errors_total"]) == (1000, 1200)


@pytest.mark.parametrize(
    ("data", "status", "given"),
    [
        (b"", 422, "empty"),
        (b"\xd0\xcf\x11\xe0" + bytes(600), 415, "old .xls"),
        (b"PK\x03\x04 broken", 422, "damaged"),
        (b"<html></html>", 415, "web page"),
        (b"\x89PNG\r\n\x1a\n" + bytes(60), 415, "neither"),
        (b'Kind,"Quantity\n', 422, "quote"),
        (b"a,b\n1,2\n", 422, "not accepted"),
    ],
)
def test_a_file_that_is_no_table_is_refused_with_the_reason(
    bench: Any, data: bytes, status: int, given: str
) -> None:
    answer = sent(bench, data)
    assert answer.status_code == status
    assert answer["Content-Type"] == "application/problem+json"
    assert given in answer.data["detail"]


def test_a_workbook_that_unpacks_to_gigabytes_is_413(bench: Any) -> None:
    from tests.sheets.test_workbooks import changed

    bomb = changed(workbook([["x"]]), "xl/worksheets/sheet1.xml", lambda old: old + b" " * 30_000_000)
    answer = sent(bench, bomb)
    assert (answer.status_code, answer.data["code"]) == (413, "too_large")


def test_a_file_above_the_limit_is_413(bench: Any) -> None:
    with override_settings(UPLOAD_BYTES=2_000):
        answer = sent(bench, b"x" * 3_000)
    assert (answer.status_code, answer["Content-Type"]) == (413, "application/problem+json")


@pytest.mark.parametrize(
    ("body", "pointer"),
    [
        ({"as": "stock"}, "#/file"),
        ({"file": True}, "#/as"),
        ({"file": True, "as": "photos"}, "#/as"),
        ({"file": True, "as": "stock", "dry_run": "perhaps"}, "#/dry_run"),
        ({"file": True, "as": "stock", "colour": "red"}, "#/colour"),
        ({"file": "no file", "as": "stock"}, "#/file"),
    ],
)
def test_a_wrong_request_is_400_and_says_where(bench: Any, body: dict[str, Any], pointer: str) -> None:
    if body.get("file") is True:
        body = body | {"file": SimpleUploadedFile("x.csv", stock_csv(RESISTOR).getvalue())}
    answer = bench.post(PATH, body, format="multipart")
    assert answer.status_code == 400
    assert pointer in [error["pointer"] for error in answer.data["errors"]]
    assert not Lot.objects.exists()


def test_json_is_no_upload(bench: Any) -> None:
    assert bench.post(PATH, {"as": "stock"}, format="json").status_code == 415


def test_a_body_that_is_no_multipart_is_400(bench: Any) -> None:
    answer = bench.post(PATH, b"--x\r\nbroken", content_type="multipart/form-data; boundary=y")
    assert answer.status_code == 400
    assert bench.post(PATH, b"", content_type="multipart/form-data").status_code == 400


def test_an_unknown_parameter_is_400(bench: Any) -> None:
    file = SimpleUploadedFile("x.csv", stock_csv(RESISTOR).getvalue())
    answer = bench.post(f"{PATH}?dryrun=1", {"file": file, "as": "stock"}, format="multipart")
    assert answer.status_code == 400
    assert not Lot.objects.exists()


def test_what_the_ledger_refuses_is_named_by_its_cell(bench: Any) -> None:
    from repairs import reservations
    from tests.factories import NeedFactory

    sent(bench, stock_csv(RESISTOR))
    lot = Lot.objects.get()
    need = NeedFactory(of=lot.part.spec.spec, quantity=3)
    reservations.reserve(need, lot.holdings.get(), 3, by=None)
    answer = sent(bench, stock_csv({"Lot": lot.pk, "Quantity": 2}))
    assert answer.status_code == 422
    assert "3 are reserved" in answer.data["errors"][0]["detail"]


# --- again


def test_a_retried_import_happens_once(bench: Any) -> None:
    key = {"Idempotency-Key": '"drawers-1"'}
    first = sent(bench, stock_csv(RESISTOR), headers=key)
    again = sent(bench, stock_csv(RESISTOR), headers=key)
    assert first.data == again.data
    assert again.data["created"] == 1
    assert Lot.objects.count() == 1
    assert sent(bench, stock_csv(RESISTOR | {"Value": "1k"}), headers=key).status_code == 422


def test_a_refused_import_leaves_its_key_free(bench: Any) -> None:
    key = {"Idempotency-Key": "drawers-2"}
    assert sent(bench, stock_csv(RESISTOR | {"Quantity": "x"}), headers=key).status_code == 422
    assert sent(bench, stock_csv(RESISTOR), headers=key).status_code == 200


def test_an_export_goes_back_in_unchanged(bench: Any) -> None:
    sent(bench, stock_csv(RESISTOR, RESISTOR | {"Value": "10k", "Marking": "=x"}))
    for form in ("xlsx", "csv"):
        answer = sent(bench, exported(form))
        assert (answer.data["rows"], answer.data["unchanged"]) == (2, 2)


# --- the buy list


def buy_list_of(client: Any) -> Any:
    """The exported list, as openpyxl opens it, and its headings."""
    answer = client.get("/api/v1/exports/buy.xlsx")
    book = load_workbook(BytesIO(b"".join(answer.streaming_content)))
    sheet = book["Buy"]
    return book, sheet, {cell.value: cell.column for cell in sheet[1]}


def mark(sheet: Any, at: dict[str, int], row: int, **given: Any) -> None:
    for heading, value in given.items():
        sheet.cell(row, at[heading.replace("_", " ")], value)


def test_the_buy_list_goes_out_and_comes_back_marked(bench: Any) -> None:
    from tests.factories import NeedFactory

    NeedFactory(of=spec("resistor", "4k7"), quantity=3)
    book, sheet, at = buy_list_of(bench)
    mark(sheet, at, 2, State="ordered", Pieces=10, Price=0.02, From="Harbour Radio")
    preview = sent(bench, saved(book), "buy", "buy.xlsx", dry_run=True)
    assert (preview.status_code, preview.data["created"], preview.data["notes"]) == (200, 1, [])
    assert not Purchase.objects.exists()
    for created, unchanged in ((1, 0), (0, 1)):
        answer = sent(bench, saved(book), "buy", "buy.xlsx")
        assert (answer.data["created"], answer.data["unchanged"]) == (created, unchanged)
    [bought] = bench.get("/api/v1/purchases/").data["results"]
    result = {name: bought[name] for name in ("quantity", "price", "from", "state")}
    assert result == {"quantity": 10, "price": "0.02", "from": "Harbour Radio", "state": "ordered"}
    assert bench.get("/api/v1/buy/").json()["results"] == []
    mark(sheet, at, 2, State="received", Place="Cabinet A / Drawer 7")
    for updated in (1, 0):
        assert sent(bench, saved(book), "buy", "buy.xlsx").data["updated"] == updated
    [lot] = bench.get("/api/v1/lots/").data["results"]
    assert [holding["quantity"] for holding in lot["holdings"]] == [10]
    assert Movement.objects.get().by == bench.person


def test_a_bad_cell_of_a_buy_list_is_named_and_nothing_is_ordered(bench: Any) -> None:
    from tests.factories import NeedFactory

    for value in ("4k7", "10k"):
        NeedFactory(of=spec("resistor", value))
    book, sheet, at = buy_list_of(bench)
    mark(sheet, at, 2, State="ordered")
    mark(sheet, at, 3, State="received", Price="cheap")
    answer = sent(bench, saved(book), "buy", "buy.xlsx")
    assert answer.status_code == 422
    assert [(cell["sheet"], cell["row"], cell["column"]) for cell in answer.data["errors"]] == [
        ("Buy", 3, "Price"), ("Buy", 3, "Place"),
    ]  # fmt: skip
    assert not Purchase.objects.exists()


# --- who


def test_the_owner_may_import_and_a_viewer_or_stranger_may_not(
    owner: Any, viewer: Any, stranger: Any
) -> None:
    assert sent(owner, stock_csv(RESISTOR)).status_code == 200
    assert sent(viewer, stock_csv(RESISTOR | {"Value": "1k"})).status_code == 403
    assert sent(stranger, stock_csv(RESISTOR | {"Value": "1k"})).status_code == 401
    assert Lot.objects.count() == 1


def test_imports_are_only_posted(owner: Any) -> None:
    for method in (owner.get, owner.put, owner.patch, owner.delete):
        answer = method(PATH)
        assert answer.status_code == 405
        assert "POST" in answer["Allow"]


# --- a list in any form


LIST = "Teil;Anzahl;Ort\n4k7 5%;ca. 3;Tin\nBC547;4;\nSumme;7;\n"


def any_list(client: Any, text: str = LIST, **fields: Any) -> Any:
    body = {"file": SimpleUploadedFile("list.csv", text.encode()), "form": "any", **fields}
    return client.post(PATH, body, format="multipart")


def test_a_preview_of_any_list_shows_each_reading_beside_what_was_typed(bench: Any) -> None:
    answer = any_list(bench, dry_run="true")
    assert answer.status_code == 200
    (table,) = answer.json()["tables"]
    assert table["mapping"] == {"Teil": "text", "Anzahl": "quantity", "Ort": "place"}
    first, second = table["rows"]
    assert (first["row"], first["typed"]) == (2, "4k7 5% | ca. 3 | Tin")
    assert (first["spec"]["kind"], first["spec"]["value"], first["quantity"]) == ("resistor", "4700", 3)
    assert first["doubt"] == ["about 3: count them when you can"]
    assert second["place"] == ""
    assert table["skipped"] == [{"row": 4, "typed": "Summe | 7", "reason": "a total"}]
    assert not Lot.objects.exists()


def test_mapping_and_corrections_given_back_change_what_goes_in(bench: Any) -> None:
    fields = {
        "mapping": '{"Ort": "note"}',
        "corrections": '[{"column": "Teil", "typed": "BC547", "text": "BC557"}, {"row": 2, "quantity": 5}]',
        "place": "Box",
    }
    (table,) = any_list(bench, dry_run="true", **fields).json()["tables"]
    assert [(row["spec_text"].split()[0], row["quantity"]) for row in table["rows"]] == [
        ("4k7", 5),
        ("BC557", 4),
    ]
    assert any_list(bench, **fields).json()["created"] == 2
    assert set(Holding.objects.values_list("place__name", "quantity")) == {("Box", 5), ("Box", 4)}


@pytest.mark.parametrize(
    ("fields", "pointer"),
    [
        ({"mapping": "{"}, "/mapping"),
        ({"mapping": '{"Teil": "colour"}'}, "/mapping"),
        ({"corrections": "7"}, "/corrections"),
        ({"corrections": '[{"row": 2, "colour": "red"}]'}, "/corrections"),
        ({"corrections": '[{"row": "2"}]'}, "/corrections"),
        ({"corrections": '[{"text": "4k7"}]'}, "/corrections"),
        ({"corrections": '[{"row": 2, "text": "4k7"}]'}, "/corrections"),
        ({"corrections": '[{"row": 2, "quantity": -1}]'}, "/corrections"),
        ({"corrections": '[{"column": "Teil", "decimal": ";"}]'}, "/corrections"),
        ({"corrections": '[{"column": "Teil", "unit": "furlong"}]'}, "/corrections"),
        ({"corrections": '[{"unit": "ohm"}]'}, "/corrections"),
        ({"corrections": '[{"row": true}]'}, "/corrections"),
        ({"corrections": '[{"row": 99, "quantity": 5}]'}, "/corrections"),
        ({"corrections": '[{"row": 2, "sheet": "Elsewhere", "quantity": 5}]'}, "/corrections"),
        ({"corrections": '[{"column": "Teil", "typed": "BC548", "text": "BC557"}]'}, "/corrections"),
        ({"corrections": '[{"typed": "BC547", "text": "BC557", "column": ""}]'}, "/corrections"),
        ({"as": "donor"}, "/as"),
        ({"as": "design"}, "/design"),
        ({"form": "ours"}, "/as"),
        ({"form": "ours", "as": "stock", "place": "Box"}, "/place"),
    ],
)
def test_what_is_no_mapping_and_no_correction_is_refused(
    bench: Any, fields: dict[str, str], pointer: str
) -> None:
    answer = any_list(bench, **fields)
    assert answer.status_code == 400
    assert answer.json()["errors"][0]["pointer"] == f"#{pointer}"


def test_a_correction_of_a_row_that_is_not_there_says_which_rows_there_are(bench: Any) -> None:
    said = '[{"row": 2, "quantity": 5}, {"row": 99, "quantity": 5}]'
    for dry_run in ("true", "false"):
        answer = any_list(bench, dry_run=dry_run, place="Box", corrections=said)
        (error,) = answer.json()["errors"]
        assert error["detail"] == "number 1: there is no row 99: the list is in rows 2 to 4"
    assert not Lot.objects.exists()


def test_what_a_bare_figure_may_be_is_asked_and_each_answer_settles_it(bench: Any) -> None:
    text = "Teil;Anzahl\n2.200;5\n1.000;6\n0,47 Ohm;1\n"
    preview = any_list(bench, text, dry_run="true").json()
    (table,) = preview["tables"]
    assert (preview["rows"], preview["to_settle"]) == (3, 2)
    (question,) = table["questions"]
    assert (question["column"], question["asks"]) == ("Teil", "unit")
    assert question["choices"][0] == {"unit": "ohm", "means": "ohms: 2200 is 2k2 resistor"}
    assert [each["spec_text"] for each in table["rows"][1]["choices"]][:2] == ["1k resistor", "1n capacitor"]
    refused = any_list(bench, text, place="Box")
    assert refused.status_code == 422
    assert [error["row"] for error in refused.json()["errors"]] == [2, 3]
    of_a_row = {"row": 3, "spec": table["rows"][1]["choices"][1]["spec"]}
    said = json.dumps([{"column": "Teil", "unit": "ohm"}, of_a_row])
    assert any_list(bench, text, place="Box", corrections=said).json()["created"] == 3
    kept = Lot.objects.order_by("id").values_list("part__spec__value", flat=True)
    assert [str(value) for value in kept][0] == "2200000000"  # µΩ


def test_a_list_with_a_problem_is_refused_whole(bench: Any) -> None:
    answer = any_list(bench)  # BC547 is in no drawer
    assert answer.status_code == 422
    (error,) = answer.json()["errors"]
    assert (error["row"], error["detail"]) == (3, "expected the drawer or tray that it is in")
    assert not Lot.objects.exists()
