"""Pictures of every page, at the width of a phone and of a desk, on paper and on the mat.

    python -m tests.browser.screenshots OUT [--only NAME ...]
    python -m tests.browser.screenshots .tour --tour
    python -m tests.browser.screenshots --heights

Loads the demo workshop into a temporary folder, serves it, and writes OUT/NAME-WIDTH-THEME.png; with --tour
the README's pictures, NAME-WIDTH.png: what fits on the screen, in few colours, of the pages that it tells of.
"""

import argparse
import os
import tempfile
from io import BytesIO
from pathlib import Path

from PIL import Image

from tests.browser.bench import FLAGS, Bench, chromium, prepare, put_to_use, serving, what_is_missing

WIDTHS = {360: 740, 1280: 800}
TALLEST = 2200
"""So much of a long page is shown; the rest of it is more of the same."""

# What is only there once something was asked or done.
ASKED = {
    "read-marking": "/read/?marking=4k7",
    "read-capacitor": "/read/?marking=104",
    "drawers-found": "/drawers/?q=4k7",
    "drawers-nothing": "/drawers/?q=9k99",
}

TOUR = (
    "now", "read-capacitor", "drawers-found", "lot", "board", "strip", "job", "fetch", "safe", "shortages",
    "buy", "harvest", "sheets", "print", "more",
)  # fmt: skip
TOUR_HEIGHTS = {360: 900, 1280: 800}
COLOURS = 48
"""Enough for ink on paper and a picture of a board; a tenth of the bytes."""


def take(bench: Bench, out: Path, only: list[str], *, tour: bool = False) -> int:
    """How many pictures were written."""
    from playwright.sync_api import sync_playwright

    from tests.browser.pages import addresses

    taken = 0
    with sync_playwright() as playwright:
        browser = playwright.chromium.launch(executable_path=chromium(), args=list(FLAGS))
        client = playwright.request.new_context(storage_state=bench.signed_in())
        shown = {name: found[0] for name, found in addresses(bench, client).items()} | ASKED
        # The longest page stands for its kind: here one that was asked to say a passed check anew.
        shown |= {"safe": shown["safe"].partition("?")[0], "safe-anew": shown["safe"]}
        for width, height in WIDTHS.items():
            for theme in ("light",) if tour else ("light", "dark"):
                context = browser.new_context(
                    viewport={"width": width, "height": height}, color_scheme=theme, base_url=bench.url,
                    storage_state=bench.signed_in(),
                )  # fmt: skip
                page = context.new_page()
                for name, address in shown.items():
                    if (only and name not in only) or (tour and name not in TOUR):
                        continue
                    page.set_viewport_size(
                        {"width": width, "height": TOUR_HEIGHTS[width] if tour else height}
                    )
                    page.goto(address)
                    taken += 1
                    if tour:
                        picture = Image.open(BytesIO(page.screenshot()))
                        few = picture.convert("RGB").quantize(COLOURS, dither=Image.Dither.NONE)
                        few.save(out / f"{name}-{width}.png", optimize=True)
                        continue
                    tall = page.evaluate("document.documentElement.scrollHeight")
                    page.set_viewport_size({"width": width, "height": max(height, min(tall, TALLEST))})
                    page.screenshot(path=out / f"{name}-{width}-{theme}.png")
                context.close()
        browser.close()
    return taken


def heights(bench: Bench) -> dict[str, float]:
    """How tall each page is on a phone, in screens, the tallest first."""
    from playwright.sync_api import sync_playwright

    from tests.browser.pages import addresses

    [(width, height), *_wider] = WIDTHS.items()
    tall: dict[str, float] = {}
    with sync_playwright() as playwright:
        browser = playwright.chromium.launch(executable_path=chromium(), args=list(FLAGS))
        client = playwright.request.new_context(storage_state=bench.signed_in())
        page = browser.new_context(
            viewport={"width": width, "height": height}, base_url=bench.url, storage_state=bench.signed_in()
        ).new_page()
        for name, found in ({n: f[0] for n, f in addresses(bench, client).items()} | ASKED).items():
            page.goto(found)
            tall[name] = page.evaluate("document.documentElement.scrollHeight") / height
        browser.close()
    return dict(sorted(tall.items(), key=lambda each: -each[1]))


def main() -> int:
    parser = argparse.ArgumentParser(
        description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter
    )
    parser.add_argument("out", type=Path, nargs="?", default=Path("pictures"))
    parser.add_argument("--heights", action="store_true", help="print how many screens each page is tall")
    parser.add_argument("--only", nargs="+", default=[], metavar="NAME")
    parser.add_argument("--tour", action="store_true", help="the pictures of the README")
    options = parser.parse_args()
    if missing := what_is_missing():
        print(f"no pictures: {missing}")
        return 1
    if not options.heights:
        options.out.mkdir(parents=True, exist_ok=True)
    with tempfile.TemporaryDirectory(prefix="rehome-pictures-") as folder:
        os.environ["REHOME_HOME"] = folder
        os.environ.setdefault("DJANGO_SETTINGS_MODULE", "config.settings")
        import django

        django.setup()
        with serving(put_to_use(prepare(Path(folder)))) as bench:
            if options.heights:
                for name, screens in heights(bench).items():
                    print(f"{screens:6.1f} {name}")
                return 0
            print(f"{take(bench, options.out, options.only, tour=options.tour)} pictures in {options.out}")
    return 0


if __name__ == "__main__":
    raise SystemExit(main())
