"""`import_sheet` and `export_sheet` at the terminal."""

import json
from io import StringIO
from pathlib import Path

import pytest
from django.core.management import CommandError, call_command
from openpyxl import load_workbook

from inventory.models import Lot
from repairs.models import Purchase
from tests.factories import DesignFactory, NeedFactory, spec
from tests.sheets.importing import RESISTOR, stock_csv

pytestmark = pytest.mark.django_db


def run(*arguments: str) -> tuple[str, str]:
    """What a command prints: to the output and to the errors."""
    out, err = StringIO(), StringIO()
    call_command(*arguments, stdout=out, stderr=err, no_color=True)
    return out.getvalue(), err.getvalue()


@pytest.fixture
def drawers(tmp_path: Path) -> str:
    file = tmp_path / "drawers.csv"
    file.write_bytes(stock_csv(RESISTOR, RESISTOR | {"Value": "10k", "Colour": "red"}).getvalue())
    return str(file)


def test_an_import_says_what_it_did(drawers: str) -> None:
    out, err = run("import_sheet", drawers, "--as", "stock")
    assert out.splitlines()[:2] == [
        "2 rows: 2 created, 0 updated, 0 unchanged",
        "Columns that were not read: Colour",
    ]
    assert err == ""
    assert Lot.objects.count() == 2


def test_a_preview_says_so_and_keeps_nothing(drawers: str) -> None:
    out, _err = run("import_sheet", drawers, "--as", "stock", "--dry-run")
    assert "2 would be created" in out
    assert "nothing is kept" in out
    assert not Lot.objects.exists()


def test_the_report_comes_as_json(drawers: str) -> None:
    report = json.loads(run("import_sheet", drawers, "--as", "stock", "--json")[0])
    assert (report["as"], report["rows"], report["created"], report["unknown_columns"]) == (
        "stock",
        2,
        2,
        ["Colour"],
    )


def test_bad_cells_are_a_line_each_and_the_exit_status_is_1(tmp_path: Path) -> None:
    file = tmp_path / "bad.csv"
    file.write_bytes(stock_csv(RESISTOR | {"Quantity": "x"}, RESISTOR | {"Kind": "y"}).getvalue())
    out, err = StringIO(), StringIO()
    with pytest.raises(SystemExit) as left:
        call_command("import_sheet", str(file), "--as", "stock", stdout=out, stderr=err, no_color=True)
    assert left.value.code == 1
    first, second, last = err.getvalue().splitlines()
    assert first == "bad.csv, row 2, Quantity 'x': expected a whole number from 0 to 1,000,000,000"
    assert second.startswith("bad.csv, row 3, Kind 'y': expected one of resistor")
    assert last == "2 cells are not accepted; nothing is kept"
    assert out.getvalue() == ""


def test_bad_cells_come_as_json(tmp_path: Path) -> None:
    file = tmp_path / "bad.csv"
    file.write_bytes(stock_csv(RESISTOR | {"Quantity": "x"}).getvalue())
    out = StringIO()
    with pytest.raises(SystemExit):
        call_command("import_sheet", str(file), "--as", "stock", "--json", stdout=out)
    answer = json.loads(out.getvalue())
    assert answer["errors_total"] == 1
    assert answer["errors"][0] == {
        "sheet": "bad.csv", "row": 2, "column": "Quantity", "found": "x",
        "detail": "expected a whole number from 0 to 1,000,000,000",
    }  # fmt: skip


@pytest.mark.parametrize("name", ["missing.xlsx", "."])
def test_a_file_that_cannot_be_opened_is_one_line(tmp_path: Path, name: str) -> None:
    with pytest.raises(CommandError) as refusal:
        run("import_sheet", str(tmp_path / name), "--as", "stock")
    assert len(str(refusal.value).splitlines()) == 1


def test_a_file_of_another_kind_is_one_line(tmp_path: Path) -> None:
    file = tmp_path / "old.xls"
    file.write_bytes(b"\xd0\xcf\x11\xe0" + bytes(600))
    with pytest.raises(CommandError, match="old .xls workbook"):
        run("import_sheet", str(file), "--as", "stock")


@pytest.mark.parametrize("name", ["out.xlsx", "out.csv", "OUT.CSV"])
def test_an_export_is_written_and_goes_back_in(drawers: str, tmp_path: Path, name: str) -> None:
    run("import_sheet", drawers, "--as", "stock")
    target = tmp_path / name
    target.write_text("what was there before")
    assert run("export_sheet", "stock", str(target))[0] == f"{target} written\n"
    out, _err = run("import_sheet", str(target), "--as", "stock")
    assert out.startswith("2 rows: 0 created, 0 updated, 2 unchanged")
    assert {file.name for file in tmp_path.iterdir()} == {"drawers.csv", name}


def test_a_design_is_exported_by_its_name(tmp_path: Path) -> None:
    DesignFactory(name="Plover", revision="A", positions={"R1": spec("resistor", "4k7")})
    target = tmp_path / "parts.csv"
    run("export_sheet", "design", str(target), "--with", "design=Plover A")
    assert "Plover,A,R1,resistor" in target.read_text(encoding="utf-8-sig")


def test_the_buy_list_is_written_marked_and_taken_in_once(tmp_path: Path) -> None:
    NeedFactory(of=spec("resistor", "4k7"))
    target = tmp_path / "buy.xlsx"
    run("buy", "--out", str(target))
    book = load_workbook(target)
    headings = [cell.value for cell in book["Buy"][1]]
    book["Buy"].cell(2, headings.index("State") + 1, "ordered")
    book.save(target)
    assert run("import_sheet", str(target), "--as", "buy")[0].startswith("1 rows: 1 created")
    assert run("import_sheet", str(target), "--as", "buy")[0].startswith("1 rows: 0 created, 0 updated")
    assert Purchase.objects.get().state == "ordered"


@pytest.mark.parametrize("form", ["xlsx", "csv"])
@pytest.mark.parametrize("kind", ["stock", "design", "donor", "buy"])
def test_an_empty_sheet_is_written(tmp_path: Path, kind: str, form: str) -> None:
    target = tmp_path / f"empty.{form}"
    run("export_sheet", kind, str(target), "--empty")
    with pytest.raises(SystemExit):
        run("import_sheet", str(target), "--as", kind)


@pytest.mark.parametrize(
    ("arguments", "output"),
    [
        (["stock", "out.pdf"], "ends in .xlsx or .csv"),
        (["ledger", "out.xlsx", "--empty"], "empty sheets are of"),
        (["donor", "out.xlsx"], "only written --empty"),
        (["design", "out.xlsx"], "expected one design"),
        (["design", "out.xlsx", "--with", "design=Nobody"], "there is no design"),
        (["stock", "out.xlsx", "--with", "colour=red"], "takes no options"),
        (["design", "out.xlsx", "--with", "design"], "takes design="),
        (["stock", "nowhere/out.xlsx"], "No such file or directory"),
    ],
)
def test_a_wrong_export_is_one_line_and_leaves_nothing(
    tmp_path: Path, arguments: list[str], output: str
) -> None:
    kind, name, *more = arguments
    with pytest.raises(CommandError) as refusal:
        run("export_sheet", kind, str(tmp_path / name), *more)
    assert output in str(refusal.value)
    assert len(str(refusal.value).splitlines()) == 1
    assert list(tmp_path.iterdir()) == []


@pytest.mark.parametrize("command", ["import_sheet", "export_sheet"])
def test_the_help_has_an_example(command: str, capsys: pytest.CaptureFixture[str]) -> None:
    with pytest.raises(SystemExit):
        call_command(command, "--help")
    assert (
        f"Example:\n  python3 manage.py {'export_sheet' if command == 'import_sheet' else command}"
        in capsys.readouterr().out
    )


# --- a list in any form


@pytest.fixture
def shed(tmp_path: Path) -> str:
    file = tmp_path / "shed.csv"
    file.write_text("Teil;Anzahl\n4k7 5%;ca. 3\nBC547;4\n", encoding="utf-8")
    return str(file)


def test_a_list_in_any_form_is_shown_row_by_row(shed: str) -> None:
    out, _err = run("import_sheet", shed, "--any", "--dry-run")
    assert "Teil: text, Anzahl: quantity" in out
    assert "3 x 4k7 5 % resistor" in out
    assert out.endswith("2 rows, 0 to settle. Nothing is kept.\n")
    assert json.loads(run("import_sheet", shed, "--any", "--dry-run", "--json")[0])["rows"] == 2
    assert not Lot.objects.exists()


def test_a_list_in_any_form_goes_in(shed: str, tmp_path: Path) -> None:
    changes = tmp_path / "changes.json"
    changes.write_text('[{"row": 3, "quantity": 9}]', encoding="utf-8")
    out, _err = run("import_sheet", shed, "--any", "--place", "Box 3", "--corrections", str(changes))
    assert out.startswith("2 rows: 2 created")
    assert [lot.holdings.get().quantity for lot in Lot.objects.order_by("id")] == [3, 9]


def test_a_correction_of_a_row_that_is_not_there_is_refused(shed: str, tmp_path: Path) -> None:
    changes = tmp_path / "changes.json"
    changes.write_text('[{"row": 40, "quantity": 9}]', encoding="utf-8")
    with pytest.raises(CommandError, match="corrections: number 0: there is no row 40"):
        run("import_sheet", shed, "--any", "--place", "Box 3", "--corrections", str(changes))
    assert not Lot.objects.exists()


def test_what_bare_figures_are_is_asked_with_how_to_answer(tmp_path: Path) -> None:
    file = tmp_path / "shed.csv"
    file.write_text("Teil;Anzahl\n2.200;5\n", encoding="utf-8")
    out, _err = run("import_sheet", str(file), "--any", "--dry-run")
    assert "--decimal Teil=,  2200\n" in out
    assert "--unit Teil=ohm  ohms\n" in out
    assert "2200 ohms: 2k2 resistor" in out
    assert out.endswith("1 rows, 1 to settle. Nothing is kept.\n")
    answers = ("--decimal", "Teil=,", "--unit", "Teil=ohm", "--place", "Box")
    run("import_sheet", str(file), "--any", *answers)
    assert Lot.objects.get().part.spec.text == "2k2 resistor"


@pytest.mark.parametrize(
    ("arguments", "why"),
    [
        ([], "expected --as"),
        (["--any", "--as", "buy"], "expected --as one of"),
        (["--any", "--as", "design"], "expected --design"),
        (["--any", "--map", "Teil"], "expected HEADING=MEANING"),
        (["--any", "--map", "Teil=colour"], "expected one of"),
        (["--any", "--decimal", "Teil"], "expected HEADING=SIGN"),
        (["--any", "--decimal", "=,"], "expected HEADING=SIGN"),
        (["--any", "--unit", "Teil=furlong"], "expected one of ohm, pF"),
        (["--any", "--corrections", "nowhere.json"], "No such file"),
    ],
)
def test_what_cannot_be_asked_of_a_list_is_reported(shed: str, arguments: list[str], why: str) -> None:
    with pytest.raises(CommandError, match=why):
        run("import_sheet", shed, *arguments)


def test_a_list_that_lacks_a_place_names_its_rows(shed: str) -> None:
    with pytest.raises(SystemExit):
        run("import_sheet", shed, "--any")
    assert not Lot.objects.exists()
