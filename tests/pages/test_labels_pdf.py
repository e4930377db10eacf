"""Labels as PDF: the size of the paper, what is written, and the code, as other programs read them."""

import re
import shutil
import subprocess
from collections.abc import Callable
from io import StringIO
from pathlib import Path
from typing import Any

import pytest
import zxingcpp
from django.core.management import CommandError, call_command
from django.test import Client
from django.urls import reverse
from PIL import Image

from inventory.labels import STOCKS, Label
from inventory.labels_pdf import pdf
from inventory.pages import printing
from tests.api.test_problems import refused
from tests.factories import PlaceFactory, stock

ADDRESS = "http://10.0.0.7:8000/lots/58/"
LABELS = [
    Label("4k7", "4k7 resistor, marked łódź µ Ω ±", "came off Tern donor 1 R7", condition, "lot 58", ADDRESS)
    for condition in ("good", "untested", "suspect", "faulty")
]
# ISO 216 and ANSI: A4 and Letter; a roll is its label.  72 points to the inch (ISO 32000).
PAPER = {"A4": (210, 297), "US Letter": (215.9, 279.4)}
poppler = pytest.mark.skipif(not shutil.which("pdftoppm"), reason="poppler-utils are not installed")


def written(document: bytes) -> str:
    """What pdftotext finds."""
    run = subprocess.run(["pdftotext", "-layout", "-", "-"], input=document, capture_output=True, check=True)
    return run.stdout.decode()


@pytest.mark.parametrize("name", STOCKS)
def test_a_page_is_the_paper_or_the_label_of_the_roll(name: str) -> None:
    here = STOCKS[name]
    document = pdf(LABELS, here)
    wide, high = PAPER.get(here.paper, (float(here.width), float(here.height)))
    found = re.search(rb"/MediaBox \[0 0 ([0-9.]+) ([0-9.]+)\]", document)
    assert found
    assert [float(each) / 72 * 25.4 for each in found.groups()] == pytest.approx([wide, high], abs=0.1)
    assert document.count(b"/Type /Page\n") == -(-len(LABELS) // here.on_a_sheet)


@poppler
@pytest.mark.parametrize("name", STOCKS)
def test_the_code_of_each_label_is_read_from_the_printed_page(tmp_path: Path, name: str) -> None:
    # 203 dots to the inch: the coarsest of the usual label printers (common practice, no source).
    command = ["pdftoppm", "-r", "203", "-gray", "-png", "-", str(tmp_path / "page")]
    subprocess.run(command, input=pdf(LABELS, STOCKS[name]), check=True)
    codes: list[str] = []
    for file in sorted(tmp_path.glob("page*.png")):
        with Image.open(file) as page:
            codes += [code.text for code in zxingcpp.read_barcodes(page)]
    assert codes == [ADDRESS] * len(LABELS)


@poppler
def test_the_words_are_whole_in_every_alphabet_of_the_trade() -> None:
    text = " ".join(written(pdf(LABELS, STOCKS["roll-29"])).split())
    for word in ("4k7", "łódź", "µ", "Ω", "±", "came off Tern donor 1 R7", "untested", "lot 58"):
        assert word in text


@poppler
def test_a_value_is_whole_however_long() -> None:
    name = "Cabinet A, upper left drawer for odd values"
    for each in STOCKS.values():
        text = " ".join(written(pdf([Label(name, "", "", "", "", ADDRESS)], each)).split())
        assert name in text, each.name


@poppler
def test_labels_begin_at_the_first_free_position() -> None:
    assert written(pdf(LABELS, STOCKS["a4-3x8"], start=23)).count("\f") == 2


@pytest.mark.django_db
class TestAsked:
    def test_by_the_api_for_lots_and_for_a_place(self, viewer: Any) -> None:
        here = stock(3)
        for asked in (f"lot={here.lot_id}&stock=roll-62", f"place={here.place_id}&copies=2&marks=true"):
            answer = viewer.get(f"/api/v1/labels.pdf?{asked}")
            assert answer.headers["Content-Type"] == "application/pdf"
            assert answer.content.startswith(b"%PDF-")

    @pytest.mark.parametrize(
        ("asked", "status"),
        [("", 400), ("lot=0", 400), ("lot=1&place=1", 400), ("lot=999", 404), ("place=999", 404),
         ("place={place}&stock=a5", 400), ("place={place}&start=25", 400), ("place={place}&copies=51", 400),
         ("place={place}&what=boxes", 400), ("place={place}&marks=yes", 400),
         ("place={place}&address=nowhere", 400), ("place={place}&address=http://" + "x" * 4000, 400),
         ("place={place}&colour=red", 400)],
    )  # fmt: skip
    def test_what_cannot_be_made_is_refused(self, viewer: Any, asked: str, status: int) -> None:
        place = stock().place_id
        refused(viewer.get(f"/api/v1/labels.pdf?{asked.format(place=place)}"), status)

    def test_more_than_are_made_at_once_are_refused(self, viewer: Any) -> None:
        here = stock()
        for _more in range(10):
            stock(place=here.place)
        body = refused(viewer.get(f"/api/v1/labels.pdf?place={here.place_id}&copies=50"), 400)
        assert body["errors"][0]["code"] == "too_many"

    def test_by_the_page(self, sign_in: Callable[..., Client]) -> None:
        client, place = sign_in("viewer"), stock().place_id
        page = client.get(f"/print/?what=bags&place={place}").content.decode()
        link = re.search(r'href="(\?[^"]*pdf=1)"', page)
        assert link
        answer = client.get("/print/" + link[1].replace("&amp;", "&"))
        assert answer.headers["Content-Type"] == "application/pdf"

    def test_by_the_command(self, tmp_path: Path) -> None:
        cabinet = PlaceFactory(name="Cabinet A")
        stock(place=PlaceFactory(within=cabinet))
        file, out = tmp_path / "bags.pdf", StringIO()
        call_command("labels", str(file), "--place", "Cabinet A", "--address", "http://10.0.0.7", stdout=out)
        assert file.read_bytes().startswith(b"%PDF-")
        assert "1 on A4, 3 x 8 labels" in out.getvalue()

    @pytest.mark.parametrize(
        ("command", "why"),
        [(("--place", "Cabinet Z"), "no place is called Cabinet Z"), ((), "either --lot, or --place"),
         (("--lot", "58"), "nothing to label"), (("--lot", "five"), "number of a lot"),
         (("--lot", "9" * 30), "number of a lot"), (("--lot", "1", "--start", "99"), "positions 1 to 24"),
         (("--lot", "1", "--copies", "0"), "1 to 50"), (("--lot", "1", "--address", "x"), "--address")],
    )  # fmt: skip
    def test_the_command_says_what_it_cannot_do(
        self, tmp_path: Path, command: tuple[str, ...], why: str
    ) -> None:
        given = command if "--address" in command else (*command, "--address", "http://10.0.0.7")
        with pytest.raises(CommandError, match=why):
            call_command("labels", str(tmp_path / "x.pdf"), *given)


@pytest.mark.django_db
def test_the_labels_of_many_bags_are_laid_out_page_by_page(sign_in: Callable[..., Client]) -> None:
    drawer = PlaceFactory(name="A1", type="drawer")
    made = [stock(place=drawer) for _bag in range(printing.ON_A_PAGE + 5)]
    client, numbers = sign_in("bench"), set()
    for leaf in (1, 2):
        page = client.get(reverse("print"), {"place": drawer.pk, "page": leaf})
        assert len(page.context["labels"]) <= printing.ON_A_PAGE
        numbers |= {label.number for label in page.context["labels"]}
        assert "All of them as a PDF" in page.content.decode()
    assert numbers == {f"lot {held.lot_id}" for held in made}
