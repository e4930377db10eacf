"""Find anything by what one remembers of it: a marking, value, reference, board, job, drawer or person.

One answer for the pages, the API and the command.  What a label's code holds, or `lot 58` as it stands on a
bag, names one page and nothing else: a reader that types like a keyboard opens it.
"""

import re
from collections.abc import Callable, Iterable, Iterator
from dataclasses import dataclass
from typing import Annotated, Self
from urllib.parse import urlsplit

from django.contrib.auth.models import User
from django.db.models import Exists, OuterRef, Q, QuerySet
from django.urls import Resolver404, resolve, reverse
from django.utils.http import urlencode
from pydantic import Field

from inventory.answers import WholeAnswer, one_of
from inventory.lots import matching, number_on_bag
from inventory.models import Board, Design, Holding, Lot, Place, Position
from inventory.places import SEPARATOR, named, paths
from repairs.models import Job, Need

LONGEST = 200
"""Characters of a search."""
EACH = 8
"""Matches shown of each sort, when no other number is asked for."""
MAX_EACH = 50
SORTS = ("lot", "position", "need", "board", "design", "job", "place", "person")
_REF = re.compile(r"[A-Za-z]{1,4}[0-9]{1,5}[A-Za-z]?")
_ON_LABELS = ("lot", "board", "job", "need", "pins", "drawers")


@dataclass(frozen=True)
class Match:
    """One thing that was found: what to call it, what it is, where it is, and its page."""

    type: Annotated[str, one_of(SORTS)]
    id: Annotated[int, Field(description="Of a position: its board.")]
    label: str
    what: str
    where: str
    page: Annotated[str, Field(description="The address of its page on this server.")]


@dataclass(frozen=True)
class Matches(WholeAnswer):
    """All that matched, sort by sort."""

    opens: Annotated[
        str, Field(description="The one page that a label's address or `lot 58` names; then no results.")
    ]
    results: tuple[Match, ...]
    more: Annotated[int, Field(description="Matches beyond those listed, at least.")]

    @classmethod
    def example(cls) -> Self:
        found = Match(
            "position", 3, "R47", "4k7 5 % 0.25 W resistor, axial", "Plover donor", "/boards/3/?ref=R47"
        )
        return cls("", (found,), 0)


def search(text: str, *, each: int = EACH, people: bool = False) -> Matches:
    """What the text could mean, at most `each` matches of a sort; nothing for an empty text.

    `people`: also those who may sign in, whose pages only owners open.
    """
    typed = " ".join(text[:LONGEST].split())
    if not typed:
        return Matches("", (), 0)
    if address := opens(typed):
        return Matches(address, (), 0)
    listed: list[Match] = []
    more = 0
    for finder in (*_FINDERS, _people) if people else _FINDERS:
        some = list(finder(typed, each + 1))
        listed += some[:each]
        more += max(0, len(some) - each)
    return Matches("", tuple(sorted(listed, key=lambda match: not _is_called(match, typed))), more)


def _is_called(match: Match, typed: str) -> bool:
    """Whether just this was typed: `Tray 1` is a place before it is a value of 1."""
    names = (match.label, f"{match.where}{SEPARATOR}{match.label}" if match.type == "place" else "")
    return typed.casefold() in map(str.casefold, names)


def opens(typed: str) -> str:
    """The page that a label's address or its `lot 58` names; empty where it names none here."""
    lot = number_on_bag(typed)
    if lot is not None:
        return reverse("lot", args=[lot]) if Lot.objects.filter(pk=lot).exists() else ""
    split = urlsplit(typed)
    if split.scheme not in ("http", "https") and not typed.startswith("/"):
        return ""
    try:
        at = resolve(split.path)
    except Resolver404:
        return ""
    if at.url_name not in _ON_LABELS:
        return ""
    place = re.fullmatch(r"place=([0-9]{1,9})", split.query)
    return split.path + (f"?{split.query}" if at.url_name == "drawers" and place else "")


def _lots(typed: str, most: int) -> Iterator[Match]:
    here = Holding.objects.filter(lot=OuterRef("pk"), quantity__gt=0)
    lots = Lot.objects.filter(Exists(here)).filter(matching(typed)).order_by("id")[:most]
    where = paths()
    for lot in lots.select_related("part__spec").prefetch_related("holdings"):
        spec = lot.part.spec.spec
        held = [h for h in lot.holdings.all() if h.quantity]
        at = "; ".join(f"{h.quantity} in {where[h.place_id]} {h.ref}".rstrip() for h in held[:3])
        marking = f", marked {lot.marking}" if lot.marking else ""
        label = spec.value_text or spec.number or spec.kind
        yield Match(
            "lot", lot.pk, label, f"{lot.part}{marking}, {lot.condition}", at, reverse("lot", args=[lot.pk])
        )


def _positions(typed: str, most: int) -> Iterator[Match]:
    """A reference, on every board whose design has it; with a board's name beside it, there alone."""
    ref, boards = _ref_and_rest(typed)
    if not ref:
        return
    asked = dict(_specs_at(ref))
    for board in boards.filter(design__in=asked).order_by("name", "id")[:most]:
        page = f"{reverse('board', args=[board.pk])}?{urlencode({'ref': ref})}"
        yield Match("position", board.pk, ref, asked[board.design_id], board.name, page)


def _specs_at(ref: str) -> Iterable[tuple[int | None, str]]:
    rows = Position.objects.filter(ref__iexact=ref).select_related("spec")
    return ((row.design_id, row.spec.text) for row in rows)


def _ref_and_rest(typed: str) -> tuple[str, QuerySet[Board]]:
    """`R47 donor` -> R47 and the boards whose name holds `donor`; no reference in it: an empty text."""
    words = typed.split(" ")
    refs = [word for word in words if _REF.fullmatch(word)]
    boards = Board.objects.all()
    if not refs:
        return "", boards
    for word in words:
        if word != refs[0]:
            boards = boards.filter(name__icontains=word)
    return refs[0].upper(), boards


def _needs(typed: str, most: int) -> Iterator[Match]:
    if not _REF.fullmatch(typed):
        return
    needs = Need.objects.filter(ref__iexact=typed, job__status__in=[Job.Status.OPEN, Job.Status.PARKED])
    for need in needs.select_related("spec", "job").order_by("job__priority", "id")[:most]:
        page = reverse("need", args=[need.pk])
        yield Match("need", need.pk, need.ref, need.spec.text, f"needed by {need.job.name}", page)


def _every_word(typed: str, *columns: str) -> Q:
    """Rows in which each word stands in one of the columns."""
    wanted = Q()
    for word in typed.split(" "):
        anywhere = Q()
        for column in columns:
            anywhere |= Q(**{f"{column}__icontains": word})
        wanted &= anywhere
    return wanted


def _boards(typed: str, most: int) -> Iterator[Match]:
    boards = Board.objects.filter(_every_word(typed, "name", "note")).select_related("design")
    for board in boards.order_by("name", "id")[:most]:
        what = f"{board.get_purpose_display().lower()} board"
        page = reverse("board", args=[board.pk])
        yield Match("board", board.pk, board.name, what, str(board.design or ""), page)


def _designs(typed: str, most: int) -> Iterator[Match]:
    designs = Design.objects.filter(_every_word(typed, "name", "revision", "note"))
    for design in designs.order_by("name", "revision", "id")[:most]:
        yield Match("design", design.pk, str(design), "design", "", reverse("pins", args=[design.pk]))


def _jobs(typed: str, most: int) -> Iterator[Match]:
    jobs = Job.objects.filter(_every_word(typed, "name", "symptom", "cause", "note")).select_related("board")
    for job in jobs.order_by("priority", "id")[:most]:
        what = f"job, {job.get_status_display().lower()}"
        where = job.board.name if job.board else ""
        yield Match("job", job.pk, job.name, what, where, reverse("job", args=[job.pk]))


def _places(typed: str, most: int) -> Iterator[Match]:
    """Drawers, trays and the people whom things are lent to; boards are found as boards."""
    where = paths()
    apart = (Place.Type.BOARD, Place.Type.OUTSIDE)
    known = Place.objects.exclude(type__in=apart).in_bulk(named(typed, where))
    for pk in [pk for pk in named(typed, where) if pk in known][:most]:
        place, path = known[pk], where[pk].rpartition(SEPARATOR)[0]
        page = f"{reverse('drawers')}?place={pk}"
        yield Match("place", pk, place.name, place.type, path or place.note, page)


def _people(typed: str, most: int) -> Iterator[Match]:
    people = User.objects.filter(_every_word(typed, "username", "first_name", "last_name"), is_active=True)
    for person in people.order_by("username")[:most]:
        yield Match(
            "person", person.pk, person.get_username(), "may sign in", "", reverse("person", args=[person.pk])
        )


_FINDERS: tuple[Callable[[str, int], Iterator[Match]], ...] = (
    _positions, _needs, _lots, _jobs, _boards, _designs, _places,
)  # fmt: skip
