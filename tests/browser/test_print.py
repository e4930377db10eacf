"""Paper: sheets of labels come out of Chromium's own print at their size, each label where it is cut."""

import re

import pytest

from inventory.labels import STOCKS
from tests.browser.bench import Bench
from tests.browser.conftest import Open

POINTS = {"A4": (595, 842), "US Letter": (612, 792)}  # ISO 216 and ANSI/ASME Y14.1, in 1/72 inch
MILLIMETRE = 96 / 25.4  # CSS pixels (CSS Values and Units, 5.2)
CELLS = "[...document.querySelector('.sheet').children].map((e) => e.getBoundingClientRect().toJSON())"
CUT = """[...document.querySelectorAll('.cell')].flatMap((cell) =>
  [...cell.querySelectorAll('.cell-value,.cell-mark,.qr')].filter((e) => {
    const a = cell.getBoundingClientRect(), b = e.getBoundingClientRect();
    const wide = e.tagName === 'SPAN' && e.scrollWidth > e.clientWidth + 1;
    return wide || b.bottom > a.bottom + 1 || b.right > a.right + 1; })
  .map((e) => cell.innerText))"""


def address(bench: Bench, stock: str) -> str:
    place = bench.command(
        "shell", "--no-imports", "-c",
        "from inventory.models import Place; print(Place.objects.filter(type='tray').earliest('id').pk)",
    ).strip()  # fmt: skip
    return f"/print/?what=bags&place={place}&stock={stock}&marks=1"


@pytest.mark.parametrize("name", STOCKS)
def test_labels_are_printed_on_their_sheet_where_they_are_cut(demo: Bench, look: Open, name: str) -> None:
    page, stock = look(demo), STOCKS[name]
    page.goto(address(demo, name))
    sheets = page.locator(".sheet").count()
    assert sheets >= 1
    pdf = page.pdf(prefer_css_page_size=True)
    boxes = re.findall(rb"/MediaBox\s*\[\s*0 0 ([\d.]+) ([\d.]+)", pdf)
    assert len(re.findall(rb"/Type\s*/Page\b", pdf)) == sheets
    of_roll = tuple(round(float(length) * 72 / 25.4) for length in (stock.width, stock.height))
    paper = POINTS.get(stock.paper, of_roll)  # of a roll each label is a page
    sizes = {(round(float(width)), round(float(height))) for width, height in boxes}
    assert all(abs(size[0] - paper[0]) <= 1 and abs(size[1] - paper[1]) <= 1 for size in sizes)

    page.emulate_media(media="print")
    for place, cell in enumerate(page.evaluate(CELLS)):
        down, across = divmod(place, stock.across)
        left = float(stock.left + across * (stock.width + stock.gap))
        top = float(stock.top + down * stock.height)
        assert cell["x"] / MILLIMETRE == pytest.approx(left, abs=0.1)
        assert cell["y"] / MILLIMETRE == pytest.approx(top, abs=0.1)
        assert cell["width"] / MILLIMETRE == pytest.approx(float(stock.width), abs=0.1)
        assert cell["height"] / MILLIMETRE == pytest.approx(float(stock.height), abs=0.1)
    assert page.evaluate(CUT) == [], "a value, a mark or a code is cut"


@pytest.mark.parametrize(("path", "needs"), [("/jobs/1/", "h1"), ("/boards/1/", ".map image")])
def test_a_pick_list_and_a_board_come_out_without_what_is_pressed(
    demo: Bench, look: Open, path: str, needs: str
) -> None:
    page = look(demo)
    page.goto(path)
    page.emulate_media(media="print")
    assert page.locator(needs).first.is_visible()
    pressed = ("button", ".button", "input", "select", "nav")
    assert page.locator(", ".join(f"{each}:visible" for each in pressed)).count() == 0
    assert page.pdf(format="A4").startswith(b"%PDF")


A_LONG_EVENING = """
from django.contrib.auth.models import User
from repairs.models import Job, Trial
from repairs.proving_models import BenchEntry, RailReading
job = Job.objects.filter(board__design__isnull=False).earliest("id")
person = User.objects.earliest("id")
for number in range(8):
    for stage in ("ohms", "chips_out"):
        RailReading.objects.create(
            board=job.board, rail=f"rail {number}", stage=stage, amount=5, stamp=0, by=person)
for number in range(120):
    BenchEntry.objects.create(job=job, kind="note", text=f"looked at the picture again, {number}", by=person)
    Trial.objects.create(
        board=job.board, ref=f"R{number}", method="resistance", reading="4k7", verdict="good", by=person)
print(job.pk)
"""


def test_shortages_on_paper_name_their_jobs_in_a_column_of_its_own_width(demo: Bench, look: Open) -> None:
    page = look(demo)
    page.set_viewport_size({"width": 716, "height": 1000})  # A4 between margins of 10 mm
    page.goto("/shortages/")
    page.emulate_media(media="print")
    jobs = page.locator(".shortages thead th", has_text="Jobs that wait").bounding_box()
    assert jobs is not None
    assert jobs["width"] > 716 / 5
    assert not page.get_by_role("columnheader", name="Reserve").is_visible()


def test_the_report_of_a_small_repair_is_two_pages(own: Bench, look: Open) -> None:
    pk = own.command("shell", "--no-imports", "-c", A_LONG_EVENING).strip()
    page = look(own)
    for address in (f"/jobs/{pk}/report/", f"/api/v1/jobs/{pk}/report.html"):
        page.goto(address)
        assert 1 <= len(re.findall(rb"/Type\s*/Page\b", page.pdf(format="A4"))) <= 2
