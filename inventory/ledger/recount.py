"""Holdings recomputed from the movements alone."""

from collections.abc import Mapping

from inventory.models import Holding, Movement, Place


def fold() -> Mapping[tuple[int, int, str], int]:
    """Holdings as the movements alone make them: (lot, place, ref) -> pieces.  Outside holds nothing."""
    outside = Place.outside().pk
    held: dict[tuple[int, int, str], int] = {}
    lines = Movement.objects.order_by("id").values_list(
        "lot_id", "to_lot_id", "quantity", "from_place_id", "from_ref", "to_place_id", "to_ref"
    )
    for lot, to_lot, quantity, from_place, from_ref, to_place, to_ref in lines.iterator(chunk_size=5000):
        if from_place != outside:
            key = (lot, from_place, from_ref)
            held[key] = held.get(key, 0) - quantity
        if to_place != outside:
            key = (to_lot or lot, to_place, to_ref)
            held[key] = held.get(key, 0) + quantity
    return held


def differences() -> list[str]:
    """Each holding that is not what the movements make it, in words."""
    expected = fold()
    found = []
    actual = {
        (lot, place, ref): quantity
        for lot, place, ref, quantity in Holding.objects.values_list(
            "lot_id", "place_id", "ref", "quantity"
        ).iterator()
    }
    for key in sorted(expected.keys() | actual.keys()):
        should, does = expected.get(key, 0), actual.get(key, 0)
        if should != does:
            lot, place, ref = key
            found.append(
                f"lot {lot} at place {place}{f' {ref}' if ref else ''}: holds {does}, movements make {should}"
            )
    return found
