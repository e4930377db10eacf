"""Two forms of one page: sending one loses nothing that was typed in the other."""

from playwright.sync_api import Page, expect


def rails_of_a_new_design(page: Page, name: str) -> None:
    page.goto("/designs/new/")
    page.get_by_label("Name").fill(name)
    page.get_by_label("Paste the parts list").fill("R1 47k\nIC1 NE5532 socketed")
    page.get_by_role("button", name="Read it").tap()
    page.get_by_role("button", name="Keep 2 positions").tap()
    page.get_by_role("link", name="Rails, links, banks, hazards").tap()
    page.wait_for_url("**/facts/")


def keep_a_rail(page: Page) -> None:
    page.get_by_text("Another rail").tap()
    rail = page.locator("details", has_text="Another rail")
    rail.get_by_label("Name").fill("+12V")
    rail.get_by_label("Volts").fill("12")
    rail.get_by_role("button", name="Save").tap()
    expect(page.get_by_text("+12V is kept.")).to_be_visible()


def test_a_hazard_that_was_ticked_is_still_ticked_once_a_rail_was_saved(phone: Page) -> None:
    rails_of_a_new_design(phone, "Kittiwake echo")
    phone.get_by_label("mains", exact=True).check()
    phone.get_by_text("Another link").tap()
    phone.get_by_label("What it is for").fill("selects the head")
    keep_a_rail(phone)
    expect(phone.get_by_label("mains", exact=True)).to_be_checked()
    expect(phone.get_by_label("What it is for")).to_have_value("selects the head")
    expect(phone.get_by_text("Not saved yet.")).to_have_count(2)
    phone.locator("form", has_text="mains").get_by_role("button", name="Save").tap()
    expect(phone.get_by_text("Not saved yet.")).to_have_count(1)
    phone.reload()
    expect(phone.get_by_label("mains", exact=True)).to_be_checked()
    expect(phone.get_by_text("Not saved yet.")).to_have_count(0)


def test_a_page_that_was_left_alone_says_nothing_of_unsaved_things(phone: Page) -> None:
    rails_of_a_new_design(phone, "Kittiwake delay")
    keep_a_rail(phone)
    expect(phone.get_by_text("Not saved yet.")).to_have_count(0)


def test_what_was_refused_stands_in_its_form_with_the_reason_beside_it(phone: Page) -> None:
    lots = phone.request.get("/api/v1/lots/?condition=good&page_size=500").json()["results"]
    free = [
        each["id"]
        for each in lots
        if any(not held["ref"] and not held["promised"] for held in each["holdings"])
    ]
    phone.goto(f"/lots/{free[0]}/")
    form = phone.locator("form[action$='/lend/']").first
    phone.get_by_text("Lend it to somebody").first.tap()
    form.get_by_label("Who borrows it?").fill("Kittiwake")
    form.get_by_label("Pieces").fill("9999")
    form.get_by_label("For what").fill("to try in the echo")
    form.get_by_role("button").tap()
    expect(form.locator(".refused")).to_be_in_viewport()
    expect(form.get_by_label("For what")).to_have_value("to try in the echo")
    expect(form.get_by_label("Pieces")).to_have_value("9999")
    phone.reload()
    expect(phone.locator(".refused")).to_have_count(0)
