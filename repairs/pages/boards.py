"""Boards: what is on each and where its pieces went, and the stripping session."""

from collections.abc import Sequence
from dataclasses import dataclass

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.urls import reverse
from django.utils.http import urlencode

from inventory import ledger, photos
from inventory.labels import came_from
from inventory.models import REF_LENGTH, Board, Holding, Lot, Movement, Place
from inventory.pages.board_map import BoardMap, board_map
from inventory.pages.drawers import storage
from inventory.pages.frame import back, number, page, say, who, words
from inventory.pages.life import Flow, flow
from inventory.places import paths
from inventory.roles import BENCH, may_act_as
from inventory.traces import PositionTrace, trace_board
from repairs import loans, reservations
from repairs.models import Job
from repairs.proving.cautions import DEFER, SOLDERING, of_hazards

JUDGEMENTS = {"good": "good", "bad": "faulty", "untested": None}
"""What a button says of the piece; plainly lifted, it stays what it was known to be."""


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
    this = get_object_or_404(Board.objects.select_related("design", "place"), pk=pk)
    every = positions(this)
    lit = words(request, "ref", REF_LENGTH).upper()
    return render(
        request,
        "bench/board.html",
        {
            "board": this,
            "positions": every,
            "filled": sum(each.state == "filled" for each in every),
            "map": map_of(this, every),
            "here": next((each for each in every if lit and each.trace.ref.upper() == lit), None),
            "lit": next((each.trace.ref for each in every if lit and each.trace.ref.upper() == lit), lit),
            "photos": photos.of("board", pk),
            "went": _went(every),
            "came": _came(every),
            "may_write": may_act_as(request.user, BENCH),
            "cautions": cautions(this),
            "jobs": this.jobs.filter(status__in=[Job.Status.OPEN, Job.Status.PARKED]).order_by("id"),
            "unknown": bool(every) and all(each.state == "empty" for each in every),
        },
    )


def map_of(board: Board, every: Sequence[Spotted]) -> BoardMap:
    """The picture of the board's drawing with what stands at each place; a plain grid without one."""
    return board_map(board.design, {each.trace.ref: each.shape for each in every})


UNKNOWN = ("mains",)
"""What a board may carry of which no drawing says anything."""


def cautions(board: Board) -> list[str]:
    """What to mind before an iron or a finger goes near this board."""
    hazards = board.design.hazards if board.design else UNKNOWN
    return [caution.text for caution in (*of_hazards(hazards), SOLDERING)] + [DEFER]


def _current_tray() -> int:
    """The drawer or tray that the last piece was lifted to."""
    kept = Movement.objects.filter(
        kind=Movement.Kind.LIFT, to_place__type__in=[Place.Type.TRAY, Place.Type.DRAWER]
    )
    return kept.order_by("-id").values_list("to_place_id", flat=True).first() or 0


@page("GET", "HEAD", "POST")
def strip(request: HttpRequest, pk: int) -> HttpResponse:
    """A stripping session: one reference after the other, each lifted to the tray and judged with one key.

    `only` names the references that it goes through, in that order; without, it goes through all.
    """
    this = get_object_or_404(Board.objects.select_related("design", "place"), pk=pk)
    every = positions(this)
    left = [each.trace for each in every if each.state == "filled" and each.trace.ref]
    only = list(dict.fromkeys(request.POST.getlist("only") or request.GET.getlist("only")))
    if only:
        there = {trace.ref: trace for trace in left}
        left = [there[ref] for ref in only if ref in there]
    skipped = set(request.GET.getlist("skip")) | set(request.POST.getlist("skip"))
    waiting = [trace for trace in left if trace.ref not in skipped] or left
    asked = request.POST.get("ref") or request.GET.get("ref") or ""
    tray = number(request, "tray")
    if request.method == "POST":
        judgement = request.POST.get("judge", "")
        if judgement == "skip":
            skipped.add(asked)
        elif judgement in JUDGEMENTS:
            to = get_object_or_404(Place, pk=tray)
            lift = loans.borrow if this.purpose == Board.Purpose.WORKING else reservations.lift
            promised = any(held.promised for trace in left if trace.ref == asked for held in trace.fitted)
            lines = lift(this, [asked], ledger.spot_of(to), by=who(request), condition=JUDGEMENTS[judgement])
            given_up = ", and not promised any more" if promised and judgement == "bad" else ""
            say(request, f"{asked} is in {to.name}, {lines[0].lot.condition}{given_up}.", lines)
        query = urlencode(
            [
                ("tray", str(tray)),
                *(("only", ref) for ref in only),
                *(("skip", ref) for ref in sorted(skipped - {""})),
            ]
        )
        return redirect(f"{reverse('strip', args=[pk])}?{query}")
    trays = storage(paths())
    wanted = asked.strip().upper()
    found = next((trace for trace in left if wanted and trace.ref.upper() == wanted), None)
    here = found or (waiting[0] if waiting else None)
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
            "left": len(left),
            "skipped": sorted(skipped),
            "only": only,
            "trays": trays,
            "tray": tray or _current_tray(),
        },
    )


def _not_here(board: Board, every: Sequence[Spotted], ref: str) -> str:
    """Why a reference that was asked for is not there to be lifted, and where it went."""
    place = next((each for each in every if each.trace.ref.upper() == ref), None)
    if place is None:
        return f"{board.name} has no place {ref}."
    where = "; ".join(f"now in {now}" if now != "missing" else "missing" for _lot, now in place.gone_to)
    return f"{place.trace.ref} is not on {board.name} any more{f': {where}' if where else ''}."


@page("POST")
def remove(request: HttpRequest, pk: int) -> HttpResponse:
    """Take a piece off again, to a tray."""
    this = get_object_or_404(Board.objects.select_related("design", "place"), pk=pk)
    to = get_object_or_404(Place, pk=number(request, "to"))
    ref = request.POST.get("ref", "")
    line: Movement = reservations.remove(this, ref, ledger.spot_of(to), by=who(request))
    say(request, f"{ref} is in {to.name}.", [line])
    return back(request, reverse("board", args=[pk]))
