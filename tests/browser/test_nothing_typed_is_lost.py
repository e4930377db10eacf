"""Two forms of one page: sending one loses nothing that was typed in the other."""

import re

from playwright.sync_api import Page, expect

from tests.browser.bench import PHONE, Bench
from tests.browser.conftest import Open


def rails_of_a_new_design(page: Page, name: str) -> None:
    page.goto("/designs/new/")
    page.get_by_label("Name").fill(name)
    page.get_by_label("Paste the parts list").fill("R1 47k\nIC1 NE5532 socketed")
    page.get_by_role("button", name="Read it").tap()
    page.get_by_role("button", name="Keep 2 positions").tap()
    page.get_by_role("link", name="Rails, links, banks, hazards").tap()
    page.wait_for_url("**/facts/")


def keep_a_rail(page: Page) -> None:
    page.get_by_text("Add a rail").tap()
    rail = page.locator("details", has_text="Add a rail")
    rail.get_by_label("Name").fill("+12V")
    rail.get_by_label("Volts").fill("12")
    rail.get_by_role("button", name="Save").tap()
    expect(page.get_by_text("+12V is kept.")).to_be_visible()


def test_a_hazard_that_was_ticked_is_still_ticked_once_a_rail_was_saved(phone: Page) -> None:
    rails_of_a_new_design(phone, "Kittiwake echo")
    phone.get_by_label("mains", exact=True).check()
    phone.get_by_text("Add a link").tap()
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


def test_what_was_sent_after_one_was_signed_out_stands_there_once_one_is_back(
    phone: Page, busy: Bench
) -> None:
    phone.goto("/jobs/")
    phone.get_by_label("What will you mend?").fill("Kittiwake organ 🐦")
    phone.get_by_label("What is wrong with it?").fill("x" * 5000)
    phone.context.clear_cookies(name=re.compile("rehome-session"))
    phone.get_by_role("button", name="Open the job").tap()
    sign_in(phone, "robin", busy.password)
    expect(phone.get_by_label("What will you mend?")).to_have_value("Kittiwake organ 🐦")
    expect(phone.get_by_label("What is wrong with it?")).to_have_value("x" * 5000)
    expect(phone.get_by_text("It is not saved yet.")).to_be_visible()
    phone.get_by_role("button", name="Open the job").tap()
    expect(phone.get_by_role("heading", name="Kittiwake organ")).to_be_visible()


OTHER = """
from django.contrib.auth.models import User
from inventory.roles import give_role
give_role(User.objects.create_user("wren", password="two-bent-pins"), "bench")
"""


def sign_in(page: Page, name: str, password: str) -> None:
    page.get_by_label("Name").fill(name)
    page.get_by_label("Password").fill(password)
    page.get_by_role("button", name="Sign in").tap()


def stored(page: Page) -> str:
    return str(page.evaluate("JSON.stringify(sessionStorage)"))


def test_a_form_that_was_refused_once_stands_there_too_once_one_is_back(phone: Page, busy: Bench) -> None:
    phone.goto("/jobs/")
    phone.get_by_label("What will you mend?").fill("Kittiwake siren")
    phone.get_by_label("Which references").fill("R1-")
    phone.get_by_role("button", name="Open the job").tap()
    expect(phone.locator(".wrong").first).to_be_visible()
    phone.get_by_label("Which references").fill("R1, R2")
    phone.context.clear_cookies(name=re.compile("rehome-session"))
    phone.get_by_role("button", name="Open the job").tap()
    sign_in(phone, "robin", busy.password)
    expect(phone.get_by_label("What will you mend?")).to_have_value("Kittiwake siren")
    expect(phone.get_by_label("Which references")).to_have_value("R1, R2")
    expect(phone.get_by_text("It is not saved yet.")).to_have_count(1)


def test_what_one_sent_is_not_shown_to_the_next_at_the_same_tablet(phone: Page, busy: Bench) -> None:
    busy.command("shell", "--no-imports", "-c", OTHER)
    phone.goto("/jobs/")
    phone.get_by_label("What will you mend?").fill("Kittiwake diary")
    phone.context.clear_cookies(name=re.compile("rehome-session"))
    phone.get_by_role("button", name="Open the job").tap()
    sign_in(phone, "wren", "two-bent-pins")
    expect(phone.get_by_label("What will you mend?")).to_have_value("")
    expect(phone.get_by_text("It is not saved yet.")).to_have_count(0)
    assert "Kittiwake" not in stored(phone)


def test_signing_out_forgets_what_was_typed(busy: Bench, look: Open) -> None:
    phone = look(busy, **PHONE, storage_state=None)  # signing out ends it for every window that shares it
    phone.goto("/sign-in/?next=/jobs/")
    sign_in(phone, "robin", busy.password)
    phone.get_by_label("What will you mend?").fill("Kittiwake diary")
    phone.get_by_label("Find anything").fill("R47")
    phone.get_by_label("Find anything").press("Enter")
    phone.wait_for_url("**/find/**")
    assert "Kittiwake" in stored(phone)
    phone.goto("/more/")
    phone.get_by_role("button", name="Sign out").tap()
    expect(phone.get_by_role("button", name="Sign in")).to_be_visible()
    assert "Kittiwake" not in stored(phone)


def test_a_code_for_signing_in_is_never_stored(phone: Page, busy: Bench) -> None:
    phone.goto("/second-factor/")
    phone.get_by_label("Your password").fill(busy.password)
    phone.get_by_role("button", name="Show the secret").tap()
    phone.get_by_label("The code that the app shows now").fill("135791")
    phone.get_by_role("button", name="Turn it on").tap()
    expect(phone.get_by_label("The code that the app shows now")).to_have_value("")
    phone.get_by_label("The code that the app shows now").fill("246802")
    assert "135791" not in stored(phone)
    phone.get_by_label("Find anything").fill("R47")
    phone.get_by_label("Find anything").press("Enter")
    phone.wait_for_url("**/find/**")
    assert "246802" not in stored(phone)


def test_without_a_script_a_refused_form_keeps_what_was_typed(busy: Bench, look: Open) -> None:
    page = look(busy, java_script_enabled=False)
    page.goto("/shortages/buy/")
    line = page.locator("ol.opens details").first
    line.locator("summary").click()
    line.get_by_label("From whom").fill("Wren & söns 🐦")
    line.get_by_label("Price of one").fill("cheap")
    line.get_by_role("button", name="Mark as ordered").click()
    line = page.locator("ol.opens details[open]")
    expect(line.get_by_role("alert")).to_contain_text("'cheap'")
    expect(line.get_by_label("From whom")).to_have_value("Wren & söns 🐦")
    expect(line.get_by_label("Price of one")).to_have_value("cheap")
    assert page.goto(f"{page.url}?page=2").status == 200
    assert page.url.endswith("/shortages/buy/?page=2")
