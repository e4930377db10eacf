"""From an empty bench by thumb at 360 px: a list that is mended and lands, a part, a board, the demo."""

import shutil
from collections.abc import Iterator
from pathlib import Path

import pytest
from playwright.sync_api import Page, expect

from tests.browser.bench import PHONE, Bench, prepare_empty, serving
from tests.browser.conftest import Open

HEAD = "Kind,Value,Tolerance,Watts,Lead style,Qty,Location,Condition\n"
FIRST = "resistor,4k7,5%,0.25,axial,10,Cabinet / Drawer 1,good\n"
BAD = f"{HEAD}{FIRST}resistor,1k,5%,0.25,axial,a few,Cabinet / Drawer 2,good\n"
MENDED = BAD.replace("a few", "3")


@pytest.fixture(scope="module")
def nothing(tmp_path_factory: pytest.TempPathFactory) -> Path:
    return prepare_empty(tmp_path_factory.mktemp("nothing"))


@pytest.fixture
def empty(nothing: Path, tmp_path: Path) -> Iterator[Bench]:
    shutil.copytree(nothing, tmp_path, dirs_exist_ok=True)
    with serving(tmp_path) as bench:
        yield bench


@pytest.fixture
def phone(empty: Bench, look: Open) -> Page:
    page = look(empty, **PHONE)
    page.goto("/")
    return page


def begin(page: Page, how: str) -> None:
    page.get_by_role("link", name=how).tap()


def tap(page: Page, name: str) -> None:
    page.get_by_role("button", name=name).first.tap()


def upload(page: Page, content: str) -> None:
    page.get_by_label(".xlsx or .csv").set_input_files(
        {"name": "drawers.csv", "mimeType": "text/csv", "buffer": content.encode()}
    )
    page.get_by_label("what is in the drawers").check()
    tap(page, "Show what it would do")


def test_a_list_with_a_bad_cell_is_mended_imported_and_found_in_the_drawers(phone: Page) -> None:
    begin(phone, "With a list")
    upload(phone, BAD)
    phone.get_by_role("link", name="row 3, Qty").tap()
    bad = phone.locator(".not-taken")
    expect(bad).to_be_in_viewport()
    expect(bad).to_contain_text("a few ✕ not accepted")
    expect(bad).to_contain_text("expected a whole number")
    assert phone.evaluate("document.documentElement.scrollWidth") <= 360
    upload(phone, MENDED)
    expect(phone.locator("main")).to_contain_text("2 rows: 2 new")
    button = phone.get_by_role("button", name="Import it")
    button.evaluate("(button) => { button.click(); button.click() }")  # a thumb that slips
    expect(phone.get_by_role("status").first).to_contain_text("drawers.csv is imported: 2 new")
    phone.get_by_role("link", name="Cabinet / Drawer 2").tap()
    expect(phone.locator("main")).to_contain_text("3 in Cabinet / Drawer 2")
    expect(phone.get_by_role("heading", name="1 lot")).to_be_visible()


def test_what_is_larger_than_is_taken_in_is_refused_before_it_is_sent(phone: Page) -> None:
    begin(phone, "With a list")
    phone.locator("form[data-most]").evaluate("(form) => { form.dataset.most = 100 }")
    upload(phone, BAD)
    expect(phone.locator("#counting")).to_contain_text("larger than")
    expect(phone.get_by_role("heading", name="cannot land")).to_have_count(0)


def test_a_part_is_read_and_in_a_drawer_of_its_own(phone: Page) -> None:
    begin(phone, "With a part")
    phone.get_by_label("What can you make out?").fill("4k7")
    tap(phone, "What could it be?")
    phone.get_by_label("It goes into").fill("Cabinet / Drawer 7")
    tap(phone, "Put it in the drawer")
    expect(phone.get_by_role("status").first).to_contain_text("is in Drawer 7")


def test_a_board_is_on_the_books_and_can_be_stripped(phone: Page) -> None:
    begin(phone, "With a board")
    phone.get_by_label("What do you call it?").fill("Plover, cracked")
    tap(phone, "Register it")
    expect(phone.get_by_role("status").first).to_contain_text("Plover, cracked is registered")
    expect(phone.locator(".caution")).to_contain_text("fume")  # before an iron is near it
    phone.get_by_role("link", name="write down what you take off it").tap()
    phone.get_by_label("One line each").fill("2 x 4k7 5%, 1N4148")
    tap(phone, "Read them")
    phone.get_by_label("They go into").fill("Tray 1")
    tap(phone, "Put them away")
    expect(phone.get_by_role("status").first).to_contain_text("in Tray 1")
    phone.get_by_role("link", name="4k7").first.tap()
    expect(phone.locator("main")).to_contain_text("Plover, cracked")


def test_the_demo_comes_and_goes_from_the_pages(phone: Page, empty: Bench) -> None:
    tap(phone, "Load the demo")
    expect(phone.get_by_role("heading", name="Now", exact=True)).to_be_visible(timeout=60_000)
    phone.get_by_role("link", name="Take it out").tap()
    expect(phone.get_by_role("definition").filter(has_text="Tern donor 1")).to_be_visible()
    tap(phone, "Take the demo out")
    expect(phone.get_by_role("heading", name="Where do you begin?")).to_be_visible(timeout=60_000)
    empty.command("audit")
