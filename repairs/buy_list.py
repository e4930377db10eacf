"""The buy list of the bench: what no drawer, donor or order can give the open jobs, and ordering from it.

Prices of parts and purchases are guesses for one piece; on the list they are for packs.  Purchases in state
wanted are on the list already and serve first; ordering from the list uses them up before it makes new ones.
"""

from collections import defaultdict
from collections.abc import Collection, Iterable, Mapping, Sequence
from dataclasses import dataclass
from decimal import Decimal
from typing import Any

from django.db import transaction
from django.db.models import F

from inventory.ledger import Refused
from inventory.models import Part
from inventory.spec import GRADES, Fit, Recorded, Spec, fits
from inventory.spec.recorded import Spot
from repairs.models import Job, Purchase
from repairs.planning.buying import BuyLine, BuyList, OnSale, buy_list
from repairs.supply_and_demand import Line, SupplyAndDemand, Wanting, planned, read_specs

State = Purchase.State
PLANNED = GRADES[:3]
MOST_LINES = 500
"""So many lines are ordered at once."""


@dataclass(frozen=True, slots=True)
class Waiting:
    """One job's share of a line: so many pieces for what it requires; no fit where it is just that."""

    wanting: Wanting
    spec: Spec
    quantity: int
    fit: Fit | None


@dataclass(frozen=True, slots=True)
class Item:
    """One line of the list.  `part` is None where the bench has no such part yet.

    `quantity` pieces are needed, `pieces` come in `packs` whole packs, `for_stock` of them beyond the need;
    `wanted` are asked for by purchases that are not ordered yet.  `price` is for all packs, `price_each` for
    one piece, both None where nobody entered one.
    """

    part: int | None
    name: str
    spec: Spec
    jobs: tuple[Waiting, ...]
    quantity: int
    packs: int
    pack_size: int
    pieces: int
    for_stock: int
    wanted: int
    price_each: Decimal | None
    price: Decimal | None
    postage: Decimal | None
    bought_from: str
    completes: tuple[int, ...]


@dataclass(frozen=True, slots=True)
class Set:
    """A smallest set of lines, by place in the list, and the jobs that lack nothing once they have come."""

    lines: tuple[int, ...]
    price: Decimal | None
    jobs: tuple[int, ...]


@dataclass(frozen=True, slots=True)
class ToBuy:
    """The lines, those that complete a job soonest first; the sets by lines, price and the jobs' rank.

    `price` is None where that of a line is not known; `known_price` is of those that are.
    """

    items: tuple[Item, ...]
    sets: tuple[Set, ...]
    jobs: Mapping[int, str]
    price: Decimal | None
    known_price: Decimal
    postage: Decimal | None


@dataclass(frozen=True, slots=True)
class OrderLine:
    """What to order: pieces of a part.  What is not said stays as the purchase or the part has it.

    `sheet_line` names the line of a sheet that orders it.
    """

    part: Part
    quantity: int
    price: Decimal | None = None
    bought_from: str = ""
    sheet_line: str = ""


def read_postage(text: str) -> Decimal:
    """Postage as it is typed: `3.50`.  ValueError says what is wanted.

    >>> read_postage("3.5")
    Decimal('3.5')
    """
    whole, _, cents = text.partition(".")
    figures = f"{whole}{cents}"
    if not (figures.isascii() and figures.isdigit() and 1 <= len(whole) <= 6 and len(cents) <= 2):
        raise ValueError("want an amount such as 3.50")
    return Decimal(f"{whole}.{cents or 0}")


def to_buy(
    jobs: Collection[int] | None = None,
    *,
    postage: Decimal | None = None,
    borrow: bool = False,
    ask: bool = False,
) -> ToBuy:
    """What is left to buy after the best use of everything free, for all open jobs or for those named.

    The plan behind it is always over all open jobs; `borrow` also draws on working boards, `ask` on pieces
    that a person must decide on.  `postage` for the whole order is shared by price.  Without `jobs` the list
    also has what is wanted for stock.
    """
    bench, plan = planned(borrow=borrow, ask=ask)
    short = plan.lacking(bench.demands)
    wished = _Wished.load()
    shelf = _Shelf.load({demand.spec.kind for demand in short}, wished)
    found = buy_list(
        short, shelf.on_sale, postage=postage, wished=wished.pieces, jobs=jobs, recorded=bench.recorded
    )
    return _told(found, bench, shelf, wished)


@dataclass(frozen=True)
class _Wished:
    """What purchases ask for that are not ordered yet, by part: pieces, a price, a supplier."""

    pieces: Mapping[int, int]
    price: Mapping[int, Decimal]
    bought_from: Mapping[int, str]

    @classmethod
    def load(cls) -> "_Wished":
        pieces: defaultdict[int, int] = defaultdict(int)
        price: dict[int, Decimal] = {}
        bought_from: dict[int, str] = {}
        for part, quantity, each, giver in (
            Purchase.objects.filter(state=State.WANTED)
            .order_by("id")
            .values_list("part_id", "quantity", "price", "bought_from")
        ):
            pieces[part] += quantity
            if each is not None:
                price[part] = each
            if giver:
                bought_from[part] = giver
        return cls(pieces, price, bought_from)


@dataclass(frozen=True)
class _Shelf:
    """Every part of the kinds that are short, as it can be bought, and what the bench calls it."""

    on_sale: Sequence[OnSale]
    names: Mapping[int, str]
    price_each: Mapping[int, Decimal | None]

    @classmethod
    def load(cls, kinds: Collection[str], wished: _Wished) -> "_Shelf":
        columns = "id", "name", "spec_id", "price", "pack_size"
        rows = {row[0]: row for row in Part.objects.filter(spec__kind__in=kinds).values_list(*columns)}
        rows |= {row[0]: row for row in Part.objects.filter(pk__in=wished.pieces).values_list(*columns)}
        specs = read_specs({row[2] for row in rows.values()})
        each = {part: wished.price.get(part, price) for part, _, _, price, _ in rows.values()}
        on_sale = [
            OnSale(part, specs[spec], _of_pack(each[part], pack_size), pack_size)
            for part, _, spec, _, pack_size in rows.values()
        ]
        return cls(on_sale, {part: name for part, name, *_ in rows.values()}, each)


def _of_pack(each: Decimal | None, pack_size: int) -> Decimal | None:
    return None if each is None else each * pack_size


def _told(found: BuyList, bench: SupplyAndDemand, shelf: _Shelf, wished: _Wished) -> ToBuy:
    soonest = {
        line: rank for rank, each in reversed(list(enumerate(found.completions))) for line in each.lines
    }
    order = sorted(range(len(found.lines)), key=lambda line: (soonest.get(line, len(soonest)), line))
    place = {line: at for at, line in enumerate(order)}
    suppliers = {
        **_last_suppliers(line.part for line in found.lines if line.part is not None),
        **wished.bought_from,
    }
    items = tuple(_item(found.lines[line], bench.lines, shelf, suppliers) for line in order)
    return ToBuy(
        items,
        tuple(
            Set(tuple(sorted(place[n] for n in each.lines)), each.price, each.jobs)
            for each in found.completions
        ),
        {job: name for job, (name, _, _) in bench.jobs.items()},
        found.price,
        sum((item.price for item in items if item.price is not None), Decimal(0)),
        found.postage,
    )


def _item(line: BuyLine, lines: Mapping[Line, Wanting], shelf: _Shelf, suppliers: Mapping[int, str]) -> Item:
    return Item(
        part=line.part,
        name=line.spec.text if line.part is None else shelf.names[line.part],
        spec=line.spec,
        jobs=tuple(
            Waiting(lines[each.demand.id], each.demand.spec, each.demand.quantity, each.fit)
            for each in sorted(line.serves, key=lambda each: (each.demand.rank, each.demand.id))
        ),
        quantity=line.quantity,
        packs=line.packs,
        pack_size=line.pack_size,
        pieces=line.packs * line.pack_size,
        for_stock=line.for_stock,
        wanted=line.wished,
        price_each=None if line.part is None else shelf.price_each[line.part],
        price=line.price,
        postage=line.postage,
        bought_from="" if line.part is None else suppliers.get(line.part, ""),
        completes=line.completes,
    )


def _last_suppliers(parts: Iterable[int]) -> dict[int, str]:
    """Who each part was bought from last."""
    bought = Purchase.objects.filter(part__in=list(parts)).exclude(bought_from="").order_by("id")
    return dict(bought.values_list("part_id", "bought_from"))


# --- ordering


def hold_the_list() -> None:
    """Let nobody else order until this transaction ends.

    Held before the list is read: of two orders for one part, or of two parts for one line, the later sees the
    earlier.
    """
    list(Job.objects.select_for_update().filter(status=Job.Status.OPEN).order_by("id"))


@transaction.atomic
def order(lines: Sequence[OrderLine]) -> list[Purchase]:
    """Put lines of the list on order: what is wanted already first, the rest as new purchases.

    Refused, all of it, where nothing that is short wants a part: somebody may have ordered it just now.
    """
    hold_the_list()
    locked = list(
        Part.objects.select_for_update(of=("self",))
        .filter(pk__in=[line.part.pk for line in lines])
        .order_by("id")
    )
    assert len(locked) == len({line.part.pk for line in lines})
    serving = _Serving.load()
    gone = [line.part for line in lines if not serving.wants(line.part)]
    if gone:
        raise Refused(
            "not_on_the_list",
            f"{', '.join(part.name for part in gone)}: nothing on the buy list wants it; it may have been "
            "ordered just now. To buy it all the same, make a purchase",
            parts=[part.pk for part in gone],
        )
    return [purchase for line in lines for purchase in put_on_order(line)]


@dataclass(frozen=True)
class _Serving:
    """What is short and what is wanted: whether there is any use in ordering a part."""

    short: Collection[tuple[Spec, Spot]]
    wished: Collection[int]
    recorded: Recorded

    @classmethod
    def load(cls) -> "_Serving":
        bench, plan = planned()
        lacking = plan.lacking(bench.demands)
        return cls(
            {(demand.spec.key, demand.at): (demand.spec, demand.at) for demand in lacking}.values(),
            _Wished.load().pieces.keys(),
            bench.recorded,
        )

    def wants(self, part: Part) -> bool:
        offered = part.spec.spec
        return part.pk in self.wished or any(
            required.key == offered.key or self._serves(required, offered, at)
            for required, at in self.short
            if required.kind == offered.kind
        )

    def _serves(self, required: Spec, offered: Spec, at: Spot) -> bool:
        said = self.recorded.find(required, offered, at) if self.recorded else None
        return fits(required, offered, recorded=said).grade in PLANNED


def put_on_order(line: OrderLine) -> list[Purchase]:
    """Order so many pieces: the oldest purchases that want the part first.

    One that wants more than is ordered stays wanted for the rest; what is ordered beyond all of them goes
    with the last, or is a new purchase.
    """
    left = line.quantity
    ordered: list[Purchase] = []
    wanted = list(
        Purchase.objects.select_for_update(of=("self",))
        .filter(part=line.part, state=State.WANTED)
        .order_by("id")
    )
    for number, purchase in enumerate(wanted):
        if not left:
            break
        last = number == len(wanted) - 1
        share = left if last else min(left, purchase.quantity)
        if share < purchase.quantity:
            _wanted_still(purchase, purchase.quantity - share)
        said: dict[str, Any] = {"quantity": share, "state": State.ORDERED}
        if line.price is not None:
            said["price"] = line.price
        elif purchase.price is None:
            said["price"] = line.part.price
        if line.bought_from:
            said["bought_from"] = line.bought_from
        if line.sheet_line:
            said["sheet_line"] = line.sheet_line
        Purchase.objects.filter(pk=purchase.pk).update(version=F("version") + 1, **said)
        ordered.append(purchase)
        left -= share
    if left:
        ordered.append(
            Purchase.objects.create(
                part=line.part,
                quantity=left,
                price=line.part.price if line.price is None else line.price,
                bought_from=line.bought_from,
                state=State.ORDERED,
                sheet_line=line.sheet_line,
            )
        )
    return list(
        Purchase.objects.select_related("part__spec").filter(pk__in=[p.pk for p in ordered]).order_by("id")
    )


def _wanted_still(purchase: Purchase, quantity: int) -> None:
    Purchase.objects.create(
        part_id=purchase.part_id,
        quantity=quantity,
        bought_from=purchase.bought_from,
        price=purchase.price,
        state=State.WANTED,
        note=purchase.note,
    )
