"""The whole job through the pages alone: from an empty bench to a board that is safe to switch on.

At a desk by keyboard, on a phone by touch, and without any script.  The drawing, its parts and readings are
invented.
"""

import re
from collections.abc import Iterator
from io import BytesIO
from pathlib import Path

import pytest
from openpyxl import Workbook
from playwright.sync_api import Locator, Page, expect

from tests.browser.bench import PHONE, Bench, prepare_empty, serving
from tests.browser.conftest import Open

DESIGN = "Plover tone generator"
HEADINGS = (
    "Design", "Revision", "Ref", "Kind", "Number", "Value", "Tolerance", "Volts", "Watts", "Dielectric",
    "Package", "Lead style", "Polarised", "Socketed",
)  # fmt: skip
RESISTORS = {"R1": "10k", "R2": "4k7", "R3": "100k", "R4": "1k", "R5": "2k2"}
OTHERS = (
    ("C1", "capacitor", "", "100u", "20%", "16", "", "aluminium", "", "radial", "yes", "no"),
    ("C2", "capacitor", "", "100n", "10%", "50", "", "class2", "", "radial", "no", "no"),
    ("D1", "diode", "1N4148", "", "", "", "", "", "", "axial", "", "no"),
    ("IC1", "ic", "555", "", "", "", "", "", "DIP-8", "", "", "yes"),
)
STOCK = """Kind,Value,Tolerance,Watts,Lead style,Quantity,Place,Condition
resistor,100k,5%,0.25,axial,{},Cabinet / Drawer 1,good
resistor,1k,5%,0.25,axial,3,Cabinet / Drawer 2,good
resistor,2k2,5%,0.25,axial,2,Cabinet / Drawer 3,good
"""
HOW = {
    "keyboard": {},
    "touch": PHONE,
    "no script": {"java_script_enabled": False},
}


def drawing() -> bytes:
    """The workbook of the drawing: parts, a link that depends on what is fitted, a rail that protects it."""
    book = Workbook()
    sheets = {"Positions": book.active, **{name: book.create_sheet(name) for name in ("Links", "Rails")}}
    sheets["Positions"].append(HEADINGS)
    for row in OTHERS:
        sheets["Positions"].append((DESIGN, "A", *row))
    for ref, value in RESISTORS.items():
        sheets["Positions"].append(
            (DESIGN, "A", ref, "resistor", "", value, "5%", "", "0.25", "", "", "axial", "", "no")
        )
    sheets["Links"].append(("Design", "Revision", "Link", "Purpose", "Settings", "Setting", "When"))
    sheets["Links"].append((DESIGN, "A", "LK1", "timer sort", "1-2, 2-3", "1-2", "ref=IC1; number=555"))
    sheets["Rails"].append(("Design", "Revision", "Rail", "Nominal", "Low", "High", "Order", "Protects"))
    sheets["Rails"].append((DESIGN, "A", "+9V", "9", "8", "10", "1", "IC1"))
    file = BytesIO()
    book.save(file)
    return file.getvalue()


@pytest.fixture
def empty(tmp_path: Path) -> Iterator[Bench]:
    with serving(prepare_empty(tmp_path)) as bench:
        yield bench


class Person:
    """Somebody in front of the pages, with a pointer, a thumb or the keyboard."""

    def __init__(self, page: Page, how: str) -> None:
        self.page, self.how = page, how

    def press(self, what: Locator) -> None:
        """Press what leads to another page, or to this one anew."""
        with self.page.expect_navigation():
            self.touch(what)

    def touch(self, what: Locator) -> None:
        if self.how == "touch":
            what.tap()
        else:
            what.click()

    def button(self, name: str, within: Locator | None = None) -> None:
        self.press((within or self.page).get_by_role("button", name=name).first)

    def tab(self, name: str) -> None:
        link = self.page.get_by_role("navigation").get_by_role("link", name=name, exact=True)
        if not link.is_visible():  # on a phone the page More leads to it
            self.press(self.page.get_by_role("navigation").get_by_role("link", name="More", exact=True))
            link = self.page.locator("main").get_by_role("link", name=re.compile(f"^{name}"))
        self.press(link)

    def open(self, name: str, tab: str) -> None:
        self.tab(tab)
        self.press(self.page.get_by_role("link", name=name).first)

    def is_shown(self, text: str) -> None:
        expect(self.page.locator("main")).to_contain_text(text)

    def reads(self, marking: str) -> None:
        self.tab("Read")
        self.page.get_by_label("What can you make out?").fill(marking)
        self.touch(self.page.get_by_role("button", name="What could it be?").first)
        expect(self.page.get_by_role("heading", name=marking).first).to_be_visible()

    # --- spreadsheets

    def look_at_sheet(self, name: str, content: bytes, kind: str) -> None:
        self.tab("Sheets")
        self.page.get_by_label(".xlsx or .csv").set_input_files(
            {"name": name, "mimeType": "application/octet-stream", "buffer": content}
        )
        self.page.get_by_label(kind).check()
        self.touch(self.page.get_by_role("button", name="Show what it would do"))

    def import_it(self) -> None:
        """The answer takes the place of the page; without a script it is another."""
        self.touch(self.page.get_by_role("button", name="Import it"))

    # --- boards

    def register(self, name: str, purpose: str, *, whole: bool) -> None:
        self.tab("Boards")
        self.page.get_by_label("What do you call it?").fill(name)
        self.page.get_by_label("What is it here for?").select_option(label=purpose)
        self.page.get_by_label("Design", exact=True).select_option(label=f"{DESIGN} A")
        if whole:
            self.page.get_by_label("Every part of the design is still on it").check()
        self.button("Register it")
        self.is_shown(f"{name} is registered")

    def lift(self, board: str, judged: dict[str, str]) -> None:
        """Strip these references, in the order that the session offers them."""
        self.open(board, "Boards")
        self.press(self.page.get_by_role("link", name=re.compile("Lift parts")))
        for ref, judgement in judged.items():
            expect(self.page.locator(".label .value").first).to_have_text(ref)
            if self.how == "keyboard":
                self.page.keyboard.press(judgement[0].lower())
            else:
                self.button(judgement)
            self.is_shown(f"{ref} is in")

    # --- jobs

    def fit(self, ref: str) -> None:
        self.open("Plover rebuild", "Jobs")
        self.press(self.page.get_by_role("link", name="Fetch and fit").first)
        here = self.page.get_by_label("The next one").get_by_role("heading")
        while here.inner_text() != ref:
            self.button("Later")
        self.button("It is fitted")
        self.is_shown(f"{ref} is fitted")

    # --- safe to switch on?

    def safe(self) -> None:
        self.open("Plover, to mend", "Boards")
        self.press(self.page.get_by_role("link", name="Safe to switch on?").first)

    def verdict(self) -> str:
        """The words of the verdict, without the shape that says the same."""
        return self.page.locator(".verdict .value").inner_text().lstrip("○✕● ")

    def check(self, title: str) -> Locator:
        """The checks of this title, their step unfolded."""
        heading = self.page.locator("h3", has_text=re.compile(rf"^\s*{re.escape(title)}"))
        folded = self.page.locator("details.step:not([open])").filter(has=heading)
        if folded.count():
            self.touch(folded.first.locator("> summary"))
        return self.page.locator("section.check").filter(has=heading)

    def read_rail(self, title: str, reading: str) -> None:
        here = self.check(title).first
        for box in here.get_by_role("checkbox").all():
            if box.is_visible():
                box.check()
        here.get_by_label("The meter says").fill(reading)
        self.button("Write it down", here)


def bring_in(person: Person) -> None:
    """The first page of an empty bench leads to the sheets; a bad cell is caught on the way."""
    page = person.page
    page.goto("/")
    person.press(page.get_by_role("link", name=re.compile("With a list")))
    person.look_at_sheet("plover.xlsx", drawing(), "the parts of a design")
    person.import_it()
    person.is_shown("plover.xlsx is imported")
    person.look_at_sheet("stock.csv", STOCK.format("lots").encode(), "what is in the drawers")
    person.is_shown("1 cell cannot be imported. Nothing was changed")
    expect(page.locator("mark")).to_have_text("lots")
    person.look_at_sheet("stock.csv", STOCK.format(4).encode(), "what is in the drawers")
    person.is_shown("3 rows: 3 new")
    person.import_it()
    person.is_shown("stock.csv is imported: 3 new")


def gather(person: Person) -> None:
    """Strip a donor of five, open the job, read an unknown part and promise it, and see what is short."""
    page = person.page
    person.register("Plover, cracked", "to strip", whole=True)
    person.register("Plover, to mend", "to mend", whole=False)
    person.lift("Plover, cracked", {"C1": "Good", "C2": "Good", "D1": "Good", "IC1": "Good", "R1": "Bad"})
    person.tab("Jobs")
    page.get_by_label("What will you mend?").fill("Plover rebuild")
    page.get_by_label("On which board?").select_option(label="Plover, to mend")
    page.get_by_label("Which references").fill("all")
    person.button("Open the job")
    person.is_shown("Plover rebuild is open")

    person.reads("4k7")
    person.button("Reserve it for Plover rebuild R2")
    person.is_shown("reserved for Plover rebuild R2")

    person.tab("Shortages")
    row = page.locator("tr").filter(has_text="10k 5 %")
    expect(row).to_contain_text("Plover rebuild")
    expect(page.locator("main")).to_contain_text("1 short")
    person.reads("10k")
    person.button("Reserve it for Plover rebuild R1")
    person.open("Plover rebuild", "Jobs")
    person.button("Reserve what is free")
    person.is_shown("Nothing is lacking")


def make_safe(person: Person) -> None:
    """Each fault is caught where it stands in the way; the board is ready when nothing does any more."""
    person.safe()
    assert person.verdict() == "Not yet"
    # One that was put in the wrong way round: it comes out and goes in again.
    seen = person.check("Which way round")
    expect(seen.first).to_be_visible()
    person.touch(seen.first.locator("summary", has_text="is wrong"))
    for box in seen.first.get_by_role("checkbox").all():
        box.set_checked(box.get_attribute("value") == "C1")
    person.button("Wrong way round", seen.first)
    assert person.verdict() == "Stop"
    expect(person.check("Which way round").first).to_contain_text("C1")
    person.open("Plover, to mend", "Boards")
    person.press(person.page.get_by_role("link", name=re.compile("Lift parts")))
    expect(person.page.locator(".label .value").first).to_have_text("C1")
    person.button("Good")
    person.open("Plover rebuild", "Jobs")
    person.button("Reserve what is free")
    person.fit("C1")
    person.safe()
    assert person.verdict() == "Not yet"

    # The rail is missing: what it protects stays out.
    settle(person, until="Volts, chips out")
    person.read_rail("Volts, chips out", "0.1 V")
    assert person.verdict() == "Stop"
    person.read_rail("Volts, chips out", "9.1 V")
    assert person.verdict() == "Not yet"
    person.fit("IC1")
    # The link stands for another sort of chip.
    person.safe()
    person.button("2-3", person.check("Wire links LK1"))
    assert person.verdict() == "Stop"
    expect(person.check("Wire links LK1")).to_contain_text("555")
    person.button("1-2", person.check("Wire links LK1"))
    settle(person)
    assert person.verdict() == "Ready to switch on, 4 accepted by robin"  # those that settle() accepted


READINGS = {
    "Ohms to ground": "1k2",
    "Ohms, chips in": "1k2",
    "Volts, chips out": "9.1 V",
    "Volts at the pins": "9.0 V",
}


def settle(person: Person, until: str = "") -> None:
    """Answer every check as one would who finds all in order, in the order of bringing up."""
    for _round in range(30):
        open_checks = person.page.locator("section.check")
        headings = open_checks.locator("h3").all_text_contents()
        titles = [" ".join(heading.split()) for heading in headings]
        todo = [title for title in titles if not title.startswith("Positions filled")]
        if not todo or (until and todo[0].startswith(until)):
            return
        here = person.check(todo[0]).first
        reading = next((reading for start, reading in READINGS.items() if todo[0].startswith(start)), "")
        if reading:
            person.read_rail(todo[0], reading)
        elif todo[0].startswith("Which way round"):
            person.press(here.get_by_role("button", name=re.compile("seen, and right|Right way round")).first)
        elif todo[0].startswith("Wire links"):
            person.button("1-2", here)
        elif here.get_by_role("button", name="In order").count():
            person.button("In order", here)
        else:
            person.touch(here.locator("summary", has_text="Leave it as it is"))
            for box in here.get_by_role("checkbox").all():
                box.check()
            here.get_by_label("Why").fill("measured in the hand today")
            person.button("Accept it under my name", here)
    raise AssertionError(f"still open: {titles}")


@pytest.mark.parametrize("how", HOW)
def test_a_board_is_mended_through_the_pages_alone(empty: Bench, look: Open, how: str) -> None:
    person = Person(look(empty, **HOW[how]), how)
    bring_in(person)
    gather(person)
    for ref in ("C1", "C2", "D1", *RESISTORS):
        person.fit(ref)
    person.open("Plover, to mend", "Boards")
    person.page.locator("#ref-C1").evaluate(
        "each => { const fold = each.closest('details'); if (fold) fold.open = true; }"
    )
    person.press(person.page.locator("#ref-C1 td a").first)
    person.is_shown("came off Plover, cracked C1")
    make_safe(person)
    assert "everything agrees" in empty.command("audit")
