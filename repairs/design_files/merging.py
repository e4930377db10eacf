"""What a file would bring to a design, line by line, and the design that comes of what one takes of it.

Pure.  Nothing of one's own is ever taken out: where only one side has a thing, that is it.  Where both
have it and they differ, `theirs` replaces mine, `mine` stays, and `both` keeps the two side by side (a
position keeps mine and says theirs in its note).  Hazards are always those of both.
"""

import json
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from typing import Any

from inventory.refusals import Code, Refused
from inventory.spec import Spec
from repairs.design_files.document import (
    FORMAT,
    MAX_FILES,
    MAX_PICTURES,
    Credit,
    DesignDocument,
    FileEntry,
    PictureEntry,
    PositionEntry,
    Record,
    problems_with,
)
from repairs.friends.files import bad

THEIRS, MINE, BOTH = "theirs", "mine", "both"
TAKES = (THEIRS, MINE, BOTH)
NEW, SAME, DIFFERS, ONLY_MINE = "new", "same", "differs", "only_mine"
STATES = (NEW, SAME, DIFFERS, ONLY_MINE)
FACTS = ("links", "rails", "banks")
MAX_NOTE, MAX_DESIGN_NOTE = 400, 4000


@dataclass(frozen=True)
class MergeLine:
    """One thing of the design: its key (`positions/R1`), how the two sides stand, and what is taken of it.

    `takes` is one of TAKES where there is something to choose, else blank.
    """

    key: str
    state: str
    mine: str
    theirs: str
    takes: str = ""


@dataclass(frozen=True)
class Merged:
    """The design as it comes out, and what is added beside it."""

    document: DesignDocument
    lines: tuple[MergeLine, ...]
    pictures: tuple[PictureEntry, ...]
    files: tuple[FileEntry, ...]
    records: tuple[Record, ...]
    credits: tuple[Credit, ...]


def merge(
    mine: DesignDocument | None,
    theirs: DesignDocument,
    take: str = BOTH,
    choices: Mapping[str, str] | None = None,
) -> Merged:
    """Lay the two together.  `choices` take single lines otherwise.

    Refused: a choice of what is not there (`unknown`); a design that comes out broken (`unreadable`).
    """
    choices = dict(choices or {})
    own = mine or DesignDocument("rehome-design", 1, theirs.name, theirs.revision)
    work = _Merging(THEIRS if mine is None else take, choices)
    links, rails, banks = (work.facts(name, getattr(own, name), getattr(theirs, name)) for name in FACTS)
    hazards = work.hazards(own.hazards, theirs.hazards)
    note = work.note(own.note, theirs.note)
    pictures, sides = work.pictures(own.pictures, theirs.pictures)
    positions = work.positions(own.positions, theirs.positions, sides)
    files = work.files(own.files, theirs.files)
    records = tuple(work.added("seen", own.seen, theirs.seen))
    records += tuple(work.added("trials", own.trials, theirs.trials))
    records += tuple(work.added("images", own.images, theirs.images))
    credits = tuple(work.added("credits", own.credits, theirs.credits))
    if unknown := sorted(choices.keys() - work.asked):
        raise Refused(
            Code.UNKNOWN, f"there is nothing to choose at {unknown[0][:80]}", known=sorted(work.asked)
        )
    document = replace(
        own, note=note, hazards=hazards, links=links, rails=rails, banks=banks, positions=positions
    )
    if problems := problems_with(document):
        raise bad(FORMAT._replace(what="a design made of both"), problems)
    return Merged(document, tuple(work.lines), pictures, files, records, credits)


class _Merging:
    def __init__(self, take: str, choices: Mapping[str, str]) -> None:
        self.take, self.choices = take, choices
        self.lines: list[MergeLine] = []
        self.asked: set[str] = set()

    def chosen(self, key: str, mine: str | None, theirs: str | None, *, alike: bool) -> str:
        """Which side is taken of a line; it is noted among the lines."""
        state = SAME if alike else ONLY_MINE if theirs is None else NEW if mine is None else DIFFERS
        if state in (SAME, ONLY_MINE):
            self.lines.append(MergeLine(key, state, mine or "", theirs or ""))
            return MINE
        self.asked.add(key)
        taken = self.choices.get(key, self.take)
        self.lines.append(MergeLine(key, state, mine or "", theirs or "", taken))
        return taken

    def facts(self, name: str, mine: Sequence[Any], theirs: Sequence[Any]) -> list[dict[str, Any]]:
        kept = {each["name"]: each for each in mine}
        for each in theirs:
            own = kept.get(each["name"])
            shown = None if own is None else _text_of(own)
            taken = self.chosen(f"{name}/{each['name']}", shown, _text_of(each), alike=own == each)
            if own == each or taken == MINE:
                continue
            called = each["name"] if own is None or taken == THEIRS else f"{each['name']} (theirs)"
            kept[called] = each | {"name": called}
        there = {each["name"] for each in theirs}
        for each in mine:
            if each["name"] not in there:
                self.chosen(f"{name}/{each['name']}", _text_of(each), None, alike=False)
        return list(kept.values())

    def hazards(self, mine: Sequence[str], theirs: Sequence[str]) -> list[str]:
        for hazard in sorted({*mine, *theirs}):
            state = SAME if hazard in mine and hazard in theirs else ONLY_MINE if hazard in mine else NEW
            here, there = (hazard if hazard in side else "" for side in (mine, theirs))
            self.lines.append(MergeLine(f"hazards/{hazard}", state, here, there))
        return sorted({*mine, *theirs})

    def note(self, mine: str, theirs: str) -> str:
        if not theirs:
            return mine
        taken = self.chosen("note", mine or None, theirs, alike=mine == theirs)
        if mine == theirs or taken == MINE:
            return mine
        return theirs if taken == THEIRS or not mine else f"{mine}\n{theirs}"[:MAX_DESIGN_NOTE]

    def pictures(
        self, mine: Sequence[PictureEntry], theirs: Sequence[PictureEntry]
    ) -> tuple[tuple[PictureEntry, ...], dict[str, str]]:
        """Those to be added, and for each side with a picture whose that will be."""
        # Of several pictures of a side the newest is shown, and it comes last in a file.
        shown: dict[str, PictureEntry] = {each.side: each for each in mine if each.side}
        there = {(each.sha256, each.side, each.ref) for each in mine}
        sides: dict[str, str] = dict.fromkeys(shown, MINE)
        added = []
        for each in theirs:
            own = shown.get(each.side) if each.side else None
            key = f"pictures/{each.side or each.file}"
            alike = (each.sha256, each.side, each.ref) in there
            present = None if own is None and not alike else _of_picture(own or each)
            taken = self.chosen(key, present, _of_picture(each), alike=alike)
            if alike and each.side:
                sides[each.side] = BOTH
            if alike or taken == MINE:
                continue
            if own is not None and taken == BOTH:
                each = replace(
                    each, side="", note=f"theirs, of the {each.side}. {each.note}".strip()[:MAX_NOTE]
                )
            elif each.side:
                sides[each.side] = THEIRS
            added.append(each)
        if len(mine) + len(added) > MAX_PICTURES:
            raise Refused(Code.TOO_MANY, f"a design has at most {MAX_PICTURES} pictures")
        return tuple(added), sides

    def files(self, mine: Sequence[FileEntry], theirs: Sequence[FileEntry]) -> tuple[FileEntry, ...]:
        """Those to be added: one that is there already keeps the name that it has here."""
        here = {each.sha256: each.name for each in mine}
        added = []
        for each in theirs:
            own = here.pop(each.sha256, None)
            taken = self.chosen(f"files/{each.sha256[:16]}", own, each.name, alike=own is not None)
            if own is None and taken != MINE:
                added.append(each)
        for content, name in here.items():
            self.chosen(f"files/{content[:16]}", name, None, alike=False)
        if len(mine) + len(added) > MAX_FILES:
            raise Refused(Code.TOO_MANY, f"a design has at most {MAX_FILES} files")
        return tuple(added)

    def positions(
        self, mine: Sequence[PositionEntry], theirs: Sequence[PositionEntry], sides: Mapping[str, str]
    ) -> list[PositionEntry]:
        kept = {each.ref: each for each in mine}
        there = {each.ref: each for each in theirs}
        for ref, each in there.items():
            own = kept.get(ref)
            shown = None if own is None else _of_position(own)
            alike = own is not None and _unpinned(own) == _unpinned(each)
            taken = self.chosen(f"positions/{ref}", shown, _of_position(each), alike=alike)
            if own is None and taken == MINE:
                continue
            entry = each if own is None or taken == THEIRS else own
            if own is not None and taken == BOTH and not alike:
                entry = replace(own, note=f"{own.note} [theirs: {_of_position(each)}]".strip()[:MAX_NOTE])
            kept[ref] = _pinned(entry, own, each, sides)
        for ref, own in kept.items():
            if ref not in there:
                self.chosen(f"positions/{ref}", _of_position(own), None, alike=False)
                kept[ref] = _pinned(own, own, None, sides)
        return list(kept.values())

    def added(self, name: str, mine: Sequence[Any], theirs: Sequence[Any]) -> list[Any]:
        """Records or credits that are not there yet, unless mine alone is wanted."""
        fresh = [each for each in theirs if each not in mine]
        if not theirs:
            return []
        shown = f"{len(mine)}" if mine else None
        alike = not fresh
        taken = self.chosen(name, shown, f"{len(theirs)}, {len(fresh)} of them new", alike=alike)
        return [] if taken == MINE else fresh


def _text_of(entry: Mapping[str, Any]) -> str:
    return json.dumps({name: value for name, value in entry.items() if name != "name"}, ensure_ascii=False)[
        :400
    ]


def _of_picture(entry: PictureEntry) -> str:
    return f"{entry.side or 'a picture'} {entry.file} {entry.note}".strip()


def _of_position(entry: PositionEntry) -> str:
    words = [Spec.from_dict(entry.spec).text]
    words += ["socketed"] if entry.socketed else []
    words += [entry.note] if entry.note else []
    words += [f"left empty when {json.dumps(entry.empty_when)}"] if entry.empty_when else []
    return "; ".join(words)


def _unpinned(entry: PositionEntry) -> tuple[Any, ...]:
    return (Spec.from_dict(entry.spec), entry.socketed, entry.note, entry.empty_when)


def _pinned(
    entry: PositionEntry, own: PositionEntry | None, theirs: PositionEntry | None, sides: Mapping[str, str]
) -> PositionEntry:
    """With the pin of whoever's picture is shown of that side: on another picture it points elsewhere."""
    for source, whose in ((theirs, THEIRS), (own, MINE)):
        if source is None or source.x is None or source.y is None:
            continue
        if sides.get(source.side or "top", whose) in (whose, BOTH) and (
            whose == MINE or not _has_pin(own, sides)
        ):
            return replace(entry, x=source.x, y=source.y, side=source.side)
    return replace(entry, x=None, y=None, side=entry.side)


def _has_pin(own: PositionEntry | None, sides: Mapping[str, str]) -> bool:
    return (
        own is not None
        and own.x is not None
        and own.y is not None
        and sides.get(own.side or "top", MINE) in (MINE, BOTH)
    )
