"""Spreadsheets through their page: looked at with each bad cell in its place, landed once, theirs alone.

One file, since a file is followed from its upload to its undoing.
"""

import csv
import re
import time
from collections.abc import Callable, Mapping
from concurrent.futures import ThreadPoolExecutor
from io import BytesIO, StringIO
from os import utime
from pathlib import Path
from typing import Any

import pytest
from django.contrib.auth.models import User
from django.core.files.uploadedfile import SimpleUploadedFile
from django.test import Client
from django.urls import reverse

from inventory.models import Board, Design, Holding, Lot, Movement, Place
from inventory.pages import aside
from inventory.sheets import EXPORTS, IMPORTS
from repairs.audit import audit
from repairs.models import Purchase
from tests.factories import DesignFactory, spec
from tests.sheets.books import workbook

pytestmark = pytest.mark.django_db
Enter = Callable[..., Client]

HEAD = "Kind,Value,Tolerance,Qty,Location,Condition"
GOOD = (
    f"{HEAD}\nresistor,4k7,5%,10,Cabinet A / Drawer 7,good\ncapacitor,100n,10%,3,Cabinet A / Drawer 8,good\n"
)
BAD = f"{HEAD}\nresistor,4k7,5%,10,Cabinet A / Drawer 7,good\ncapacitor,100q,10%,a few,,good\n"


@pytest.fixture(autouse=True)
def home(settings: Any, tmp_path: Path) -> Path:
    settings.HOME = tmp_path
    return tmp_path


def show(
    client: Client, content: bytes | str, name: str = "drawers.csv", kind: str = "stock", **more: str
) -> Any:
    data = content.encode() if isinstance(content, str) else content
    return client.post(reverse("sheets"), {"file": SimpleUploadedFile(name, data), "as": kind, **more})


def import_it(client: Client, word: str) -> Any:
    return client.post(reverse("import-sheet"), {"kept": word}, follow=True)


def text(answer: Any) -> str:
    """What a person reads of a page."""
    apart = re.sub(r"<(?!/?(?:strong|mark)\b)[^>]+>", " ", answer.content.decode())
    return " ".join(re.sub(r"<[^>]+>", "", apart).split())


def fetched(client: Client, address: str, asked: Mapping[str, str] | None = None) -> bytes:
    answer: Any = client.get(address, asked)
    assert answer.status_code == 200, address
    return b"".join(answer.streaming_content)


# --- looking


def test_looking_shows_the_sheet_and_changes_nothing(sign_in: Enter) -> None:
    answer = show(sign_in("bench"), GOOD)
    assert answer.status_code == 200
    assert "2 rows: 2 new, 0 changed, 0 as they are." in text(answer)
    assert "Qty is read as Quantity. Location is read as Place." in text(answer)
    [sheet] = answer.context["seen"].sheets
    assert [row.number for row in sheet.rows] == [2, 3]  # as the spreadsheet counts
    assert [cell.text for cell in sheet.rows[0].cells] == [
        "resistor", "4k7", "5%", "10", "Cabinet A / Drawer 7", "good",
    ]  # fmt: skip
    assert not Lot.objects.exists()


def test_a_bad_cell_is_marked_where_it_stands_by_word_and_with_what_would_do(sign_in: Enter) -> None:
    answer = show(sign_in("bench"), BAD)
    assert answer.status_code == 422
    [sheet] = answer.context["seen"].sheets
    bad = {cell.heading: cell.text for row in sheet.rows for cell in row.cells if cell.bad}
    assert bad == {"Value": "100q", "Qty": "a few", "Location": ""}
    page = answer.content.decode()
    assert page.count("✕ not accepted") == 3
    assert 'id="bad-2" data-name="Qty"><mark>a few</mark>' in page
    for number in (1, 2, 3):
        assert f'href="#bad-{number}"' in page
    assert "expected a whole number" in text(answer)
    assert "Import it" not in page


def test_a_heading_that_nobody_knows_is_shown_with_the_one_it_is_nearly(sign_in: Enter) -> None:
    answer = show(sign_in("bench"), GOOD.replace("Condition", "Conditon"))
    assert "Conditon (is it Condition?)" in text(answer)


def test_a_missing_column_and_an_unknown_kind_of_list_lead_on(sign_in: Enter) -> None:
    client = sign_in("bench")
    design = "Design,Ref,Kind,Value\nPlover,R1,resistor,4k7\n"
    answer = show(client, design)
    assert "the column is missing: expected one headed Quantity" in text(answer)
    kept = answer.context["kept"].word
    again = client.post(reverse("sheets"), {"kept": kept, "as": "design"})  # without another upload
    assert "1 row: 1 new" in text(again)
    import_it(client, kept)
    assert Design.objects.get().name == "Plover"


def test_a_cell_that_no_column_has_is_shown_all_the_same(sign_in: Enter) -> None:
    answer = show(sign_in("bench"), "Board,Ref\n,R1\n", kind="donor")
    assert answer.context["seen"].total == 1
    assert "expected the name of the board in every row" in text(answer)


@pytest.mark.parametrize(
    ("content", "name", "message", "status"),
    [
        (b"", "empty.csv", "the file is empty", 422),
        (b"\x00\x01\x02" * 99, "picture.xlsx", "neither a workbook", 415),
        (b"%PDF-1.7 ...", "sheet.pdf", "this is a PDF", 415),
        (b"<!DOCTYPE html><html>", "sheet.csv", "a web page", 415),
        (b"PK\x03\x04 and no more", "broken.xlsx", "cannot be read", 422),
    ],
)  # fmt: skip
def test_what_is_no_spreadsheet_is_refused_with_the_reason(
    sign_in: Enter, content: bytes, name: str, message: str, status: int
) -> None:
    client = sign_in("bench")
    answer = show(client, content, name, kind="design")
    assert answer.status_code == status
    assert message in text(answer)
    assert 'value="design" required checked' in answer.content.decode()  # what was chosen stays
    assert client.get(reverse("sheets")).context["aside"] == []


def test_headings_without_rows_are_refused(sign_in: Enter) -> None:
    answer = show(sign_in("bench"), HEAD + "\n")
    assert answer.status_code == 422
    assert "nothing to import" in text(answer)


def test_a_file_over_the_limit_is_refused_and_not_kept(sign_in: Enter, home: Path) -> None:
    answer = show(sign_in("bench"), b"x" * (20 * 2**20 + 1), "heap.csv")
    assert answer.status_code == 413
    assert "larger than 20 MB" in text(answer)
    assert list(home.glob("aside/*/*.sheet")) == []


@pytest.mark.parametrize("missing", ["file", "as"])
def test_a_form_half_filled_says_what_lacks(sign_in: Enter, missing: str) -> None:
    sent = {"file": SimpleUploadedFile("drawers.csv", GOOD.encode()), "as": "stock"}
    del sent[missing]
    assert sign_in("bench").post(reverse("sheets"), sent).status_code == 400


def test_a_text_cell_that_would_run_is_shown_as_text_and_markup_as_letters(sign_in: Enter) -> None:
    client = sign_in("bench")
    trick = '=HYPERLINK("http://192.0.2.1/";"x")'
    rows = [
        ("Kind", "Value", "Quantity", "Place", "Marking", "Note"),
        ("resistor", "4k7", 1, "Drawer 1", "", "<script>alert(1)</script>"),
    ]
    answer = show(client, workbook(rows).getvalue(), "trick.xlsx")
    assert "<script>alert" not in answer.content.decode()
    assert "&lt;script&gt;alert(1)" in answer.content.decode()
    quoted = trick.replace('"', '""')
    answer = show(client, f'Kind,Value,Quantity,Place,Note\nresistor,4k7,1,Drawer 1,"{quoted}"\n')
    import_it(client, answer.context["kept"].word)
    assert Lot.objects.get().note == trick
    back = fetched(client, "/api/v1/exports/stock.csv").decode()
    assert f"'{trick[:10]}" in back  # and goes out so that no program runs it


def test_a_formula_without_its_result_is_a_bad_cell(sign_in: Enter) -> None:
    rows = [("Kind", "Value", "Quantity", "Place"), ("resistor", "4k7", "=1+1", "Drawer 1")]
    answer = show(sign_in("bench"), workbook(rows).getvalue(), "sum.xlsx")
    assert answer.status_code == 422
    assert [cell.column for _number, cell in answer.context["seen"].bad_cells] == ["Quantity"]


def test_a_workbook_that_names_an_entity_is_refused(sign_in: Enter) -> None:
    """XML 1.0, section 4.4: an entity that grows without bound, or reads a file, is never expanded here."""
    import zipfile

    book = workbook([("Kind", "Value", "Quantity", "Place"), ("resistor", "4k7", 1, "Drawer 1")])
    out = BytesIO()
    with zipfile.ZipFile(book) as old, zipfile.ZipFile(out, "w") as new:
        for name in old.namelist():
            part = old.read(name)
            if name.startswith("xl/worksheets/"):
                entity = b'<!DOCTYPE x [<!ENTITY y SYSTEM "file:///etc/passwd">]>'
                part = part.replace(b"<worksheet", entity + b"<worksheet", 1).replace(b"resistor", b"&y;")
            new.writestr(name, part)
    answer = show(sign_in("bench"), out.getvalue(), "entity.xlsx")
    assert answer.status_code == 422
    assert "root:" not in answer.content.decode()


@pytest.mark.parametrize(
    "data",
    [
        GOOD.replace(",", ";").encode(),
        GOOD.replace(",", "\t").encode("utf-16"),
        b"\xef\xbb\xbf" + GOOD.replace("\n", "\r\n").encode(),
        GOOD.encode("utf-16-le"),
        f"sep=;\n{GOOD.replace(',', ';')}".encode(),
    ],
)
def test_a_text_table_is_read_however_it_was_saved(sign_in: Enter, data: bytes) -> None:
    assert "2 rows: 2 new" in text(show(sign_in("bench"), data))


def test_a_guessed_encoding_is_reported(sign_in: Enter) -> None:
    answer = show(sign_in("bench"), GOOD.replace("Drawer 8", "Kästchen 8").encode("cp1252"))
    assert "was read as Windows-1252" in text(answer)
    assert "Kästchen 8" in text(answer)


def test_of_a_long_sheet_the_bad_rows_are_shown_and_the_others_counted(sign_in: Enter) -> None:
    rows = [f"resistor,{1 + n % 9}k,5%,{n},Drawer {n},good" for n in range(1, 501)]
    rows[299] = "resistor,4k7,5%,many,Drawer 300,good"
    answer = show(sign_in("bench"), "\n".join([HEAD, *rows]))
    [sheet] = answer.context["seen"].sheets
    assert len(sheet.rows) == 21
    assert (sheet.rows[-1].number, sheet.rows[-1].skipped, sheet.skipped) == (301, 279, 200)
    assert "279 rows without a bad cell are not shown here" in text(answer)


def test_each_of_very_many_bad_cells_leads_to_one_that_is_there(sign_in: Enter) -> None:
    rows = ["resistor,4k7,5%,many,Drawer 1,fine"] * 1_500
    answer = show(sign_in("bench"), "\n".join([HEAD, *rows]))
    page = answer.content.decode()
    assert answer.context["seen"].total == 3_000
    assert len(answer.content) < 150_000
    for number in re.findall(r'href="#(bad-\d+)"', page):
        assert f'id="{number}"' in page


# --- landing


def test_the_file_that_was_looked_at_lands_without_another_upload(sign_in: Enter) -> None:
    client = sign_in("bench")
    kept = show(client, GOOD).context["kept"]
    answer = import_it(client, kept.word)
    assert "drawers.csv is imported: 2 new, 0 changed, 0 as they were." in text(answer)
    assert Holding.objects.filter(quantity__gt=0).count() == 2
    drawer = Place.objects.get(name="Drawer 7")
    assert f'href="{reverse("drawers")}?place={drawer.pk}"' in answer.content.decode()
    assert answer.context["aside"] == []
    assert audit() == []


@pytest.mark.both_databases
def test_a_second_press_lands_nothing_more(sign_in: Enter) -> None:
    client = sign_in("bench")
    kept = show(client, GOOD).context["kept"]
    import_it(client, kept.word)
    answer = import_it(client, kept.word)
    assert "done already" in text(answer)
    assert Movement.objects.count() == 2


def test_a_buy_list_that_comes_back_marked_leads_to_what_is_on_order(workshop: None, sign_in: Enter) -> None:
    client = sign_in("bench")
    rows = list(csv.DictReader(fetched(client, "/api/v1/exports/buy.csv").decode("utf-8-sig").splitlines()))
    new = next(row for row in rows if not row["Purchase"])
    new["State"] = "ordered"
    sheet = StringIO()
    lines = csv.DictWriter(sheet, list(new))
    lines.writeheader()
    lines.writerows(rows)
    answer = show(client, sheet.getvalue(), "buy.csv", "buy")
    before = Purchase.objects.count()
    answer = import_it(client, answer.context["kept"].word)
    assert Purchase.objects.count() == before + 1
    assert f'href="{reverse("buy")}#on-order"' in answer.content.decode()
    assert "there is nothing to undo" in text(answer)


def test_what_is_imported_is_undone_by_one_press(sign_in: Enter) -> None:
    client = sign_in("bench")
    answer = import_it(client, show(client, GOOD).context["kept"].word)
    lines = re.findall(r'name="line" value="(\d+)"', answer.content.decode())
    answer = client.post(reverse("undo"), {"line": lines, "next": reverse("sheets")}, follow=True)
    assert not Holding.objects.filter(quantity__gt=0).exists()
    assert answer.context["imported"] is None
    assert audit() == []


def test_more_than_one_press_takes_back_is_reported(sign_in: Enter, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr("inventory.pages.sheets.MAX_UNDONE", 1)
    client = sign_in("bench")
    answer = import_it(client, show(client, GOOD).context["kept"].word)
    assert "It made 2 movements, more than one press takes back" in text(answer)


@pytest.mark.both_databases
def test_a_sheet_that_went_bad_meanwhile_lands_not_at_all(sign_in: Enter) -> None:
    client = sign_in("bench")
    DesignFactory(name="Plover", revision="A", positions={"R1": spec("resistor", "4k7")})
    survey = "Board,Design,Revision,Ref\nPlover donor,Plover,A,R1\nPlover two,Plover,A,R1\n"
    kept = show(client, survey, "survey.csv", "donor").context["kept"]
    Place.objects.create(name="Plover two")
    answer = client.post(reverse("import-sheet"), {"kept": kept.word})
    assert answer.status_code == 422
    assert "a place has this name" in text(answer)
    assert not Board.objects.exists()
    Place.objects.get(name="Plover two").delete()
    import_it(client, kept.word)  # and the same file lands once nothing stands in its way
    assert Board.objects.count() == 2


def test_a_mended_sheet_takes_the_place_of_the_bad_one(sign_in: Enter) -> None:
    client = sign_in("bench")
    bad = show(client, BAD).context["kept"]
    good = show(client, GOOD).context["kept"]
    assert import_it(client, bad.word).status_code == 410
    import_it(client, good.word)
    assert client.get(reverse("sheets")).context["aside"] == []


def test_an_older_look_lands_the_file_that_it_showed(sign_in: Enter) -> None:
    client = sign_in("bench")
    first = show(client, GOOD, "first.csv").context["kept"]
    show(client, GOOD.replace("4k7", "1k"), "second.csv")
    import_it(client, first.word)
    assert sorted(Lot.objects.values_list("part__spec__text", flat=True))[1].startswith("4k7")


# --- whose it is, and for how long


def test_nobody_lands_or_sees_what_another_looked_at(sign_in: Enter) -> None:
    kept = show(sign_in("bench"), GOOD).context["kept"]
    other = sign_in("bench", "somebody-else")
    assert other.post(reverse("import-sheet"), {"kept": kept.word}).status_code == 410
    assert other.post(reverse("sheets"), {"kept": kept.word, "as": "stock"}).status_code == 410
    other.post(reverse("throw-sheet-away"), {"kept": kept.word})
    assert kept.path.exists()
    assert "drawers.csv" not in text(other.get(reverse("sheets")))
    assert not Lot.objects.exists()


@pytest.mark.parametrize("word", ["", "x", "../1/secret", "0" * 32, "\0", "A" * 32])
def test_a_word_that_names_no_file_lands_nothing(sign_in: Enter, word: str) -> None:
    client = sign_in("bench")
    for name in ("import-sheet", "sheets"):
        assert client.post(reverse(name), {"kept": word, "as": "stock"}).status_code == 410
    assert client.post(reverse("sheet-progress"), {"watch": word}).json() == {}


def test_what_is_kept_is_forgotten_after_a_day(sign_in: Enter, home: Path) -> None:
    client = sign_in("bench")
    kept = show(client, GOOD).context["kept"]
    long_ago = time.time() - aside.KEPT_SECONDS - 60
    for path in home.glob("aside/*/*"):
        utime(path, (long_ago, long_ago))
    answer = client.post(reverse("import-sheet"), {"kept": kept.word})
    assert answer.status_code == 410
    assert "not kept any more" in text(answer)
    show(sign_in("bench", "somebody-else"), GOOD)  # whoever comes next sweeps
    assert not kept.path.exists()


def test_only_a_few_files_are_kept_for_one_person(sign_in: Enter, home: Path) -> None:
    client = sign_in("bench")
    for number in range(aside.MAX_KEPT + 3):
        show(client, GOOD, f"sheet{number}.csv")
    assert len(list(home.glob("aside/*/*.sheet"))) == aside.MAX_KEPT


def test_what_is_kept_is_shown_and_thrown_away(sign_in: Enter) -> None:
    client = sign_in("bench")
    kept = show(client, BAD).context["kept"]
    assert "Look at it again" in text(client.get(reverse("sheets")))
    assert show_again(client, kept.word).context["seen"].total == 3
    client.post(reverse("throw-sheet-away"), {"kept": kept.word})
    assert not kept.path.exists()


def show_again(client: Client, word: str) -> Any:
    return client.post(reverse("sheets"), {"kept": word, "as": "stock"})


@pytest.mark.parametrize(
    "name", ["sheets", "import-sheet", "throw-sheet-away", "sheet-progress", "stop-sheet"]
)
def test_a_viewer_brings_nothing_in(sign_in: Enter, name: str) -> None:
    assert sign_in("viewer").post(reverse(name), {"as": "stock"}).status_code == 403


# --- counting, and what is fetched


def test_what_is_done_is_counted_for_those_who_wait(sign_in: Enter, monkeypatch: pytest.MonkeyPatch) -> None:
    client, seen = sign_in("bench"), []
    word = "c" * 32
    count = aside.Counter.__call__

    def watched(counter: aside.Counter, stage: str, done: int) -> None:
        count(counter, stage, done)
        seen.append(client.post(reverse("sheet-progress"), {"watch": word}).json())

    monkeypatch.setattr(aside.Counter, "__call__", watched)
    rows = [f"resistor,4k7,5%,{n},Drawer {n},good" for n in range(1, 1001)]
    show(client, "\n".join([HEAD, *rows]), watch=word)
    assert {"stage": "reading", "done": 500, "total": 0} in seen
    assert {"stage": "checking", "done": 500, "total": 1000} in seen
    assert client.post(reverse("sheet-progress"), {"watch": word}).json() == {}  # done: nothing is left


@pytest.mark.parametrize("stage", ["reading", "checking", "writing"])
def test_what_is_stopped_while_it_is_imported_leaves_nothing_and_can_be_imported_later(
    sign_in: Enter, monkeypatch: pytest.MonkeyPatch, stage: str
) -> None:
    client, word, counted = sign_in("bench"), "e" * 32, []
    rows = [f"resistor,4k7,5%,{n},Drawer {n},good" for n in range(1, 1201)]
    kept = show(client, "\n".join([HEAD, *rows])).context["kept"]
    count = aside.Counter.__call__

    def pressed(counter: aside.Counter, now: str, done: int) -> None:
        if now == stage and done:
            client.post(reverse("stop-sheet"), {"watch": word})
        counted.append(now)
        count(counter, now, done)

    monkeypatch.setattr(aside.Counter, "__call__", pressed)
    answer = client.post(reverse("import-sheet"), {"kept": kept.word, "watch": word}, follow=True)
    assert "Stopped: nothing of drawers.csv was imported." in text(answer)
    assert counted[-1] == stage
    assert not Lot.objects.exists()
    assert client.post(reverse("sheet-progress"), {"watch": word}).json() == {}
    monkeypatch.undo()
    assert "1200 new" in text(import_it(client, kept.word))
    assert audit() == []


def test_a_preview_is_stopped_too(sign_in: Enter) -> None:
    client, word = sign_in("bench"), "f" * 32
    client.post(reverse("stop-sheet"), {"watch": word})  # pressed before the first row was counted
    answer = show(client, GOOD, watch=word)
    assert answer.status_code == 302
    assert "Stopped" in text(client.get(reverse("sheets")))
    assert "Look at it again" in text(client.get(reverse("sheets")))


def test_two_who_count_under_one_word_do_not_trip_each_other(sign_in: Enter) -> None:
    person = sign_in("bench").session["_auth_user_id"]
    counters = [aside.Counter(User.objects.get(pk=person), "d" * 32) for _each in range(2)]

    def count(counter: aside.Counter) -> None:
        for done in range(300):
            counter("reading", done)

    with ThreadPoolExecutor() as threads:
        list(threads.map(count, counters))  # raises what either of them raised
    for counter in counters:
        counter.end()


def test_every_empty_sheet_and_every_export_is_offered_with_what_it_is_for(
    workshop: None, sign_in: Enter
) -> None:
    client = sign_in("viewer")
    page = client.get(reverse("sheets")).content.decode()
    addresses = [f"/api/v1/exports/templates/{kind}.{form}" for kind in IMPORTS for form in ("xlsx", "csv")]
    plain = [
        name for name, each in EXPORTS.items() if not any(option.needed for option in each.options.values())
    ]
    addresses += [f"/api/v1/exports/{name}.{form}" for name in plain for form in ("xlsx", "csv")]
    for address in addresses:
        assert f'href="{address}"' in page
        assert fetched(client, address), address
    for name in EXPORTS.keys() - set(plain):
        asked = re.search(rf'action="/api/v1/exports/{name}.xlsx">(.*?)</form>', page, re.DOTALL)
        assert asked is not None
        chosen = {
            key: re.findall(r'<option value="(\d+)"', options)[0]
            for key, options in re.findall(r'<select [^>]*name="(\w+)">(.*?)</select>', asked[1])
        }
        for form in ("xlsx", "csv"):
            assert fetched(client, f"/api/v1/exports/{name}.{form}", chosen), name
