"""What cells name: places, boards and designs, found as people write them."""

from collections import defaultdict
from collections.abc import Iterable, Sequence
from difflib import get_close_matches

from inventory.chunks import chunks
from inventory.models import Board, Design, Place
from inventory.places import SEPARATOR, names_in, tree
from inventory.sheets.report import Report
from inventory.sheets.table import SheetRow

KEPT_IN = (Place.Type.DRAWER, Place.Type.TRAY)
"""Where stock is kept: what a stock sheet is about."""
_INSTEAD = {
    Place.Type.BOARD: "a board: pieces on boards come in by a donor survey",
    Place.Type.PERSON: "a person: pieces are lent by a movement",
    Place.Type.SCRAP: "the scrap bin: pieces are scrapped by a movement",
    Place.Type.OUTSIDE: "no place to keep pieces",
}
_LONGEST_NAME = 120


class PlaceNames:
    """Places by path.

    `Cabinet A / Drawer 7` is the place of that path, whatever the case; a shorter path that ends only one
    place's path is that place; anything else is made, and `made` lists it.
    """

    def __init__(self) -> None:
        self.made: list[str] = []
        self._places, _contents = tree()
        self.paths: dict[int, str] = {}
        self._by_path: dict[str, list[int]] = defaultdict(list)
        self._by_ending: dict[str, list[int]] = defaultdict(list)
        self._known: dict[str, Place | str] = {}
        self._waiting: dict[int, Place] = {}
        for place in self._places.values():
            self._enter(place)

    def note_made(self, report: Report) -> None:
        """Note the places that were made."""
        if self.made:
            listed, more = "; ".join(self.made[:20]), len(self.made) - 20
            report.notes.append(f"Places made: {listed}{f'; and {more} more' if more > 0 else ''}.")

    def _enter(self, place: Place) -> None:
        chain = [place]
        while (above := chain[-1].within_id) is not None:
            chain.append(self._places[above])
        names = [each.name for each in reversed(chain)]
        self._places[place.pk], self.paths[place.pk] = place, SEPARATOR.join(names)
        self._by_path[_folded(names)].append(place.pk)
        for start in range(1, len(names)):
            self._by_ending[_folded(names[start:])].append(place.pk)

    def written_as(self, text: str) -> list[int]:
        """The places that a written path may be: by the whole path, or else by its end."""
        folded = _folded(names_in(text))
        found = self._by_path.get(folded) or self._by_ending.get(folded) or []
        return [pk for pk in found if self.paths[pk] == text] or found

    def keeping(self, row: SheetRow, key: str) -> Place | None:
        """The drawer or tray that a cell names, made where there is none; or None, and the cell is bad."""
        text = row[key]
        if text not in self._known:
            self.make_all([text])
        known = self._known[text]
        if isinstance(known, Place):
            return known
        row.bad(key, known)
        return None

    def _find_or_make(self, text: str) -> Place | str:
        """The place, or what is wrong with the text."""
        names = names_in(text)
        if not names:
            return f"expected a place, such as Cabinet A{SEPARATOR}Drawer 7"
        if len(found := self.written_as(text)) > 1:
            return f"could be {' or '.join(self.paths[pk] for pk in found[:5])}: write the one that is meant"
        if found:
            place = self._places[found[0]]
            return place if place.type in KEPT_IN else f"{place.name} is {_INSTEAD[Place.Type(place.type)]}"
        if len(names) > 10 or any(len(name) > _LONGEST_NAME or not name.isprintable() for name in names):
            return f"expected at most 10 names of at most {_LONGEST_NAME} characters, with / between"
        return self._make(names)

    def make_all(self, texts: Iterable[str]) -> None:
        """Make the places that these cells name and that are not there: in a few queries for each level.

        What is wrong with a cell is told by `keeping`.
        """
        self._waiting = {}
        for text in texts:
            if text not in self._known:
                self._known[text] = self._find_or_make(text)
        self._keep_waiting()

    def _make(self, names: list[str]) -> Place | str:
        """A place that waits to be kept, under a number below nought of its own."""
        depth = len(names)
        above: Place | None = None
        while depth := depth - 1:
            if found := self._by_path.get(_folded(names[:depth])):
                above = self._places[found[0]]
                break
        if above is not None and above.type not in KEPT_IN:
            return f"{above.name} is {_INSTEAD[Place.Type(above.type)]}"
        for name in names[depth:]:
            above = Place(pk=-len(self._places) - 1, name=name, within_id=above.pk if above else None)
            self._enter(above)
            self._waiting[above.pk] = above
            self.made.append(self.paths[above.pk])
        assert above is not None
        return above

    def _keep_waiting(self) -> None:
        """Write the places that wait, those further out first, and put their own numbers everywhere."""
        number: dict[int, int] = {}
        waiting = list(self._waiting.values())
        while waiting:
            ready = [place for place in waiting if (place.within_id or 1) > 0]
            waiting = [place for place in waiting if (place.within_id or 1) < 0]
            rows = [Place(name=place.name, within_id=place.within_id) for place in ready]
            Place.objects.bulk_create(rows, ignore_conflicts=True, batch_size=500)
            kept = _named_within(ready)
            for place in ready:
                number[place.pk] = kept[place.within_id, place.name]
            for place in waiting:
                place.within_id = number.get(place.within_id or 0, place.within_id)
        for old, new in number.items():
            place, path = self._places.pop(old), self.paths.pop(old)
            place.pk, place._state.adding = new, False
            self._places[new], self.paths[new] = place, path
        if number:
            for index in (self._by_path, self._by_ending):
                for found in index.values():
                    found[:] = [number.get(pk, pk) for pk in found]
        self._waiting = {}


def _named_within(places: Sequence[Place]) -> dict[tuple[int | None, str], int]:
    """(place around it, name) -> number, of places of these names."""
    return {
        (within, name): pk
        for chunk in chunks({place.name for place in places})
        for pk, within, name in Place.objects.filter(name__in=chunk).values_list("pk", "within_id", "name")
    }


def _folded(names: list[str]) -> str:
    return "/".join(" ".join(name.casefold().split()) for name in names)


class BoardNames:
    """Boards by name, whatever the case."""

    def __init__(self) -> None:
        self._boards = list(Board.objects.select_related("place", "design"))
        self._by_name = {board.name.casefold(): board for board in self._boards}
        self._by_name |= {board.name: board for board in self._boards}

    def get(self, name: str) -> Board | None:
        return self._by_name.get(name) or self._by_name.get(name.casefold())

    def add(self, board: Board) -> None:
        self._boards.append(board)
        self._by_name[board.name] = self._by_name[board.name.casefold()] = board

    def named(self, row: SheetRow, key: str) -> Board | None:
        """The board that a cell names; None, and the cell bad, where there is none."""
        board = self.get(row[key])
        if board is None:
            row.bad(
                key, f"no board has this name{_nearest(row[key], [board.name for board in self._boards])}"
            )
        return board


class DesignNames:
    """Designs by name and revision, whatever the case."""

    def __init__(self) -> None:
        self._by_name = {_design_key(design.name, design.revision): design for design in Design.objects.all()}

    def get(self, name: str, revision: str) -> Design | None:
        return self._by_name.get(_design_key(name, revision))

    def add(self, design: Design) -> None:
        self._by_name[_design_key(design.name, design.revision)] = design

    def named(self, row: SheetRow) -> Design | None:
        """The design that the cells Design and Revision name; None, and the cell bad, where there is none."""
        design = self.get(row["design"], row["revision"])
        if design is None:
            nearest = _nearest(
                f"{row['design']} {row['revision']}", [str(each) for each in self._by_name.values()]
            )
            row.bad("design", f"no design has this name and revision{nearest}")
        return design


def _design_key(name: str, revision: str) -> tuple[str, str]:
    return " ".join(name.casefold().split()), " ".join(revision.casefold().split())


def _nearest(name: str, known: list[str]) -> str:
    close = get_close_matches(name, known, 3, 0.5)
    return f"; the nearest are {', '.join(close)}" if close else f"; there are {len(known)}"
