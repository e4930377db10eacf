"""Every page of the URL conf, with what the demo has, can be read, reached and worked, and is light."""

from itertools import pairwise
from pathlib import Path
from typing import Any

import pytest
from axe_playwright_python.sync_playwright import Axe
from playwright.sync_api import Browser, BrowserType, Page

from tests.browser.bench import PHONE, Bench
from tests.browser.conftest import Open
from tests.browser.pages import shown
from tests.browser.test_weight import AFTER, BARE, FIRST, weighed, without_pictures

LOOK = (Path(__file__).parent / "look.js").read_text(encoding="utf-8")
Pages = dict[str, list[str]]

# WCAG 2.2 at A and AA, and of AAA the contrast (1.4.6: 7:1, large type 4.5:1); the names are axe-core's.
RULES = {
    "runOnly": ["wcag2a", "wcag2aa", "wcag21a", "wcag21aa", "wcag22aa", "best-practice"],
    "rules": {"color-contrast-enhanced": {"enabled": True}},
    "resultTypes": ["violations"],
}
CONTRAST = {"runOnly": ["color-contrast", "color-contrast-enhanced"], "resultTypes": ["violations"]}
"""All that another theme can change: it names colours and nothing else."""
DESK = 1280
TOUCH = 48  # shared sizes of the look: a thumb in a glove
SMALLEST_TEXT = 16


def complaints(page: Page, check: str, *arguments: int) -> list[str]:
    found: list[str] = page.evaluate(f"(sent) => ({LOOK})[sent[0]](...sent[1])", [check, list(arguments)])
    return found


def at(pages: Pages, name: str) -> str:
    assert name in pages, f"no link of the demo leads to the page {name}"
    return pages[name][0]


@pytest.fixture(scope="session")
def brought_before(demo: Bench, browser: Browser) -> set[str]:
    """What a browser keeps that has looked at the boards."""
    context = browser.new_context(base_url=demo.url, storage_state=demo.signed_in())
    came = weighed(context.new_page(), "/boards/")
    context.close()
    return set(came)


@pytest.mark.parametrize("name", shown())
def test_a_page_is_light_and_can_be_read_reached_and_worked_at_each_width(
    look: Open, request: pytest.FixtureRequest, pages: Pages, brought_before: set[str], name: str
) -> None:
    """The longest page of a name, loaded twice in one window, which is a phone's first and then a desk's.

    Whoever is signed in is not asked to sign in, nor to be the first.
    """
    empty = name == "first-person"
    out = {"storage_state": None} if empty or name == "sign-in" else {}
    page = look(request.getfixturevalue("nobodys" if empty else "demo"), 360, **out)
    first = weighed(page, "/first/" if empty else at(pages, name))
    assert sum(first.values()) < FIRST, first
    assert without_pictures(first) < BARE, first
    if not out:
        more = {address: length for address, length in first.items() if address not in brought_before}
        assert without_pictures(more) < AFTER, more
    headings_leave_out_no_level(page)
    type_follows_the_reader(page)
    page.evaluate("document.querySelectorAll('details').forEach((each) => { each.open = true })")
    for width in (360, 640, DESK):
        page.set_viewport_size({"width": width, "height": 740})
        faults = complaints(page, "sideways") + complaints(page, "smallText", SMALLEST_TEXT)
        faults += complaints(page, "smallTargets", TOUCH) + complaints(page, "cutValues")
        assert faults == [], f"{page.url} at {width} px"

    address = page.url
    page.set_viewport_size({"width": 360, "height": 740})
    page.goto("about:blank")
    again = weighed(page, address)
    assert sum(again.values()) < AFTER, again

    page.set_viewport_size({"width": DESK, "height": 800})
    the_keyboard_goes_as_one_reads(page)
    assert violations(Axe().run(page, options=RULES).response) == [], page.url
    page.emulate_media(color_scheme="dark")
    assert violations(page.evaluate("(rules) => axe.run(rules)", CONTRAST)) == [], f"{page.url}, dark"


def headings_leave_out_no_level(page: Page) -> None:
    """WCAG's technique G141."""
    levels = page.evaluate(
        "[...document.querySelectorAll('h1,h2,h3,h4,h5,h6')].map((each) => +each.tagName[1])"
    )
    assert levels[0] == 1, page.url
    assert all(below <= above + 1 for above, below in pairwise(levels)), f"{page.url}: {levels}"


def type_follows_the_reader(page: Page) -> None:
    """The reader's own font size at 200 % stays on the page (WCAG 1.4.4).

    So does all at 360 px, and at 640 px, which is what 1280 px are at 200 % (1.4.4 and 1.4.10).
    """
    page.evaluate("document.documentElement.style.fontSize = '200%'")
    body = page.evaluate("getComputedStyle(document.body).fontSize")
    assert body == "36px", "type follows the size that the reader chose"
    assert page.evaluate("document.documentElement.scrollWidth") <= 360, page.url
    page.evaluate("document.documentElement.style.fontSize = ''")


def the_keyboard_goes_as_one_reads(page: Page) -> None:
    assert complaints(page, "outOfOrder") == [], page.url
    for _stop in range(12):
        page.keyboard.press("Tab")
        focus = page.evaluate(f"({LOOK}).focused()")
        assert focus["outline"] >= 3 or not focus["name"], focus


def violations(found: dict[str, Any]) -> list[str]:
    return [
        f"{each['id']}: {node['target']} {node['failureSummary']}"
        for each in found["violations"]
        for node in each["nodes"]
    ]


def test_each_position_of_a_board_without_a_picture_is_wide_and_high_enough(demo: Bench, look: Open) -> None:
    page = look(demo, 360)
    page.goto("/boards/")
    page.get_by_role("link", name="Gannet, no case").first.click()
    assert page.locator(".grid a").count() > 50
    assert complaints(page, "smallTargets", TOUCH) == []


def test_axe_finds_nothing_where_a_marking_was_read(demo: Bench, look: Open) -> None:
    page = look(demo, DESK)
    page.goto("/read/?marking=4k7")
    assert page.get_by_role("heading", name="It could be one of 2").count() == 1
    assert violations(Axe().run(page, options=RULES).response) == [], page.url


BAD = """<main><h1>Bad</h1><p style="color:#999;background:#fff;font-size:12px">Faint and small</p>
<p style="width:2000px">Wide</p><div style="position:relative;height:200px">
<a href="/a" style="position:absolute;top:90px;left:200px">last</a>
<a href="/b" style="position:absolute;top:0">first</a>
</div><p class="value" style="width:20px">4.7 kΩ and more</p></main>"""


def test_what_is_wrong_with_a_page_is_found(demo: Bench, look: Open) -> None:
    """The control: a page that has each of the faults at once."""
    page = look(demo, 360)
    page.set_content(BAD)
    for check, sent in (
        ("sideways", []), ("smallText", [SMALLEST_TEXT]), ("smallTargets", [TOUCH]), ("cutValues", []),
        ("outOfOrder", []),
    ):  # fmt: skip
        assert complaints(page, check, *sent) != [], check
    assert "color-contrast" in {each["id"] for each in Axe().run(page, options=RULES).response["violations"]}


A_PART = """<table class="stacks"><tbody id="made"><tr><th scope="row">R1</th><td>47k 5 %</td>
<td data-name="from">a bag</td><td class="number"></td></tr></tbody></table>"""
MIDDLES = """[...document.querySelectorAll("#made th, #made td:not(:empty)")].map((each) => {
  const box = each.getBoundingClientRect();
  return (box.top + box.bottom) / 2;
})"""


def test_a_part_in_a_report_is_a_line_of_text_on_a_phone_and_no_card(demo: Bench, look: Open) -> None:
    page = look(demo, **PHONE)
    page.goto("/jobs/1/report/")
    page.evaluate("part => document.querySelector('.report').insertAdjacentHTML('beforeend', part)", A_PART)
    middles = page.evaluate(MIDDLES)
    assert len(middles) == 3
    assert max(middles) - min(middles) < 6, "they run on in one line"


def test_every_place_of_the_bar_is_in_sight_where_the_reader_chose_large_letters(
    demo: Bench, browser_type: BrowserType, browser_type_launch_args: dict[str, Any]
) -> None:
    """Twice the usual size (WCAG 1.4.4), as it is set in the browser itself."""
    flags = [*browser_type_launch_args["args"], "--blink-settings=defaultFontSize=32"]
    with browser_type.launch(**{**browser_type_launch_args, "args": flags}) as browser:
        page = browser.new_context(
            viewport={"width": PHONE["width"], "height": PHONE["height"]}, storage_state=demo.signed_in()
        ).new_page()
        page.goto(demo.url)
        assert page.evaluate("getComputedStyle(document.body).fontSize") == "36px"
        places = page.locator(".tabs a:visible")
        edges = places.evaluate_all("all => all.map((each) => each.getBoundingClientRect().right)")
        assert len(edges) == 6
        assert max(edges) <= PHONE["width"]
