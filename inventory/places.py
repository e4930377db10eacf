"""The tree of places: paths, what lies within, and moving a place without making a loop."""

import re
from collections import defaultdict
from collections.abc import Iterable, Iterator, Mapping

from django.db import transaction

from inventory.models import Place

SEPARATOR = " / "
DEEPEST = 20
"""How many places can be nested at most: more than a person can still say."""


class PlaceLoop(Exception):
    """A place would come to lie within itself."""


def walking(path: str) -> list[tuple[str, int]]:
    """Sorts paths as one walks: Drawer 2 before Drawer 10."""
    pieces = re.findall(r"([^0-9]*)([0-9]*)", path.casefold())
    return [(words, int(digits[:9] or -1)) for words, digits in pieces]


def tree() -> tuple[dict[int, Place], dict[int | None, list[int]]]:
    """All places by id, and the ids directly within each (None: at the top)."""
    found = sorted(Place.objects.order_by("id"), key=lambda place: walking(place.name))
    places = {place.pk: place for place in found}
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


class Paths(Mapping[int, str]):
    """The path of every place, as people write it: `Cabinet A / Row 2 / Drawer 7`; written out when asked."""

    def __init__(self) -> None:
        rows = Place.objects.values_list("id", "name", "within")
        self._places = {pk: (name, above) for pk, name, above in rows}
        self._known: dict[int, str] = {}

    def __getitem__(self, place_id: int) -> str:
        known = self._known.get(place_id)
        if known is None:
            name, above = self._places[place_id]
            known = self._known[place_id] = f"{self[above]}{SEPARATOR}{name}" if above else name
        return known

    def __iter__(self) -> Iterator[int]:
        return iter(self._places)

    def __len__(self) -> int:
        return len(self._places)


def paths() -> Mapping[int, str]:
    """The paths of all places as they are now."""
    return Paths()


def named(typed: str, where: Mapping[int, str]) -> list[int]:
    """The places whose path holds what was typed, those called just that first; what lies within is left out.

    `row 7 drawer 3` finds `Cabinet A / Row 7 / Drawer 3`.
    """
    wanted = _plain(typed)
    if not wanted:
        return []
    found = [pk for pk, path in where.items() if wanted in _plain(path)]
    outermost = [pk for pk in found if wanted not in _plain(SEPARATOR.join(where[pk].split(SEPARATOR)[:-1]))]
    return sorted(
        outermost,
        key=lambda pk: (not f" {_plain(where[pk])}".endswith(f" {wanted}"), walking(where[pk])),
    )


def _plain(path: str) -> str:
    return " ".join(path.replace("/", " ").casefold().split())


def names_in(path: str) -> list[str]:
    """The names along a written path; spaces around the strokes do not matter."""
    return [name for name in (piece.strip() for piece in path.split("/")) if name]


def find_or_make(path: str, *, type: str = Place.Type.DRAWER) -> Place:
    """The place at this path, made where missing.  ValueError where the path is empty or too deep."""
    names = names_in(path)
    if not 1 <= len(names) <= DEEPEST:
        raise ValueError(f"a place needs a name, and can be nested at most {DEEPEST} deep")
    above: Place | None = None
    for name in names:
        above, _made = Place.objects.get_or_create(name=name, within=above, defaults={"type": type})
    assert above is not None
    return above


MAX_ROW = 200
"""Places made at once, at most."""
_ROW = re.compile(r"(?P<head>.*?)(?P<first>[0-9]{1,4})\s*(?:-|–|\.\.)\s*(?P<again>.*?)(?P<last>[0-9]{1,4})")


def names_of_row(typed: str) -> list[str]:
    """The names that a row of drawers is written as, or the one name; ValueError for a row that is none.

    >>> names_of_row("A1-A3"), names_of_row("Drawer 09-11"), names_of_row("Tray 4")
    (['A1', 'A2', 'A3'], ['Drawer 09', 'Drawer 10', 'Drawer 11'], ['Tray 4'])
    """
    row = _ROW.fullmatch(typed)
    if row is None or row["again"] not in ("", row["head"]):
        return [typed]
    first, last = int(row["first"]), int(row["last"])
    if last < first:
        raise ValueError(f"{typed}: the row runs backwards")
    if last - first >= MAX_ROW:
        raise ValueError(f"{typed}: at most {MAX_ROW} at once")
    width = len(row["first"]) if row["first"].startswith("0") else 1
    return [f"{row['head']}{number:0{width}d}" for number in range(first, last + 1)]


def put_within(place: Place, target: Place | None) -> None:
    """Put one place inside another, or at the top.  PlaceLoop where it would lie within itself."""
    with transaction.atomic():
        list(Place.objects.select_for_update().order_by("id").values_list("id", flat=True))
        if target is not None and target.pk in within([place.pk]):
            raise PlaceLoop(f"{target.name} is inside {place.name} already")
        place.within = target
        place.save(update_fields=["within"])
