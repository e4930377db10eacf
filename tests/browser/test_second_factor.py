"""Turning a second factor on, and signing in with it, at a phone: what no link of the demo leads to."""

import pyotp
import zxingcpp
from axe_playwright_python.sync_playwright import Axe
from PIL import Image
from playwright.sync_api import Page

from tests.browser.bench import OWNER, Bench
from tests.browser.conftest import Open
from tests.browser.test_every_page import RULES, SMALLEST_TEXT, TOUCH, complaints, violations


def assert_sound(page: Page) -> None:
    faults = complaints(page, "sideways") + complaints(page, "smallText", SMALLEST_TEXT)
    assert faults + complaints(page, "smallTargets", TOUCH) == [], page.url
    assert violations(Axe().run(page, options=RULES).response) == [], page.url


def test_a_code_is_asked_for_once_the_app_has_the_secret(own: Bench, look: Open, tmp_path: object) -> None:
    page = look(own, 360)
    page.goto("/second-factor/")
    page.get_by_label("Your password").fill(own.password)
    page.get_by_role("button", name="Show the secret").click()
    assert_sound(page)
    secret = page.locator(".key code").inner_text().replace(" ", "")
    page.locator("svg.to-scan").screenshot(path=f"{tmp_path}/code.png")
    (read,) = zxingcpp.read_barcodes(Image.open(f"{tmp_path}/code.png"))
    assert pyotp.parse_uri(read.text).secret == secret
    page.get_by_label("The code that the app shows now").fill(pyotp.TOTP(secret).now())
    page.get_by_role("button", name="Turn it on").click()
    assert_sound(page)
    recovery = page.locator(".codes code").first.inner_text()

    stranger = look(own, 360, storage_state=None)
    stranger.goto("/sign-in/?next=/jobs/")
    stranger.get_by_label("Name").fill(OWNER)
    stranger.get_by_label("Password").fill(own.password)
    stranger.get_by_role("button", name="Sign in").click()
    stranger.wait_for_url("**/sign-in/code/")
    assert_sound(stranger)
    stranger.get_by_label("The code in your app").fill(recovery)
    stranger.get_by_role("button", name="Sign in").click()
    stranger.wait_for_url("**/jobs/")
