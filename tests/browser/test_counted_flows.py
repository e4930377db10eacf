"""What is done most often takes no more taps and keys than it may, counted by the hand that does it."""

import io
import re
from dataclasses import dataclass, field
from urllib.parse import parse_qs, urlsplit

from PIL import Image, ImageChops, ImageDraw, ImageFilter, ImageStat
from playwright.sync_api import Locator, Page, expect


@dataclass
class Hand:
    """One hand, which counts what it does; characters of a marking or a reference are the job itself."""

    page: Page
    taps: int = 0
    keys: int = 0
    thumb: bool = field(init=False)

    def __post_init__(self) -> None:
        # Asked once, while the page stands still: between two taps it may be on its way to the next.
        self.thumb = bool(self.page.evaluate("navigator.maxTouchPoints"))

    def tap(self, target: Locator) -> None:
        self.taps += 1
        target.tap() if self.thumb else target.click()

    def key(self, name: str) -> None:
        self.keys += 1
        self.page.keyboard.press(name)

    def types(self, text: str) -> None:
        """Whatever has the focus takes it: nothing is tapped first."""
        self.page.keyboard.type(text)

    @property
    def count(self) -> tuple[int, int]:
        """Keys and taps."""
        return self.keys, self.taps


def page_of(page: Page, link: str, tab: str) -> None:
    """Go by a tab and a link; whoever is counted starts from there."""
    page.goto(f"/{tab.lower()}/")
    page.get_by_role("link", name=link).first.click()
    page.get_by_role("heading", name=link, level=1).wait_for()
    page.wait_for_load_state()  # and for its keys


def stripping(page: Page) -> None:
    page_of(page, "Tern donor 1", "Boards")
    page.get_by_role("link", name="Lift parts").click()
    page.wait_for_url("**/strip/**")


def test_a_part_is_stripped_and_judged_with_one_key(desk: Page) -> None:
    stripping(desk)
    ref = desk.locator(".label .value").first.inner_text()
    hand = Hand(desk)
    hand.key("g")
    expect(desk.get_by_role("status").first).to_contain_text(f"{ref} is in")
    expect(desk.get_by_role("status").first).to_contain_text("good")
    assert hand.count == (1, 0)


def test_a_part_is_stripped_and_judged_with_a_thumb(phone: Page) -> None:
    stripping(phone)
    ref = phone.locator(".label .value").first.inner_text()
    hand = Hand(phone)
    hand.tap(phone.get_by_role("button", name="Bad"))
    expect(phone.get_by_role("status").first).to_contain_text(f"{ref} is in")
    expect(phone.get_by_role("status").first).to_contain_text("faulty")
    assert hand.taps <= 2


def test_an_unknown_part_is_read_from_anywhere(phone: Page) -> None:
    for anywhere in ("/", "/drawers/?q=4k7", "/lots/1/", "/shortages/"):
        phone.goto(anywhere)
        hand = Hand(phone)
        hand.tap(phone.get_by_role("link", name="Read", exact=True))
        phone.wait_for_url("**/read/")
        expect(phone.get_by_label("What can you make out?")).to_be_focused()
        hand.types("104")
        hand.tap(phone.get_by_role("button", name="What could it be?"))
        expect(phone.get_by_role("heading", name="100n").first).to_be_visible()
        assert hand.taps <= 2


def test_bands_are_picked_and_their_reading_is_in_sight(phone: Page) -> None:
    """The swatches fill a phone: whoever asks sees the answer, not the swatches again."""
    phone.goto("/")
    hand = Hand(phone)
    hand.tap(phone.get_by_role("link", name="Read", exact=True))
    phone.wait_for_url("**/read/")
    phone.get_by_text("It has colour bands").tap()  # this and the swatches are the marking
    for colour in ("yellow", "violet", "red", "gold"):
        phone.locator(".pick", has_text=colour).first.tap()
        expect(phone.locator(".bands-row")).to_contain_text(colour)
    hand.tap(phone.get_by_role("button", name="What could it be?"))
    expect(phone.locator("#could-be")).to_be_in_viewport()
    expect(phone.get_by_role("heading", name="4k7").first).to_be_in_viewport()
    assert hand.taps <= 2


def test_a_reading_is_in_the_drawer(phone: Page) -> None:
    phone.goto("/read/?marking=4k7")
    hand = Hand(phone)
    hand.tap(phone.get_by_role("button", name="Put it in the drawer").first)
    expect(phone.get_by_role("status").first).to_contain_text("4k7 resistor is in")
    assert hand.taps <= 2


def test_a_reading_is_promised_to_the_job_that_wants_it(phone: Page) -> None:
    phone.goto("/read/?marking=4k7")
    hand = Hand(phone)
    hand.tap(phone.get_by_role("button", name="Reserve it for Tern C rebuild R5"))
    expect(phone.get_by_role("status").first).to_contain_text("reserved for Tern C rebuild R5")
    assert hand.taps <= 2


def test_what_was_fitted_from_a_reading_is_undone_in_one_tap(phone: Page) -> None:
    phone.goto("/read/?marking=4k7")
    fit = phone.get_by_role("button", name="Fit it now").first
    named = fit.inner_text().partition(" to ")[2] or fit.inner_text()
    hand = Hand(phone)
    hand.tap(fit)
    expect(phone.get_by_role("status").first).to_contain_text("is fitted")
    assert hand.taps <= 2
    hand = Hand(phone)
    hand.tap(phone.get_by_role("button", name="Undo"))
    expect(phone.get_by_role("status").first).to_contain_text("Undone: ")
    assert hand.taps == 1
    phone.goto("/read/?marking=4k7")
    expect(phone.get_by_role("button", name="Fit it now").first).to_contain_text(named)  # wanted as before


# --- a picture

SHOT = (1600, 1200)
WORDS = (700, 560, 900, 612)
"""Where the marking is: 52 of 1200 pixels high, 11 of the 360 that a phone shows them in."""


def faint() -> tuple[Image.Image, Image.Image]:
    """A dark chip under a lamp from one side, marked hardly lighter than it is; and the marking alone."""
    alone = Image.new("L", SHOT)
    ImageDraw.Draw(alone).text((WORDS[0], WORDS[1] - 12), "TMS2716", fill=255, font_size=54)
    ground = Image.linear_gradient("L").resize(SHOT).point(lambda level: 40 + level // 8)
    noisy = ImageChops.add(ground, Image.effect_noise(SHOT, 4), 1, -128)
    return ImageChops.add(noisy, alone.point(lambda level: level * 12 // 255)), alone


def colour_distance(shown: Image.Image, alone: Image.Image) -> float:
    """How far the strokes stand from the ground right beside them, in levels of 256."""
    strokes = alone.point(lambda level: 255 * (level > 200))
    beside = ImageChops.subtract(
        strokes.filter(ImageFilter.MaxFilter(9)), strokes.filter(ImageFilter.MaxFilter(5))
    )
    inside, outside = (ImageStat.Stat(shown.convert("L"), mask).mean[0] for mask in (strokes, beside))
    return abs(inside - outside)


def test_a_faint_marking_is_readable_two_taps_after_the_shutter(phone: Page) -> None:
    shot, alone = faint()
    assert colour_distance(shot, alone) < 15
    out = io.BytesIO()
    shot.save(out, "PNG")
    phone.goto("/read/")
    phone.get_by_text(
        "Take a picture of it"
    ).tap()  # opens the camera: what is counted comes after the shutter
    hand = Hand(phone, taps=1)  # the phone's own yes to the picture; the page sends it by itself
    phone.locator("#file").set_input_files(
        {"name": "a.png", "mimeType": "image/png", "buffer": out.getvalue()}
    )
    phone.wait_for_url("**/photos/*/**")
    picture = phone.locator("[data-picture] img")
    whole = picture.bounding_box()
    assert whole
    x, y = ((WORDS[0] + WORDS[2]) / 2 / SHOT[0], (WORDS[1] + WORDS[3]) / 2 / SHOT[1])
    hand.taps += 1
    picture.tap(position={"x": x * whole["width"], "y": y * whole["height"]})
    phone.get_by_text("4 times as near").wait_for()
    assert hand.taps <= 2

    source = str(picture.get_attribute("src"))
    shown = Image.open(io.BytesIO(phone.request.get(source).body()))
    asked = parse_qs(urlsplit(source).query)
    left, top, wide, high = (int(float(asked[name][0])) for name in "xywh")
    there = alone.crop((left, top, left + wide, top + high)).resize(shown.size)
    plain = phone.request.get(re.sub("&(contrast|local_contrast|gamma|sharpen)=[^&]*", "", source)).body()
    assert colour_distance(Image.open(io.BytesIO(plain)), there) < 15  # nearer alone does not do it
    assert colour_distance(shown, there) > 60
    now = picture.bounding_box()
    assert now
    assert (WORDS[3] - WORDS[1]) * now["height"] / high > 24  # as tall as a value is written


def test_the_contrast_stays_while_the_picture_is_turned_and_what_is_read_comes_into_sight(
    phone: Page,
) -> None:
    out = io.BytesIO()
    faint()[0].save(out, "PNG")
    phone.goto("/read/")
    phone.get_by_text("Take a picture of it").tap()
    phone.locator("#file").set_input_files(
        {"name": "a.png", "mimeType": "image/png", "buffer": out.getvalue()}
    )
    phone.wait_for_url("**/photos/*/**")
    picture = phone.locator("[data-picture] img")
    picture.tap(position={"x": 180, "y": 130})
    phone.get_by_text("4 times as near").wait_for()
    expect(phone.get_by_label("Contrast")).to_have_value("clear")
    phone.get_by_role("button", name="Turn a quarter").tap()
    phone.get_by_text("turned 90°").wait_for()
    expect(phone.get_by_label("Contrast")).to_have_value("clear")
    assert "local_contrast" in str(picture.get_attribute("src"))
    phone.get_by_role("button", name="Bands on the line").tap()
    expect(phone.locator("#taken :is(.refused, .done)").first).to_be_in_viewport()


def test_which_one_is_r15_is_answered_by_typing_it(desk: Page) -> None:
    page_of(desk, "Petrel, east pier", "Boards")
    hand = Hand(desk)
    hand.types("R15")
    expect(desk.locator("tr.lit")).to_contain_text("R15")
    expect(desk.locator("#found")).to_contain_text("R15")
    expect(desk.locator(".lit-pin, tr.lit").first).to_be_in_viewport()
    assert hand.count == (0, 0)


def test_what_can_be_finished_tonight_is_there(phone: Page) -> None:
    phone.goto("/jobs/")
    phone.get_by_label("What will you mend?").fill("Lamp for the slip")
    phone.get_by_label("On which board?").select_option(label="Tern C, bare board")
    phone.get_by_label("Which references").fill("R5")
    phone.get_by_label("Priority").select_option("1")
    phone.get_by_role("button", name="Open the job").click()
    with phone.expect_navigation():
        phone.get_by_role("button", name="Reserve what is free").click()
    phone.goto("/")
    hand = Hand(phone)
    here = phone.get_by_role("link").filter(has_text="Lamp for the slip").first
    expect(here).to_contain_text("you can finish it tonight")
    assert hand.count == (0, 0)


def test_a_shortage_is_promised_what_the_plan_takes(phone: Page) -> None:
    phone.goto("/shortages/")
    hand = Hand(phone)
    hand.tap(phone.get_by_role("button", name="Reserve").first)
    expect(phone.get_by_role("status").first).to_contain_text("reserved for")
    assert hand.taps <= 2


def test_where_a_part_came_from_is_behind_its_label(phone: Page) -> None:
    phone.goto("/drawers/?q=4k7")
    hand = Hand(phone)
    hand.tap(phone.get_by_role("link").filter(has_text="Tern donor 2 R5").first)
    expect(phone.locator("main")).to_contain_text("came off Tern donor 2 R5")
    assert hand.taps == 1


def test_the_last_thing_is_undone_from_anywhere(phone: Page) -> None:
    for anywhere in ("/", "/read/", "/shortages/", "/more/"):
        stripping(phone)
        ref = phone.locator(".label .value").first.inner_text()
        with phone.expect_navigation():
            phone.get_by_role("button", name="Good").click()
        phone.goto(anywhere)
        hand = Hand(phone)
        hand.tap(phone.get_by_role("button", name="Undo"))
        expect(phone.get_by_role("status").first).to_contain_text(f"Undone: {ref}")
        expect(phone.get_by_role("button", name="Undo")).to_have_count(0)
        assert hand.taps == 1
        stripping(phone)
        assert phone.locator(".label .value").first.inner_text() == ref
