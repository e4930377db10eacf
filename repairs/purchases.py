"""Buying: wanted, ordered, received; what is received becomes a lot."""

from collections import Counter
from collections.abc import Collection
from typing import Any

from django.contrib.auth.models import User
from django.db import transaction
from django.db.models import F
from django.db.models.functions import Coalesce

from inventory import ledger, ownership
from inventory.ledger import Actor, Arrival, Origin, Refused, Spot
from inventory.models import Lot
from inventory.refusals import Code
from inventory.roles import OWNER, may_act_as
from repairs.models import Job, Purchase
from repairs.planning import Tier
from repairs.supply_and_demand import EVERYBODY, planned

State = Purchase.State
_SAID_OF_IT = ("price", "bought_from", "note")
"""What may be said of a purchase without changing what arrives."""
_FIXED = ("part", "quantity", "state", "bought_from", "owner")
"""What cannot change any more of what was received."""


@transaction.atomic
def receive(purchase: Purchase, to: Spot, *, by: Actor, quantity: int | None = None) -> Purchase:
    """The pieces arrived: they become a lot at a place, whose the purchase is.  Fewer than ordered leaves the
    rest on order."""
    purchase = _locked(purchase)
    if purchase.state == State.RECEIVED:
        raise Refused(Code.RECEIVED_ALREADY, f"{purchase} was received before", lot=purchase.lot_id)
    arrived = quantity if quantity is not None else purchase.quantity
    if not arrived >= 1:
        raise Refused(Code.OUT_OF_RANGE, f"at least one piece is received, not {arrived}")
    line = ledger.receive(
        Arrival(
            part=purchase.part,
            quantity=arrived,
            to=to,
            origin=Origin(source=Lot.Source.BOUGHT, giver=purchase.bought_from),
            owner=purchase.owner,
        ),
        by=by,
    )
    if arrived < purchase.quantity:
        keep_the_rest(purchase, purchase.quantity - arrived, state=State.ORDERED)
    Purchase.objects.filter(pk=purchase.pk).update(
        state=State.RECEIVED,
        quantity=arrived,
        ordered=purchase.quantity if arrived > purchase.quantity else None,
        lot_id=line.lot_id,
        place_id=to.place_id,
        version=F("version") + 1,
    )
    purchase.refresh_from_db()
    return purchase


def _locked(purchase: Purchase) -> Purchase:
    """The purchase as it is now.  Refused (`gone`) where it was cancelled since it was read."""
    rows = Purchase.objects.select_for_update(of=("self",)).select_related("part", "owner")
    there = rows.filter(pk=purchase.pk).first()
    if there is None:
        raise Refused(Code.GONE, f"{purchase} was cancelled meanwhile")
    return there


def keep_the_rest(purchase: Purchase, quantity: int, **otherwise: Any) -> None:
    """So many pieces of a purchase as one of their own, alike but for what is said `otherwise`."""
    alike = ("part_id", "price", "bought_from", "note", "sheet_line", "owner_id")
    Purchase.objects.create(
        quantity=quantity, **{**{name: getattr(purchase, name) for name in alike}, **otherwise}
    )


def take_back_arrival(lot_id: int) -> None:
    """The receiving of this lot was undone: what was bought is on order again."""
    Purchase.objects.filter(lot=lot_id).update(
        state=State.ORDERED,
        quantity=Coalesce(F("ordered"), F("quantity")),
        ordered=None,
        lot=None,
        place=None,
        version=F("version") + 1,
    )


def refuse_change(purchase: Purchase, *, by: Actor, **columns: Any) -> None:
    """Refused where a change would belie the lot that a purchase became; price and note may change.

    Refused (`not_yours`) where another's order would be changed, but an owner of the bench puts price, seller
    and note right, and where it would become another's or nobody's.
    """
    changed = {name for name, value in columns.items() if value != getattr(purchase, name)}
    if not changed <= {"owner", *_SAID_OF_IT} or (changed - {"owner"} and not _of_bench(by)):
        _refuse_anothers(purchase, by, "changes it")
    if "owner" in changed:
        _refuse_handing_on(purchase, columns["owner"], by)
    fixed = [name for name in _FIXED if name in changed]
    if purchase.state == State.RECEIVED and fixed:
        raise Refused(
            Code.RECEIVED_ALREADY,
            f"{purchase} was received as lot {purchase.lot_id}: {', '.join(fixed)} cannot change any more",
            lot=purchase.lot_id,
        )


@transaction.atomic
def hand_on(purchase: Purchase, to: User | None, *, by: Actor) -> None:
    """What is wanted or on order is for another now, or for everybody.  Refused as by `refuse_change`."""
    purchase = _locked(purchase)
    refuse_change(purchase, by=by, owner=to)
    Purchase.objects.filter(pk=purchase.pk).update(owner=to, version=F("version") + 1)


def who_alone(owner: User) -> str:
    """Who alone may cancel or change what is bought for them."""
    return owner.username if ownership.is_here(owner) else "an owner of the bench"


def _of_bench(by: Actor) -> bool:
    return by is not None and may_act_as(by, OWNER)


def _refuse_anothers(purchase: Purchase, by: Actor, what: str) -> None:
    owner = purchase.owner
    if owner is not None and not ownership.may_dispose(owner, by):
        raise Refused(
            Code.NOT_YOURS, f"{purchase} is bought for {owner.username}: only {who_alone(owner)} {what}",
            owner=owner.username, row=purchase.pk,
        )  # fmt: skip


def _refuse_handing_on(purchase: Purchase, to: User | None, by: Actor) -> None:
    """As with jobs, an owner of the bench may; what is on order for everybody's jobs nobody takes."""
    if not _of_bench(by):
        _refuse_anothers(purchase, by, "hands it on")
    if to is None:
        return
    refuse_in_the_name_of(to, by=by)
    if purchase.owner is None and (jobs := _jobs_of_others(purchase, to)):
        raise Refused(
            Code.NOT_YOURS, f"{purchase} is on order for {', '.join(jobs)} too: it stays everybody's",
            row=purchase.pk,
        )  # fmt: skip


def refuse_in_the_name_of(to: User | None, *, by: Actor) -> None:
    """Refused (`not_yours`) where what is bought would be another's: they alone say so, or an owner of the
    bench."""
    if to is None or to == by or _of_bench(by):
        return
    raise Refused(
        Code.NOT_YOURS,
        f"what is bought becomes {to.username}'s by {to.username} alone, or by an owner of the bench",
        owner=to.username,
    )


def may_become(purchase: Purchase, by: User, people: Collection[User]) -> list[User]:
    """Of those who do the work, for whom `by` may say that it is bought, beside everybody; none where nobody
    else could own anything."""
    if len(people) < 2 and purchase.owner is None:
        return []
    if may_act_as(by, OWNER):
        left = purchase.owner if purchase.owner not in people else None
        return [*people, left] if left is not None else [*people]
    return [by] if ownership.may_dispose(purchase.owner, by) else []


def _jobs_of_others(purchase: Purchase, to: User) -> list[str]:
    """Names of the jobs, not theirs, that count on what is on order of its part for everybody."""
    if purchase.state != State.ORDERED:
        return []
    bench, plan = planned()
    named = {
        take.demand.job: bench.jobs[take.demand.job][0]
        for take in plan.takes
        if take.tier == Tier.ON_ORDER
        and take.supply.part == purchase.part_id
        and take.supply.owner == EVERYBODY
        and bench.owners.get(take.demand.job) != to.pk
    }
    return [*named.values()]


def hand_over(person: User, to: User | None) -> None:
    """What is wanted or on order for a person is for another now, or for everybody."""
    coming = Purchase.objects.filter(owner=person).exclude(state=State.RECEIVED)
    coming.update(owner=to, version=F("version") + 1)


def follow_job(job: Job, to: User | None) -> None:
    """What is on order for its owner and the plan gives to this job is for its new owner, piece by piece, or
    it would be ordered again; to be called before the job changes hands."""
    takes = planned().plan.takes
    left: Counter[int] = Counter()
    for take in takes:
        if take.tier == Tier.ON_ORDER and take.demand.job == job.pk and take.supply.owner == job.owner_id:
            left[take.supply.part] += take.quantity
    bought = Purchase.objects.select_for_update(of=("self",)).order_by("id")
    for purchase in bought.filter(owner=job.owner_id, state=State.ORDERED, part__in=sorted(left)):
        pieces = min(left[purchase.part_id], purchase.quantity)
        left[purchase.part_id] -= pieces
        if not pieces:
            continue
        if pieces < purchase.quantity:
            keep_the_rest(purchase, purchase.quantity - pieces, state=State.ORDERED)
        Purchase.objects.filter(pk=purchase.pk).update(owner=to, quantity=pieces, version=F("version") + 1)


@transaction.atomic
def cancel(purchase: Purchase, *, by: Actor) -> None:
    """Take a purchase that was not received off the list.  Refused (`not_yours`): another's."""
    try:
        purchase = _locked(purchase)
    except Refused:
        return
    _refuse_anothers(purchase, by, "cancels it")
    if purchase.state == State.RECEIVED:
        raise Refused(
            Code.RECEIVED_ALREADY, f"{purchase} was received as lot {purchase.lot_id}", lot=purchase.lot_id
        )
    purchase.delete()
