"""Two people want the same last part: one gets it, the other is told so, and nothing is lost."""

import re

from playwright.sync_api import expect

from tests.browser.bench import PHONE, Bench
from tests.browser.conftest import Open


def test_the_second_sees_who_has_the_last_part(own: Bench, look: Open) -> None:
    one, two = look(own), look(own, **PHONE)
    for page in (one, two):
        page.goto("/jobs/")
        page.get_by_role("link").filter(has_text="Tern C rebuild").first.click()
        page.get_by_role("link", name="Fetch and fit").first.click()
        page.get_by_role("button", name="It is fitted").wait_for()
    for page in (one, two):
        with page.expect_navigation():
            page.get_by_role("button", name="It is fitted").click()
    expect(one.locator("main")).to_contain_text("is fitted")
    expect(two.get_by_role("alert")).to_have_text(re.compile(r"[A-Z]+[0-9]+ is fitted already"))
    assert "everything agrees" in own.command("audit")


def test_two_who_take_the_same_pieces_away(own: Bench, look: Open) -> None:
    """What was typed into the second form is still what it asks for: the answer says how many are left."""
    one, two = look(own), look(own)
    for page in (one, two):
        page.goto("/drawers/?q=LM393")
        page.get_by_role("link").filter(has_text="Chip tubes").first.click()
        page.get_by_role("heading", name="Where it is now").wait_for()
    with one.expect_navigation():
        one.get_by_role("button", name="Scrap").first.click()
    with two.expect_navigation():
        two.get_by_role("button", name="Move", exact=True).first.click()
    expect(two.get_by_role("alert")).to_contain_text(re.compile("left|there|only|available|no ", re.I))
    assert "everything agrees" in own.command("audit")


def test_what_was_typed_is_kept_where_it_does_not_do(own: Bench, look: Open) -> None:
    page = look(own)
    page.goto("/boards/")
    page.get_by_label("What do you call it?").fill("Tern donor 1")
    page.get_by_label("What is it here for?").select_option(label="to mend")
    page.get_by_role("button", name="Register it").click()
    expect(page.locator(".wrong")).to_contain_text("of that name already")
    expect(page.get_by_label("What do you call it?")).to_have_value("Tern donor 1")
    expect(page.get_by_label("What is it here for?")).to_have_value("under_repair")
    page.goto("/jobs/")
    page.get_by_label("What will you mend?").fill("Winch light")
    page.get_by_label("Which references").fill("R1-")
    page.get_by_label("What is wrong with it?").fill("dead since the storm")
    page.get_by_role("button", name="Open the job").click()
    expect(page.locator(".wrong").first).to_be_visible()
    expect(page.get_by_label("What will you mend?")).to_have_value("Winch light")
    expect(page.get_by_label("Which references")).to_have_value("R1-")
    expect(page.get_by_label("What is wrong with it?")).to_have_value("dead since the storm")
