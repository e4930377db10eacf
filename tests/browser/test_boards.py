"""A board in the hand: which one is R47, with a thumb, with keys and without a script."""

from collections.abc import Callable
from typing import TYPE_CHECKING

from playwright.sync_api import expect

from tests.browser.bench import Bench

if TYPE_CHECKING:
    from playwright.sync_api import Page

PHONE = {"width": 360, "height": 740, "has_touch": True}


def board(page: "Page", name: str) -> None:
    page.goto("/boards/")
    page.get_by_role("link", name=name).first.click()


def test_a_reference_that_a_board_has_not_is_reported_at_once(
    demo: Bench, look: Callable[..., "Page"]
) -> None:
    page = look(demo, **PHONE)
    board(page, "Petrel, burnt")
    found, box = page.locator("#found"), page.get_by_label("Which one is")
    box.fill("R99")
    assert "There is no such position on this board." in found.inner_text()
    assert found.evaluate("each => each.getBoundingClientRect().bottom <= innerHeight"), "where it is seen"
    box.fill("R")
    assert found.is_hidden(), "it may be on its way to R1"
    page.get_by_role("button", name="Show it").tap()
    assert "There is no such position" in found.inner_text()


def test_a_tap_on_the_plain_grid_says_what_is_there(demo: Bench, look: Callable[..., "Page"]) -> None:
    for script in (True, False):
        page = look(demo, **PHONE, java_script_enabled=script)
        board(page, "Gannet, no case")
        first = page.locator(".grid a").first
        ref = first.locator("strong").inner_text()
        first.tap()
        page.locator("#found").wait_for()
        assert page.locator("#found .value").inner_text() == ref
        assert page.locator("#found .what").inner_text() != ""


def test_what_is_pinned_next_is_in_sight_on_a_phone(own: Bench, look: Callable[..., "Page"]) -> None:
    page = look(own, **PHONE)
    board(page, "Tern donor 1")
    page.get_by_role("link", name="The design and its pins").tap()
    page.get_by_label("Pin these").fill("R1-R2, R999")
    for expected in ("Tap on R1", "Tap on R2", "There is no place R999"):
        following = page.locator("#next")
        page.locator("[data-map]").evaluate("each => each.scrollIntoView()")
        assert following.inner_text() == expected
        assert following.evaluate("each => each.getBoundingClientRect().top >= 0")
        page.locator("[data-map]").tap(position={"x": 200, "y": 200})
    assert page.locator("input[name=pin]").count() == 2
    page.get_by_role("button", name="Last tap back").tap()
    assert page.locator("#next").inner_text() == "Tap on R2"


def test_a_mistaken_check_is_undone_with_one_tap_where_one_stands(
    own: Bench, look: Callable[..., "Page"]
) -> None:
    page = look(own, **PHONE)
    board(page, "Petrel, east pier")
    page.get_by_role("link", name="Safe to switch on?").tap()
    step = page.locator("details.step").filter(has_text="Looked over")
    step.evaluate("each => { each.open = true; }")
    looked_over = step.locator("section.check").filter(has_text="Looked over")
    looked_over.get_by_role("button", name="In order").tap()
    undo = page.get_by_role("button", name="Undo")
    undo.wait_for()
    expect(undo).to_be_in_viewport()
    expect(page.locator(page.evaluate("location.hash"))).to_be_in_viewport()  # one stands where it was
    undo.tap()
    page.get_by_text("Undone").wait_for()
    assert looked_over.count() == 1
