"""Lots: how they come in, how they are found, and what may be corrected of one.  Their origin is for life."""

import re
from collections.abc import Sequence
from decimal import Decimal
from typing import Any

from django.contrib.auth.models import User
from django.db import transaction
from django.db.models import Q

from inventory import ledger
from inventory.ledger import Actor, Arrival, Origin, Refused
from inventory.models import Holding, Lot, Part, Place
from inventory.refusals import Code
from inventory.spec import values_in_text

Put = tuple[Place, str, int]
"""A place, on a board the position, and how many pieces."""

_ON_BAG = re.compile(r"\s*(?:lot\s*|(?:https?://[^/\s]+)?/lots/)([0-9]{1,9})/?\s*", re.IGNORECASE)


def number_on_bag(typed: str) -> int | None:
    """The number of a lot as its bag has it, `lot 58` or in its code an address; None for any other text."""
    match = _ON_BAG.fullmatch(typed)
    return int(match[1]) if match else None


def matching(typed: str) -> Q:
    """Lots that the text could mean: a value in any notation, a type, marking, name, maker, or its bag."""
    meant = Q()
    for kind, units in values_in_text(typed):
        meant |= Q(part__spec__kind=kind, part__spec__value=units)
    number = number_on_bag(typed)
    if number is not None:
        meant |= Q(pk=number)
    for column in ("part__name", "part__spec__number", "part__spec__text", "marking", "part__spec__make"):
        meant |= Q(**{f"{column}__icontains": typed})
    return meant


@transaction.atomic
def bring_in(
    part: Part,
    puts: Sequence[Put],
    *,
    by: Actor,
    origin: Origin,
    condition: str = Lot.Condition.UNTESTED,
    marking: str = "",
    note: str = "",
    measured: int | None = None,
    measured_tolerance: Decimal | None = None,
    owner: User | None = None,
) -> Lot:
    """One lot comes in and is put in one or more places.  Only a lot in a single place may be on a board."""
    if len(puts) > 1 and any(place.type == Place.Type.BOARD for place, _ref, _quantity in puts):
        raise Refused(
            Code.SEVERAL_PLACES, "pieces on a board are a lot for each position: enter them one by one"
        )
    spots = [(ledger.spot_of(place, ref), quantity) for place, ref, quantity in puts]
    arrival = Arrival(
        part=part,
        quantity=sum(quantity for _spot, quantity in spots),
        to=spots[0][0],
        origin=origin,
        condition=condition,
        marking=marking,
        note=note,
        measured=measured,
        measured_tolerance=measured_tolerance,
        owner=owner,
    )
    lot = ledger.receive(arrival, by=by).lot
    for spot, quantity in spots[1:]:
        ledger.move(lot, spots[0][0], spot, quantity, by=by, note="put away as it came in")
    return lot


def refuse_change(lot: Lot, **columns: Any) -> None:
    """Refused where what is changed of a lot would break a promise or its record; it joins the transaction.

    Reserved pieces stay the part that was reserved and are not faulty; a bought lot stays what was bought.
    """
    another = "part" in columns and columns["part"] != lot.part
    if another and lot.origin_source == Lot.Source.BOUGHT:
        raise Refused(
            Code.BOUGHT, f"{lot} was bought as that: reverse its receipt and enter what came", lot=lot.pk
        )
    if another or columns.get("condition", lot.condition) == Lot.Condition.FAULTY != lot.condition:
        _refuse_promised(lot)


def _refuse_promised(lot: Lot) -> None:
    held = Holding.objects.select_for_update().filter(lot=lot).order_by("id")
    promised = sum(held.values_list("promised", flat=True))
    if promised:
        raise Refused(
            Code.PROMISED,
            f"{lot}: {promised} promised: release them first, or record a trial, which gives them up",
            promised=promised,
            lot=lot.pk,
        )
