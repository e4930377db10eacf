"""Labels for bags and drawers: what stands on each, and how they lie on a sheet."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from decimal import Decimal
from functools import lru_cache
from urllib.parse import urlsplit

import segno
from django.urls import reverse

from inventory.models import Lot, Place
from inventory.places import walking, within

MAX_LABELS = 500
MAX_COPIES = 50
MAX_ADDRESS = 200


@dataclass(frozen=True)
class LabelSheet:
    """A sheet of labels in millimetres, or one label of a roll: the usual ones (common practice, no
    source)."""

    name: str
    paper: str
    across: int
    down: int
    width: Decimal
    height: Decimal
    left: Decimal
    top: Decimal
    gap: Decimal
    """Between two columns; rows lie close."""

    @property
    def on_a_sheet(self) -> int:
        return self.across * self.down

    @property
    def text(self) -> str:
        if self.on_a_sheet == 1:
            return self.paper
        size = f"{self.width.normalize():f} x {self.height.normalize():f} mm"
        return f"{self.paper}, {self.across} x {self.down} labels of {size}"


def _stock(name: str, paper: str, across: int, down: int, *lengths: str) -> LabelSheet:
    width, height, left, top, gap = (Decimal(each) for each in lengths)
    return LabelSheet(name, paper, across, down, width, height, left, top, gap)


STOCKS = {
    stock.name: stock
    for stock in (
        _stock("a4-3x8", "A4", 3, 8, "70", "37", "0", "0.5", "0"),
        _stock("a4-3x7", "A4", 3, 7, "63.5", "38.1", "7.25", "15.15", "2.5"),
        _stock("a4-2x4", "A4", 2, 4, "99", "67.5", "6", "13.5", "0"),
        _stock("roll-57", "roll of labels 57 x 32 mm", 1, 1, "57", "32", "0", "0", "0"),
        _stock("roll-62", "continuous roll of 62 mm, cut at 29 mm", 1, 1, "62", "29", "0", "0", "0"),
        _stock("roll-29", "continuous roll of 29 mm, cut at 90 mm", 1, 1, "90", "29", "0", "0", "0"),
        _stock("letter-3x10", "US Letter", 3, 10, "66.675", "25.4", "4.7625", "12.7", "3.175"),
    )
}


@dataclass(frozen=True)
class Label:
    """The bag label: a value, what it is, where it came from, a mark of condition; and its page's address."""

    value: str
    what: str
    where: str
    condition: str
    number: str
    address: str

    @property
    def size(self) -> str:
        """How large the value can stand so that it is whole on the narrowest stock."""
        return "large" if len(self.value) <= 10 else "medium" if len(self.value) <= 16 else "small"

    @property
    def code(self) -> str:
        return _code(self.address)


@lru_cache(maxsize=2 * MAX_LABELS)
def _code(address: str) -> str:
    """A QR code (ISO/IEC 18004), an SVG that takes the size of what it stands in.

    Kept: each takes 2 ms or more, and a page of labels is looked at again with each change to its form.
    """
    drawn: str = segno.make(address, error="m", micro=False).svg_inline(omitsize=True, svgclass="qr")
    return drawn


def came_from(lot: Lot) -> str:
    """Where the pieces came from, in the bench's words."""
    if lot.origin_board is not None:
        return f"came off {lot.origin_board.name} {lot.origin_ref}".rstrip()
    if lot.origin_source == Lot.Source.UNKNOWN:
        return "nobody knows where it came from"
    bought = lot.origin_source == Lot.Source.BOUGHT
    if not lot.origin_from:
        return "bought" if bought else "given"
    return f"bought from {lot.origin_from}" if bought else f"given by {lot.origin_from}"


def of_lot(lot: Lot, address: str) -> Label:
    """A bag's label."""
    spec = lot.part.spec.spec
    what = lot.part.spec.text + (f", marked {lot.marking}" if lot.marking else "")
    value = spec.value_text or spec.number or spec.kind
    return Label(value, what, came_from(lot), lot.condition, f"lot {lot.pk}", address)


def of_place(place: Place, path: str, address: str) -> Label:
    """A drawer's label: its name large, where it stands, what is said of it."""
    return Label(place.name, path if path != place.name else place.type, place.note, "", "", address)


KINDS = {"bags": "the bags", "drawers": "the drawers"}


def is_address(text: str) -> bool:
    """Whether a code on a label can hold it: the address by which a phone opens the pages."""
    if len(text) > MAX_ADDRESS or not text.isprintable():
        return False
    try:
        parts = urlsplit(text)
        plain = bool(parts.hostname) and not parts.query and parts.port != 0
        return parts.scheme in ("http", "https") and plain
    except ValueError:
        return False


def labels_for(
    *,
    lots: Sequence[int] = (),
    place: int = 0,
    what: str = "bags",
    base: str,
    where: Mapping[int, str],
    most: int = MAX_LABELS,
) -> list[Label]:
    """Of the lots named; else of the bags in a place, or of the drawers within it.

    `base`: the address that the codes lead to, `where`: the paths of places; `most` and one more at most.
    """
    found = Lot.objects.select_related("part__spec", "origin_board").order_by("id")
    if not lots and place not in where:
        return []
    if not lots and what == "drawers":
        kept = Place.objects.filter(pk__in=within([place]), type__in=[Place.Type.DRAWER, Place.Type.TRAY])
        return [
            of_place(each, where[each.pk], f"{base}{reverse('drawers')}?place={each.pk}")
            for each in sorted(kept, key=lambda each: walking(where[each.pk]))[: most + 1]
        ]
    if lots:
        found = found.filter(pk__in=lots)
    else:
        found = found.filter(holdings__place__in=within([place]), holdings__quantity__gt=0).distinct()
    return [of_lot(lot, f"{base}{reverse('lot', args=[lot.pk])}") for lot in found[: most + 1]]


def sheets(labels: Sequence[Label], stock: LabelSheet, start: int = 1) -> list[list[Label | None]]:
    """The labels sheet by sheet, the first of them at position `start`; None is a position left free."""
    cells: list[Label | None] = [None] * (min(max(1, start), stock.on_a_sheet) - 1)
    cells.extend(labels)
    return [cells[at : at + stock.on_a_sheet] for at in range(0, len(cells), stock.on_a_sheet)]
