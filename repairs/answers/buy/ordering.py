"""Ordering from the buy list: what is wanted turns into what is on order, and nothing is ordered twice."""

from collections import Counter, defaultdict
from collections.abc import Collection, Iterator, Mapping, Sequence
from dataclasses import dataclass
from decimal import Decimal
from typing import Any

from django.db import transaction
from django.db.models import F

from inventory.ledger import Refused
from inventory.models import Part
from inventory.refusals import Code
from inventory.spec import GRADES, Recorded, Spec, fits
from inventory.spec.recorded import Spot
from repairs.answers.buy.listing import below_levels, wished_parts
from repairs.models import Job, Purchase
from repairs.purchases import keep_the_rest
from repairs.supply_and_demand import planned

State = Purchase.State
PLANNED = GRADES[:3]
MAX_LINES = 500
"""So many lines are ordered at once."""


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


def lock_buy_list() -> None:
    """Let nobody else order until this transaction ends.

    Held before the list is read: of two orders for one part, or of two parts for one line, the later sees the
    earlier.
    """
    list(Job.objects.select_for_update().filter(status=Job.Status.OPEN).order_by("id"))


@transaction.atomic
def order(lines: Sequence[OrderLine]) -> list[Purchase]:
    """Put lines of the list on order: what is wanted already first, the rest as new purchases.

    What the jobs of one person alone lack becomes theirs, what is ordered beyond that everybody's.
    Refused, all of it, where nothing that is short wants a part: somebody may have ordered it just now.
    """
    lock_buy_list()
    locked = list(
        Part.objects.select_for_update(of=("self",))
        .filter(pk__in=[line.part.pk for line in lines])
        .order_by("id")
    )
    assert len(locked) == len({line.part.pk for line in lines})
    serving = _Serving.load()
    gone = [line.part for line in lines if not serving.is_needed(line.part)]
    if gone:
        raise Refused(
            Code.NOT_ON_THE_LIST,
            f"{', '.join(part.name for part in gone)}: not on the buy list; it may have been "
            "ordered just now. To buy it all the same, make a purchase",
            parts=[part.pk for part in gone],
        )
    return [
        purchase for line in lines for purchase in put_on_order(line, serving.lacking_by_owner(line.part))
    ]


@dataclass(frozen=True)
class _Serving:
    """What is short, wanted or below its reorder level: whether there is any use in ordering a part."""

    short: Collection[tuple[Spec, Spot, Counter[int | None]]]
    """What is required, where, and how many pieces whose jobs lack."""
    wished: Collection[int]
    recorded: Recorded

    @classmethod
    def load(cls) -> "_Serving":
        bench, plan = planned()
        lacking = plan.lacking(bench.demands)
        whose: defaultdict[Any, Counter[int | None]] = defaultdict(Counter)
        for demand in lacking:
            whose[demand.spec.key, demand.at][demand.owner] += demand.quantity
        specs = {demand.spec.key: demand.spec for demand in lacking}
        return cls(
            [(specs[key], at, owners) for (key, at), owners in whose.items()],
            {*wished_parts(), *below_levels(bench, plan)},
            bench.recorded,
        )

    def is_needed(self, part: Part) -> bool:
        return part.pk in self.wished or any(self._served(part.spec.spec))

    def lacking_by_owner(self, part: Part) -> Counter[int | None]:
        """Pieces that jobs lack which it serves, by whose the jobs are."""
        lacking: Counter[int | None] = Counter()
        for owners in self._served(part.spec.spec):
            lacking.update(owners)
        return lacking

    def _served(self, offered: Spec) -> Iterator[Counter[int | None]]:
        """What whose jobs lack of each requirement that it serves."""
        return (
            owners
            for required, at, owners in self.short
            if required.kind == offered.kind
            and (required.key == offered.key or self._serves(required, offered, at))
        )

    def _serves(self, required: Spec, offered: Spec, at: Spot) -> bool:
        record = self.recorded.find(required, offered, at) if self.recorded else None
        return fits(required, offered, recorded=record).grade in PLANNED


def put_on_order(line: OrderLine, lacking: Mapping[int | None, int] | None = None) -> list[Purchase]:
    """Order so many pieces: the oldest purchases that want the part first, then what jobs lack beside.

    `lacking` are the pieces that jobs lack, by whose they are: what is wanted for somebody of whom no job
    lacks it comes last.  One that wants more than is ordered stays wanted for the rest.  What is ordered
    beside goes with the last of whoever's it becomes, or is a new purchase.
    """
    lacking = lacking or {}
    left = line.quantity
    wanted = list(
        Purchase.objects.select_for_update(of=("self",))
        .filter(part=line.part, state=State.WANTED)
        .order_by("id")
    )
    serving = [each for each in wanted if each.owner_id is None or each.owner_id in lacking]
    shares: dict[int, int] = {}
    for purchase in serving:
        shares[purchase.pk] = share = min(left, purchase.quantity)
        left -= share
    beside: Counter[int | None] = Counter()
    owner = next(iter(lacking)) if len(lacking) == 1 else None
    beside[owner] = needed = min(left, max(sum(lacking.values()) - sum(shares.values()), 0))
    left -= needed
    for purchase in wanted:
        if purchase not in serving:
            shares[purchase.pk] = share = min(left, purchase.quantity)
            left -= share
    beside[None] += left
    ordered: list[int] = []
    for purchase in reversed(wanted):
        if share := shares[purchase.pk]:
            if share < purchase.quantity:
                keep_the_rest(purchase, purchase.quantity - share, state=State.WANTED, sheet_line="")
            _put_on_order(purchase, share + beside.pop(purchase.owner_id, 0), line)
            ordered.append(purchase.pk)
    for whose, pieces in beside.items():
        if pieces:
            made = Purchase.objects.create(
                part=line.part,
                quantity=pieces,
                price=line.part.price if line.price is None else line.price,
                bought_from=line.bought_from,
                state=State.ORDERED,
                sheet_line=line.sheet_line,
                owner_id=whose,
            )
            ordered.append(made.pk)
    return list(Purchase.objects.select_related("part__spec", "owner").filter(pk__in=ordered).order_by("id"))


def _put_on_order(purchase: Purchase, quantity: int, line: OrderLine) -> None:
    fields: dict[str, Any] = {"quantity": quantity, "state": State.ORDERED}
    if line.price is not None:
        fields["price"] = line.price
    elif purchase.price is None:
        fields["price"] = line.part.price
    if line.bought_from:
        fields["bought_from"] = line.bought_from
    if line.sheet_line:
        fields["sheet_line"] = line.sheet_line
    Purchase.objects.filter(pk=purchase.pk).update(version=F("version") + 1, **fields)
