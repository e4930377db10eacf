"""The buy sheet: its columns, and what it remembers of how things were.  Pure: no Django."""

import re
from dataclasses import dataclass, replace
from decimal import Decimal
from typing import Self

from inventory.sheets.specs import SPEC_COLUMNS
from inventory.sheets.table import Column, Table, plain

SETS, OPEN_QUESTIONS, ASK_FRIENDS = "What completes jobs", "Needs an answer", "Ask friends"
LONGEST_FROM = 200
ORDERED, RECEIVED = "ordered", "received"
STATES = {plain(word): word for word in (ORDERED, RECEIVED)} | {
    "order": ORDERED, "onorder": ORDERED, "onitsway": ORDERED, "bought": ORDERED,
    "came": RECEIVED, "arrived": RECEIVED, "here": RECEIVED,
}  # fmt: skip

BUY = Table(
    (
        Column(
            "purchase", "Purchase", "Purchase id, Purchase number",
            "Number of what is on order already: the row changes or receives it.  Blank: a line to order.",
            figure=True, ours=True, width=9,
        ),
        Column(
            "part", "Part", "Part id", "Number of a part that the bench knows; blank: the columns further "
            "right say what it is.", figure=True, width=8,
        ),
        Column("what", "What", "Requirement", "Written for you to read.", ours=True, width=44),
        Column("needed", "Needed", "", "Pieces that jobs lack.", figure=True, ours=True, width=9),
        Column(
            "pieces", "Pieces", "Quantity, Qty, Ordered, Ordered quantity",
            "How many pieces to order, not packs.  With received: how many came; of fewer than ordered the "
            "rest stays on order.",
            needed=True, figure=True, width=9, example="10",
        ),
        Column(
            "state", "State", "Status, Mark",
            "ordered, or received.  Blank: the line is not dealt with yet, and nothing is done.",
            needed=True, choices=(ORDERED, RECEIVED), width=10, example=ORDERED,
        ),
        Column(
            "price", "Price", "Price each, Unit price", "For one piece; blank: the guess that there is.",
            figure=True, width=9, example="0.25",
        ),
        Column("bought_from", "From", "Supplier, Shop, Seller, Vendor", "Who it is ordered from.", width=18),
        Column(
            "place", "Place", "Put in, Location, Where, Drawer, Bin, Storage",
            "Drawer or tray that what came is put in, from the outside in with / between.  A place that is "
            "not there is made.",
            width=20,
        ),
        Column("packs", "Packs", "", "Whole packs.", figure=True, ours=True, width=8),
        Column(
            "pack_size", "Pack size", "Pack of", "Written for you to read.", figure=True, ours=True, width=9
        ),
        Column("for_stock", "For stock", "", "Pieces beyond the need.", figure=True, ours=True, width=9),
        Column(
            "cost", "Cost", "", "Of all packs, by the price that was known.", figure=True, ours=True, width=9
        ),
        Column("postage", "Postage", "", "The line's share.", figure=True, ours=True, width=9),
        Column("jobs", "Jobs that wait", "", "Written for you to read.", ours=True, width=34),
        Column(
            "completes", "Completes", "", "Jobs that lack nothing once this line has come.", ours=True,
            width=22,
        ),
        replace(SPEC_COLUMNS[0], unless="part"),
        *SPEC_COLUMNS[1:],
        Column(
            "written", "As written", "",
            "Leave this as it is: it says which line of which list this is, so that a sheet that comes in "
            "twice orders once.",
            ours=True, width=28,
        ),
    ),
    on_paper="completes",
)  # fmt: skip


@dataclass(frozen=True, slots=True)
class ListLine:
    """A line of one written list: what it orders is known by it when the sheet comes in again.

    >>> str(ListLine("3f9a1c2e", 4))
    'list 3f9a1c2e, line 4'
    """

    mark: str
    number: int

    def __str__(self) -> str:
        return f"list {self.mark}, line {self.number}"


@dataclass(frozen=True, slots=True)
class Written:
    """How a purchase was when the sheet was written.

    >>> str(Written(2, 4, Decimal("0.8500"), "Harbour Radio"))
    'v2: 4 at 0.85 from Harbour Radio'
    >>> Written.read("v2: 4 at 0.85 from Harbour Radio").quantity
    4
    """

    version: int
    quantity: int
    price: Decimal | None
    bought_from: str

    def __str__(self) -> str:
        price = "" if self.price is None else f" at {self.price.normalize():f}"
        giver = self.bought_from.strip()
        return f"v{self.version}: {self.quantity}{price}{f' from {giver}' if giver else ''}"

    @classmethod
    def read(cls, text: str) -> Self | None:
        """None where the text is none that we wrote."""
        found = _WRITTEN.fullmatch(text)
        if found is None:
            return None
        price = Decimal(found[3]) if found[3] else None
        return cls(int(found[1]), int(found[2]), price, found[4] or "")


_WRITTEN = re.compile(r"v([0-9]{1,9}): ([0-9]{1,10})(?: at ([0-9.]{1,14}))?(?: from (.+))?", re.DOTALL)
