"""With a script: readings as one types, a tap and a drag on a picture, pins set by tapping."""

import io
import re

from PIL import Image, ImageDraw

from tests.browser.bench import Bench
from tests.browser.conftest import Open

# A 4k7 5 % resistor, IEC 60062: yellow, violet, red, gold; the tones from memory.
PAINTED = ((236, 204, 52), (118, 70, 142), (190, 40, 42), (180, 142, 66))


def resistor() -> bytes:
    """Beige, level, from x 250 to x 750 of 1000 x 600 white."""
    image = Image.new("RGB", (1000, 600), "white")
    draw = ImageDraw.Draw(image)
    draw.rectangle((250, 230, 750, 370), fill=(212, 182, 138))
    for place, tone in enumerate(PAINTED):
        draw.rectangle((320 + 105 * place, 230, 360 + 105 * place, 370), fill=tone)
    out = io.BytesIO()
    image.save(out, "PNG")
    return out.getvalue()


def test_readings_appear_as_one_types_and_what_is_typed_stays(demo: Bench, look: Open) -> None:
    page = look(demo, 360, has_touch=True)
    page.goto("/read/")
    page.locator("#marking").press_sequentially("4k7", delay=60)
    page.locator("#answer .label .value", has_text="4k7").first.wait_for()
    assert page.locator("#marking").input_value() == "4k7"
    assert page.evaluate("document.activeElement.id") == "marking"
    page.locator("#marking").fill("[3")
    page.locator("#row [role=alert]").wait_for()
    assert page.locator("#answer .label").count() == 0


def test_bands_are_picked_by_thumb_without_the_page_jumping(demo: Bench, look: Open) -> None:
    page = look(demo, 360, has_touch=True)
    page.goto("/read/")
    page.get_by_text("It has colour bands").tap()
    for number, colour in enumerate(("yellow", "violet", "red", "gold"), 1):
        page.locator(f'button[name=add][value="{colour}"]').tap()
        page.locator("#row li").nth(number - 1).wait_for()
    page.locator("#answer .value", has_text="4k7").first.wait_for()
    assert page.evaluate("performance.getEntriesByType('navigation').length") == 1
    assert "band=yellow&band=violet&band=red&band=gold" in page.url


def test_from_the_shutter_to_a_marking_in_two_taps_and_bands_by_one_drag(own: Bench, look: Open) -> None:
    page = look(own, 360, has_touch=True)
    page.goto("/read/")
    page.get_by_text("Take a picture of it").tap()
    # First tap: the phone's own yes to the picture; the page sends it by itself.
    page.locator("#file").set_input_files({"name": "a.png", "mimeType": "image/png", "buffer": resistor()})
    page.wait_for_url(re.compile(r"/photos/\d+/"))
    page.locator("[data-picture] img").tap()  # second tap: on the marking
    page.get_by_text("4 times as near").wait_for()
    assert "local_contrast" in str(page.locator("[data-picture] img").get_attribute("src"))

    page.get_by_role("button", name="All of it").tap()
    page.get_by_text("The whole picture").wait_for()
    page.locator("[data-picture]").scroll_into_view_if_needed()
    edge = page.locator("[data-picture] img").bounding_box()
    assert edge
    page.mouse.move(edge["x"] + 0.26 * edge["width"], edge["y"] + edge["height"] / 2)
    page.mouse.down()
    page.mouse.move(edge["x"] + 0.5 * edge["width"], edge["y"] + edge["height"] / 2, steps=4)
    page.mouse.move(edge["x"] + 0.74 * edge["width"], edge["y"] + edge["height"] / 2, steps=4)
    page.mouse.up()
    page.locator("#row li").nth(3).wait_for()
    page.locator("#answer .value", has_text="4k7").first.wait_for()


def test_which_one_is_r4_is_typed_and_lit(demo: Bench, look: Open) -> None:
    page = look(demo, 360)
    page.goto("/boards/1/")
    page.locator("#find").press_sequentially("r4")
    assert page.locator('.map [data-pin="R4"].lit-pin').is_visible()
    assert page.locator(".lit-pin").count() == 1
    assert page.locator("#found .value").inner_text() == "R4"


def test_places_are_pinned_by_tapping_and_by_keys_and_put_back(own: Bench, look: Open) -> None:
    page = look(own, 1280)
    page.goto("/boards/1/")
    page.get_by_role("link", name="The design and its pins").click()
    before = page.locator('[data-pin="R1"]').get_attribute("transform")
    page.locator("#refs").fill("R1-R3")
    svg = page.locator(".map > svg[data-side]")
    for across in (200, 400):
        svg.click(position={"x": across, "y": 150})
    page.locator(".map").focus()
    for key in ("ArrowRight", "ArrowDown", "Enter"):
        page.keyboard.press(key)
    assert page.locator("#next").inner_text() == "Nothing left to pin"
    page.get_by_role("button", name="Last tap back").click()
    assert page.locator("#next").inner_text() == "Tap on R3"
    page.get_by_role("button", name="Keep the pins").click()
    page.get_by_text("2 pinned.").wait_for()
    assert page.locator('[data-pin="R1"]').get_attribute("transform") != before
    page.get_by_role("button", name="Undo").first.click()
    page.get_by_text("put back as they were").wait_for()
    assert page.locator('[data-pin="R1"]').get_attribute("transform") == before
