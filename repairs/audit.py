"""The audit: everything that can be recomputed from the movements, recomputed, and each difference named."""

from collections.abc import Callable

from django.db.models import Sum

from inventory import ledger
from inventory.models import Holding, Lot
from repairs import consent, reservations
from repairs.models import Purchase


def loans_without_a_record() -> list[str]:
    """A borrowing or lending that nobody can look up."""
    owed = ledger.open_loans().filter(loan=None).order_by("id")
    return [f"movement {line.pk} opened a loan that has no record" for line in owed]


def lots_without_movements() -> list[str]:
    """Every lot came in by a movement; one that did not has lost where it came from."""
    lost = Lot.objects.filter(movements=None, arrivals=None).order_by("id").values_list("id", flat=True)
    return [f"lot {pk} has no movement that brought it in" for pk in lost]


def salvaged_pieces_that_multiplied() -> list[str]:
    """What came off one position is one piece for life, whatever lots it has been."""
    twins = (
        Holding.objects.exclude(lot__origin_ref="")
        .values("lot__origin_board__name", "lot__origin_ref")
        .annotate(pieces=Sum("quantity"))
        .filter(pieces__gt=1)
        .order_by("lot__origin_board__name", "lot__origin_ref")
    )
    return [
        f"{twin['lot__origin_board__name']} {twin['lot__origin_ref']} gave {twin['pieces']} pieces"
        for twin in twins
    ]


def purchases_that_do_not_match_their_lot() -> list[str]:
    found = []
    for purchase in Purchase.objects.filter(lot__isnull=False).select_related("lot").order_by("id"):
        if purchase.lot is not None and purchase.lot.part_id != purchase.part_id:
            found.append(f"purchase {purchase.pk} was for another part than lot {purchase.lot_id}")
    return found


CHECKS: tuple[Callable[[], list[str]], ...] = (
    ledger.differences,
    reservations.differences,
    consent.without_a_yes,
    loans_without_a_record,
    lots_without_movements,
    salvaged_pieces_that_multiplied,
    purchases_that_do_not_match_their_lot,
)


def audit() -> list[str]:
    """All findings of all checks; an empty list where everything agrees."""
    return [finding for check in CHECKS for finding in check()]
