"""The columns of the buy sheet, with room to note what was ordered.  Pure: no Django."""

from dataclasses import replace

from inventory.sheets.specs import SPEC_COLUMNS
from inventory.sheets.table import Column, Table

BUY = Table(
    (
        Column(
            "part", "Part", "Part id", "Number of a part that the bench knows; blank: the columns further "
            "right say what it is.", figure=True, width=8,
        ),
        Column("what", "What", "Requirement", "Written for you to read.", width=34),
        Column("needed", "Needed", "", "Pieces that jobs lack.", figure=True, width=9),
        Column("pieces", "Pieces", "", "To buy, in whole packs.", figure=True, width=9),
        Column("packs", "Packs", "", "Whole packs.", figure=True, width=8),
        Column("pack_size", "Pack size", "Pack of", "Written for you to read.", figure=True, width=9),
        Column("for_stock", "For stock", "", "Pieces beyond the need.", figure=True, width=9),
        Column(
            "ordered", "Ordered", "Ordered quantity, Order, Quantity, Qty",
            "How many pieces were ordered, not packs.  Blank: none.",
            needed=True, figure=True, width=9, example="10",
        ),
        Column(
            "price", "Price", "Price each, Unit price", "For one piece; blank: the guess that there is.",
            figure=True, width=9, example="0.25",
        ),
        Column("bought_from", "From", "Supplier, Shop, Seller, Vendor", "Who it was ordered from.", width=24),
        Column("cost", "Cost", "", "Of all packs, by the price that was known.", figure=True, width=9),
        Column("postage", "Postage", "", "The line's share.", figure=True, width=9),
        Column("jobs", "Jobs that wait", "", "Written for you to read.", width=50),
        Column("completes", "Completes", "", "Jobs that lack nothing once this line has come.", width=30),
        replace(SPEC_COLUMNS[0], unless="part"),
        *SPEC_COLUMNS[1:],
    )
)  # fmt: skip
