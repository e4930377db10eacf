"""Boards: what is on each and where its pieces went, and the stripping session.

One file, since stripping shows the board's own list and takes off by its form.
"""

from collections import Counter
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, replace

from django.contrib import messages
from django.core.paginator import Paginator
from django.db import transaction
from django.db.models import F
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.urls import reverse
from django.utils.http import urlencode

from inventory import designing, ledger
from inventory.api.versions import claim
from inventory.design_facts import HAZARD_NAMES
from inventory.labels import came_from
from inventory.ledger import Refused
from inventory.lots import refuse_change
from inventory.models import REF_LENGTH, Board, Design, Holding, Lot, Movement, Part, Place
from inventory.pages.board_map import BoardMap, board_map
from inventory.pages.drawers import last_sound_place, put_into, storage, usual_place, where_to
from inventory.pages.frame import back, notify, number, page, typed_part, who, words
from inventory.pages.life import Flow, flow
from inventory.pages.once import once
from inventory.pages.picking import in_box, picked
from inventory.pictures import photos
from inventory.places import paths
from inventory.refs import split_ref
from inventory.refusals import Code
from inventory.roles import BENCH, may_act_as
from inventory.stock import KEPT_IN
from inventory.traces import PositionTrace, trace_board
from repairs import known_to_work, loans, reservations, taking_off
from repairs.hazards import how_it_comes_off
from repairs.models import Job
from repairs.pages.leads import lead_of
from repairs.proving.cautions import SOLDERING, distinct_texts, of_hazards

JUDGEMENTS = {"good": "good", "failed": "suspect", "bad": "faulty", "untested": None}
"""What a button says of the piece; plainly lifted, it stays what it was known to be."""
NOT_LIFTED = ("gone", "broken")
LOST = (*NOT_LIFTED, "other")
"""What a survey finds besides: nothing is there, the piece broke as it came off, or it is another part."""
GIVES_UP = ("failed", "bad", "gone", "broken")


@dataclass(frozen=True)
class Spotted:
    """A position of a board as the page tells it."""

    trace: PositionTrace
    state: str
    gone_to: list[tuple[Lot, str]]

    @property
    def came_from(self) -> str:
        """Where what is fitted came from; nothing where it was always there."""
        held = self.trace.fitted[0] if self.trace.fitted else None
        return "" if held is None or _always_there(held) else came_from(held.lot)

    @property
    def shape(self) -> str:
        """The word whose shape stands on the picture: the condition of what is there, else the state."""
        return self.trace.fitted[0].lot.condition if self.trace.fitted else self.state


def _always_there(held: Holding) -> bool:
    lot = held.lot
    return lot.origin_board is not None and (lot.origin_board.place_id, lot.origin_ref) == (
        held.place_id, held.ref,
    )  # fmt: skip


def _went(every: Sequence[Spotted]) -> Flow:
    """Where the pieces that came off are now, by place."""
    where = paths()
    ends = []
    for each in every:
        for _lot, holdings in each.trace.came_off:
            ends += [
                (where[held.place_id], _address(held.place))
                for held in holdings
                for _one in range(held.quantity)
            ] or [("missing", "")]
    return flow(ends)


def _address(place: Place) -> str:
    if place.type == Place.Type.BOARD:
        return reverse("board", args=[place.board.pk])
    return f"{reverse('drawers')}?place={place.pk}" if place.type != Place.Type.OUTSIDE else ""


def _came(every: Sequence[Spotted]) -> Flow:
    """Where the pieces that were put on it came from."""
    ends = []
    for each in every:
        for held in each.trace.fitted:
            origin = held.lot.origin_board
            if not _always_there(held):
                name = origin.name if origin else came_from(held.lot)
                ends += [(name, reverse("board", args=[origin.pk]) if origin else "")] * held.quantity
    return flow(ends)


def positions(board: Board) -> list[Spotted]:
    """Every position in its natural order, what is there and where what came off it is now."""
    where = paths()
    found = []
    for trace in trace_board(board):
        gone = [
            (lot, "; ".join(f"{where[held.place_id]} {held.ref}".rstrip() for held in holdings) or "missing")
            for lot, holdings in trace.came_off
        ]
        state = "filled" if trace.fitted else "lifted" if gone else "empty"
        found.append(Spotted(trace, state, gone))
    return found


@page()
def board(request: HttpRequest, pk: int) -> HttpResponse:
    this = get_object_or_404(Board.objects.select_related("design", "place", "owner"), pk=pk)
    every = positions(this)
    lit = words(request, "ref", REF_LENGTH).upper()
    here = next((each for each in every if lit and each.trace.ref.upper() == lit), None)
    in_order = [each for state in STATES for each in every if each.state == state]
    leaf = 1 if here is None else in_order.index(here) // ON_A_PAGE + 1
    of_page = Paginator(in_order, ON_A_PAGE).get_page(number(request, "page") or leaf)
    return render(
        request,
        "bench/board.html",
        {
            "board": this,
            "positions": every,
            "filled": sum(each.state == "filled" for each in every),
            "groups": _groups(this, list(of_page), Counter(each.state for each in every)),
            "page": of_page,
            "map": map_of(this, every, shown=None if len(every) <= ON_A_PAGE else list(of_page)),
            "here": here,
            "lit": here.trace.ref if here else lit,
            "photos": photos.of("board", pk),
            "off": taking_off_form(request, paths()) if this.purpose == Board.Purpose.UNDER_REPAIR else None,
            **(_lending(request) if this.purpose == Board.Purpose.WORKING and lit else {}),
            "went": _went(every),
            "came": _came(every),
            "may_write": may_act_as(request.user, BENCH),
            "cautions": cautions(this),
            "jobs": this.jobs.filter(status__in=[Job.Status.OPEN, Job.Status.PARKED]).order_by("id"),
            "unknown": bool(every) and all(each.state == "empty" for each in every),
        },
    )


def _lending(request: HttpRequest) -> dict[str, object]:
    """What the form asks by which a piece of a working board is borrowed."""
    trays = storage(paths())
    return {
        "lends": bool(trays),
        "trays": trays,
        "tray": usual_place(request),
        "open_jobs": Job.objects.filter(status=Job.Status.OPEN).order_by("priority", "id"),
    }


Alike = tuple[str, list[Spotted]]
LONG_LIST, ON_A_PAGE = 24, 150
STATES = {"lifted": "Lifted", "empty": "Empty", "filled": "Fitted"}


def _groups(
    board: Board, shown: Sequence[Spotted], counts: Mapping[str, int]
) -> list[tuple[str, str, int, list[Alike], bool]]:
    """Positions of a page by state: (state, title, how many on the whole board, rows by letter, folded).

    Of a donor what is left matters, else what lacks.
    """
    gives = board.purpose in (Board.Purpose.DONOR, Board.Purpose.SCRAPPED)
    return [
        (state, title, counts[state], _by_letter(rows), (state == "filled") != gives)
        for state, title in STATES.items()
        if (rows := [each for each in shown if each.state == state])
    ]


def _by_letter(rows: list[Spotted]) -> list[Alike]:
    """A long list parted by what its references begin with; a short one in one piece, which has no letter."""
    if len(rows) <= LONG_LIST:
        return [("", rows)]
    parted: dict[str, list[Spotted]] = {}
    for each in rows:
        parted.setdefault(split_ref(each.trace.ref)[0] or "loose", []).append(each)
    return list(parted.items())


def map_of(board: Board, every: Sequence[Spotted], shown: Sequence[Spotted] | None = None) -> BoardMap:
    """The picture of the board's drawing with what stands at each place; a plain grid without one.

    Of a board of many pages the grid has the positions that are `shown`.
    """
    whole = board_map(board.design, {each.trace.ref: each.shape for each in every})
    if shown is None:
        return whole
    refs = {each.trace.ref for each in shown}
    return replace(whole, loose=tuple(each for each in whole.loose if each[0] in refs))


UNKNOWN = ("mains",)
"""What a board may carry of which no drawing says anything."""


def cautions(board: Board) -> list[str]:
    """What to mind before an iron or a finger goes near this board."""
    hazards = board.design.hazards if board.design else UNKNOWN
    return distinct_texts((*of_hazards(hazards), SOLDERING))


def minded(board: Board) -> str:
    """What the cautions are about, in one line: `mains, stored charge, solder fume`."""
    hazards = board.design.hazards if board.design else UNKNOWN
    return ", ".join([*(HAZARD_NAMES.get(word, word) for word in hazards), "solder fume"])


def _tray(request: HttpRequest) -> Place:
    to = put_into(picked(request, "tray", Place.objects.filter(type__in=KEPT_IN), "drawers"))
    if to is None:
        raise Refused(Code.REQUIRED, "Into which drawer or tray? Pick one.")
    return to


@page("GET", "HEAD", "POST")
def strip(request: HttpRequest, pk: int) -> HttpResponse:
    """A stripping session: one reference after the other, each lifted to the tray and judged with one key.

    `only` names the references that it goes through, in that order; without, it goes through all.
    """
    this = get_object_or_404(Board.objects.select_related("design", "place", "owner"), pk=pk)
    every = positions(this)
    left = [each.trace for each in every if each.state == "filled" and each.trace.ref]
    only = list(dict.fromkeys(request.POST.getlist("only") or request.GET.getlist("only")))
    if only:
        there = {trace.ref: trace for trace in left}
        left = [there[ref] for ref in only if ref in there]
    skipped = set(request.GET.getlist("skip")) | set(request.POST.getlist("skip"))
    waiting = [trace for trace in left if trace.ref not in skipped] or left
    asked = request.POST.get("ref") or request.GET.get("ref") or ""
    box = in_box(request, "tray", Place.objects.filter(type__in=KEPT_IN), "drawers")
    fetch = number(request, "fetch")
    if request.method == "POST":
        judgement = request.POST.get("judge", "")
        if box.wrong:  # said whatever was pressed
            raise Refused(Code.UNREADABLE, box.wrong)
        if judgement == "skip":
            skipped.add(asked)
        elif judgement in JUDGEMENTS or judgement in LOST:
            promised = any(held.promised for trace in left if trace.ref == asked for held in trace.fitted)
            lines, done = _stripped(request, this, asked, judgement)
            given_up = ", and not reserved any more" if promised and judgement in GIVES_UP else ""
            put_away = lines[0] if lines and judgement not in NOT_LIFTED and not fetch else None
            lead = lead_of(put_away) if put_away else None
            notify(request, f"{asked} {done}{given_up}.", lines, lead=lead)
        if fetch and [trace.ref for trace in left] == [asked] and judgement != "skip":
            return redirect("fetch", fetch)
        return redirect(_session(pk, str(box), fetch, only, skipped, words(request, "told", 40)))
    wanted = asked.strip().upper()
    found = next((trace for trace in left if wanted and trace.ref.upper() == wanted), None)
    here = found or (waiting[0] if waiting else None)
    how_off = how_it_comes_off(this, here.ref) if here else None
    if wanted and found is None:
        messages.error(request, _not_here(this, every, wanted), extra_tags="refused")
    return render(
        request,
        "bench/strip.html",
        {
            "board": this,
            "here": here,
            "map": map_of(this, every),
            "lit": here.ref if here else "",
            "cautions": cautions(this),
            "how_off": how_off,
            "told_before": how_off is not None and how_off.step == words(request, "told", 40),
            "minded": minded(this),
            "works": known_to_work.works(this),
            "left": len(left),
            "unknown": bool(every) and all(each.state == "empty" for each in every),
            "skipped": sorted(skipped),
            "only": only,
            "fetch": fetch,
            "trays": where_to(paths()),
            "tray": box if box.row or box.wrong else last_sound_place([Movement.Kind.LIFT]),
        },
        status=400 if box.wrong else 200,
    )


def _session(
    board: int, tray: str, fetch: int, only: Iterable[str], skipped: Iterable[str], told: str
) -> str:
    """The address at which a stripping session goes on; `told` is the step said of the piece before."""
    query = [
        ("tray", tray),
        *([("fetch", str(fetch))] if fetch else []),
        *([("told", told)] if told else []),
        *(("only", ref) for ref in only),
        *(("skip", ref) for ref in sorted(set(skipped) - {""})),
    ]
    return f"{reverse('strip', args=[board])}?{urlencode(query)}"


def _stripped(request: HttpRequest, board: Board, ref: str, judgement: str) -> tuple[list[Movement], str]:
    """Lift the piece to the tray, or write down that it is lost; the lines, and what was done in words."""
    if judgement in LOST and board.purpose == Board.Purpose.WORKING:
        raise Refused(Code.CONTRADICTION, f"{board.name} works: say what became of it on its own page first.")
    if judgement == "gone":
        here = ledger.piece_at(board, ref)
        if here is None:
            raise Refused(Code.NOT_HERE, f"{board.name} {ref} holds no part.")
        with transaction.atomic():
            reservations.free_up(here, here.quantity)
            spot = ledger.Spot(here.place_id, here.ref)
            line = ledger.count(here.lot, spot, 0, by=who(request), note="not on the board")
        return [line], "is not on the board"
    if judgement == "broken":
        bin_ = ledger.spot_of(Place.scrap())
        faulty = Lot.Condition.FAULTY
        lines = reservations.lift(
            board, [ref], bin_, by=who(request), condition=faulty, note="broke as it came off"
        )
        return lines, "broke off and is scrapped"
    to = _tray(request)
    condition = JUDGEMENTS.get(judgement)
    if board.purpose == Board.Purpose.UNDER_REPAIR and condition in reservations.FAILED:
        to = Place.failed_tray()
    if judgement == "other" or words(request, "line", 400):  # Enter in its box presses the first button
        with transaction.atomic():
            held = ledger.piece_at(board, ref)
            if held is None:
                raise Refused(Code.NOT_HERE, f"{board.name} {ref} holds no part.")
            part = Part.of(typed_part(request, "line", kind=held.lot.part.spec.spec.kind))
            refuse_change(held.lot, part=part)
            claim(held.lot, part=part)
            spot = ledger.spot_of(to)
            lines = reservations.lift(board, [ref], spot, by=who(request), condition=condition)
        return lines, f"is {part.spec.text}, in {to.name}, {lines[0].lot.condition}"
    lift = loans.borrow if board.purpose == Board.Purpose.WORKING else reservations.lift
    lines = lift(board, [ref], ledger.spot_of(to), by=who(request), condition=condition)
    return lines, f"is in {to.name}, {lines[0].lot.condition}"


@page("POST")
@once
def found_on(request: HttpRequest, pk: int) -> HttpResponse:
    """A piece at a position that no design names, lifted by `R12 4k7 5%`.

    A board of which nothing was known gets a design of its own as one goes along; one that others are made
    to, or that was written down beforehand, stays as it is.
    """
    board = get_object_or_404(Board.objects.select_related("design", "place"), pk=pk)
    to = _tray(request)
    [*read] = designing.read_positions(words(request, "line", 400))
    if len(read) != 1 or read[0].wrong or read[0].note or len(read[0].refs) != 1:
        unread = read[0].wrong or read[0].note if read else "write it as R12 4k7 5%"
        raise Refused(Code.UNREADABLE, f"Not understood: {unread or 'one reference at a time'}.")
    [line] = read
    [ref] = line.refs
    assert line.spec is not None  # else it were wrong
    aside = ""
    with transaction.atomic():
        if board.design is None:
            design = designing.make(board.name, "", [line])
            Board.objects.filter(pk=pk).update(design=design, version=F("version") + 1)
        elif not board.design.positions.filter(ref=ref).exists():
            if _is_its_own(board.design, board):
                designing.add(board.design, [line])
            else:
                aside = f" {board.design} stays as it is: {ref} is kept with {board.name} alone."
        lines = reservations.lift(board, [ref], ledger.spot_of(to), by=who(request), part=Part.of(line.spec))
    done = f"{ref}, {line.spec.text}, is in {to.name}.{aside}"
    notify(request, done, lines, lead=lead_of(lines[0]))
    only, skipped = request.POST.getlist("only"), request.POST.getlist("skip")
    told = words(request, "told", 40)
    return redirect(_session(pk, str(to.pk), number(request, "fetch"), only, skipped, told))


def _is_its_own(design: Design, board: Board) -> bool:
    """Whether the design was made of this board alone, as it was stripped."""
    return str(design) == board.name and not design.boards.exclude(pk=board.pk).exists()


def _not_here(board: Board, every: Sequence[Spotted], ref: str) -> str:
    """Why a reference that was asked for is not there to be lifted, and where it went."""
    place = next((each for each in every if each.trace.ref.upper() == ref), None)
    if place is None:
        return f"{board.name} has no position {ref}."
    where = "; ".join(f"now in {now}" if now != "missing" else "missing" for _lot, now in place.gone_to)
    return f"{place.trace.ref} is not on {board.name} any more{f': {where}' if where else ''}."


@page("POST")
def remove(request: HttpRequest, pk: int) -> HttpResponse:
    """Take a piece off again: suspect, unless it is said how it comes off."""
    this = get_object_or_404(Board.objects.select_related("design", "place"), pk=pk)
    ref = request.POST.get("ref", "")
    condition = request.POST.get("condition", Lot.Condition.SUSPECT)
    line = taking_off.take_off(
        this, ref, condition=condition, to=_off_to(request, condition), by=who(request)
    )
    judged = f", {condition}" if condition else ""
    notify(request, f"{ref} is in {line.to_place.name}{judged}.", [line])
    return back(request, reverse("board", args=[pk]))


SCRAP = ("scrap", "scrap · Scrap")
"""What its box sends for what goes nowhere."""


def _off_to(request: HttpRequest, condition: str) -> Place | None:
    """Where the person put it; None for the tray of failed parts."""
    if words(request, "to", 20) in SCRAP:
        return Place.scrap()
    if place := picked(request, "to", Place.objects.all(), "drawers"):
        return place
    if condition in reservations.FAILED:
        return None
    return Place.objects.filter(pk=usual_place(request)).first()


def taking_off_form(request: HttpRequest, where: Mapping[int, str]) -> dict[str, object]:
    """What the form asks for a piece that comes off."""
    sound = where.get(usual_place(request), "")
    return {
        "how": taking_off.HOW,
        "places": [(SCRAP[0], "Scrap"), *storage(where)],
        "otherwise": f"The failed tray; what is sound, {sound}" if sound else "The failed tray",
    }
