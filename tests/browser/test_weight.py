"""What a page weighs over the wire, headers and all: for a browser that was never here, and one that was.

Before styles and scripts were packed the first page weighed 54 kB for the one and 2.9 for the other, 21
and 2.9 since; a board with its picture 142 and 9.8, 106 and 9.9 since (30 November 2026).

Each page is weighed where it is opened anyway: `test_every_page.py`.
"""

import io
from pathlib import Path

from PIL import Image
from playwright.sync_api import Page

from tests.browser.bench import Bench, manage
from tests.browser.conftest import Open

FIRST, BARE, AFTER = 150_000, 65_000, 40_000
"""Bytes: some seconds on a slow phone network, one for a page without its pictures, and one."""


QUIET = 100
"""Milliseconds after the page stands in which it may ask for more; until then whatever it asked has come."""


def weighed(page: Page, address: str) -> dict[str, int]:
    """Bytes that came for each address; what the browser kept from before weighs nothing."""
    wire = page.context.new_cdp_session(page)
    wire.send("Network.enable")
    asked: dict[str, str] = {}
    came: dict[str, int] = {}
    over: set[str] = set()
    wire.on(
        "Network.requestWillBeSent", lambda each: asked.update({each["requestId"]: each["request"]["url"]})
    )
    wire.on(  # what the page before had still to load is not this one's
        "Network.loadingFinished",
        lambda each: (
            came.update({asked[each["requestId"]]: each["encodedDataLength"]})
            if each["requestId"] in asked
            else None
        ),
    )
    for ended in ("loadingFinished", "loadingFailed"):
        wire.on(f"Network.{ended}", lambda each: over.add(each["requestId"]))
    page.goto(address)
    page.wait_for_timeout(QUIET)
    while not over.issuperset(asked):
        page.wait_for_timeout(QUIET)
    wire.detach()
    assert came, address
    return came


def without_pictures(came: dict[str, int]) -> int:
    return sum(length for address, length in came.items() if "/api/v1/photos/" not in address)


PICTURES = """
from pathlib import Path
from inventory.pictures import photos
from inventory.pictures.taking_in import take_in
from inventory.models import Board
board = Board.objects.exclude(design=None).get(pk=3)
picture = take_in(Path({file!r}).read_bytes())
photos.show_also(photos.keep(picture, subject="design", subject_id=board.design_id, side="top"),
                 "design", board.design_id, side="bottom")
for number in range(14):
    photos.keep(picture, subject="board", subject_id=board.pk, note=f"{{number}}")
"""


def test_so_is_a_board_photographed_from_both_sides_and_fourteen_times_over(
    own: Bench, look: Open, tmp_path: Path
) -> None:
    """The picture is grain in every channel: no photograph is harder to make light."""
    grain = Image.merge("RGB", [Image.effect_noise((2400, 1800), 80) for _channel in "rgb"])
    kept = io.BytesIO()
    grain.save(kept, "JPEG", quality=85)
    file = tmp_path / "grain.jpg"
    file.write_bytes(kept.getvalue())
    manage(own.home, "shell", "--no-imports", "-c", PICTURES.format(file=str(file)))
    page = look(own, 360)
    came = weighed(page, "/boards/3/")
    shown_sides = [address for address in came if "longest=960" in address]
    assert len(shown_sides) == 2
    assert sum(came.values()) < FIRST, came
    page.goto("about:blank")
    assert sum(weighed(page, "/boards/3/").values()) < AFTER
    stamps = page.locator(".pictures img")
    assert stamps.count() == 14
    assert stamps.nth(13).is_hidden()
    newest = page.locator(".pictures a").first.get_attribute("href")
    assert newest
    closer = weighed(look(own, 360), newest)
    assert sum(closer.values()) < FIRST, closer


def test_what_is_heavy_is_found(demo: Bench, look: Open) -> None:
    """The control: a page that shows the whole picture of a board, as it is kept."""
    page = look(demo, 360)
    heavy = '<!DOCTYPE html><title>Heavy</title><img src="/api/v1/photos/1/image" alt="A board">'
    page.route("**/heavy/", lambda route: route.fulfill(body=heavy, content_type="text/html"))
    assert sum(weighed(page, "/heavy/").values()) > FIRST
