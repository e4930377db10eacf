"""The tree of places: paths, what lies within, and moving a place without making a loop."""

from collections import defaultdict
from collections.abc import Iterable

from django.db import transaction

from inventory.models import Place

SEPARATOR = " / "
DEEPEST = 20
"""How many places lie within one another at most: more than a person can still say."""


class PlaceLoop(Exception):
    """A place would come to lie within itself."""


def tree() -> tuple[dict[int, Place], dict[int | None, list[int]]]:
    """All places by id, and the ids directly within each (None: at the top)."""
    places = {place.pk: place for place in Place.objects.order_by("name", "id")}
    contents: dict[int | None, list[int]] = defaultdict(list)
    for place in places.values():
        contents[place.within_id].append(place.pk)
    return places, contents


def within(place_ids: Iterable[int]) -> set[int]:
    """These places and everything inside them, to any depth."""
    _places, contents = tree()
    found: set[int] = set()
    waiting = list(place_ids)
    while waiting:
        place_id = waiting.pop()
        if place_id not in found:
            found.add(place_id)
            waiting.extend(contents[place_id])
    return found


def paths() -> dict[int, str]:
    """The path of every place, as a person writes it: `Cabinet A / Row 2 / Drawer 7`."""
    places = {pk: (name, above) for pk, name, above in Place.objects.values_list("id", "name", "within")}
    known: dict[int, str] = {}

    def path(place_id: int) -> str:
        if place_id not in known:
            name, above = places[place_id]
            known[place_id] = f"{path(above)}{SEPARATOR}{name}" if above else name
        return known[place_id]

    for place_id in places:
        path(place_id)
    return known


def names_in(path: str) -> list[str]:
    """The names along a written path; spaces around the strokes do not matter."""
    return [name for name in (piece.strip() for piece in path.split("/")) if name]


def find_or_make(path: str, *, type: str = Place.Type.DRAWER) -> Place:
    """The place at this path, made where missing.  ValueError where the path is empty or too deep."""
    names = names_in(path)
    if not 1 <= len(names) <= DEEPEST:
        raise ValueError(f"a place needs a name, and lies at most {DEEPEST} deep")
    above: Place | None = None
    for name in names:
        above, _made = Place.objects.get_or_create(name=name, within=above, defaults={"type": type})
    assert above is not None
    return above


def put_within(place: Place, target: Place | None) -> None:
    """Put one place inside another, or at the top.  PlaceLoop where it would lie within itself."""
    with transaction.atomic():
        list(Place.objects.select_for_update().order_by("id").values_list("id", flat=True))
        if target is not None and target.pk in within([place.pk]):
            raise PlaceLoop(f"{target.name} is inside {place.name} already")
        place.within = target
        place.save(update_fields=["within"])
