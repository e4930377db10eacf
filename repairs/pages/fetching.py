"""Fetching and fitting: the pick list in walking order, one piece after the other; and a donor compared."""

from collections.abc import Callable, Collection, Hashable, Iterable, Sequence
from dataclasses import dataclass
from itertools import groupby
from typing import TypeVar

from django.core.paginator import Paginator
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, render

from inventory import ledger
from inventory.ledger import Refused
from inventory.models import Board, Holding
from inventory.pages.frame import number, page
from inventory.pages.picking import boards_to_pick, in_box
from inventory.places import paths
from inventory.refs import write_refs
from inventory.whole_numbers import whole_number, whole_numbers
from repairs import readiness
from repairs.answers.transfer import transfer_plan
from repairs.answers.transfer.answer import MissingPosition, PlannedMove
from repairs.explanations import grade, noted
from repairs.hazards import hazards_of, how_it_comes_off
from repairs.models import Job
from repairs.pages.boards import taking_off_form
from repairs.pages.harvest import MAX_REFS, session
from repairs.pages.need_rows import NeedRow, drawn, line_of, need_rows, walk
from repairs.proving.cautions import DEFER, SOLDERING, distinct_texts, of_hazards
from repairs.proving.orientation import note_at_fitting
from repairs.substitutions import judge

T = TypeVar("T")
SETTLED = ("in place", "not wanted")
LINES_ON_A_PAGE = 60
"""So many lines of a comparison, what moves before what does not."""


@dataclass(frozen=True)
class Alike:
    """What is promised of one part from one place for one requirement: fetched by one walk to the drawer."""

    rows: list[NeedRow]
    old: bool
    """Whether something is still where they go."""

    @property
    def first(self) -> NeedRow:
        return self.rows[0]

    @property
    def one_way(self) -> bool:
        """Whether they go in one way round: then each is looked at by itself as it is fitted."""
        return any(_way_round(row) for row in self.rows)

    @property
    def refs(self) -> str:
        """Their positions; nothing for what has none."""
        return write_refs(row.need.ref for row in self.rows if row.need.ref)

    @property
    def quantity(self) -> int:
        return sum(row.promise.quantity for row in self.rows if row.promise)

    @property
    def path(self) -> str:
        """Where they are; on a board, at which positions."""
        if not self.first.on_a_board:
            return self.first.path
        held = [row.promise.holding for row in self.rows if row.promise]
        return f"{held[0].place} {write_refs(each.ref for each in held)}"


def _way_round(row: NeedRow) -> str:
    """What to tell whoever fits it; "" where it goes in either way."""
    if row.promise is None:
        return ""
    return note_at_fitting(row.need.spec.spec, row.promise.holding.lot.part.spec.spec, row.need.note)


def _together(rows: Iterable[NeedRow], filled: Collection[str]) -> list[Alike]:
    """The rows with what is alike as one, in the order in which the first of each stands."""
    groups: dict[Hashable, list[NeedRow]] = {}
    for row in rows:
        assert row.promise is not None  # only what is promised is fetched
        held, need = row.promise.holding, row.need
        what = (held.lot.part_id, held.lot.marking, held.lot.condition, held.place_id, row.on_a_board)
        groups.setdefault((*what, need.spec_id, need.ref in filled), []).append(row)
    return [Alike(each, each[0].need.ref in filled) for each in groups.values()]


def _filled(board: Board | None, rows: Sequence[NeedRow]) -> set[str]:
    """At which of their positions something is still."""
    refs = [row.need.ref for row in rows if row.need.ref]
    if board is None or not refs:
        return set()
    there = Holding.objects.filter(place=board.place_id, quantity__gt=0).exclude(ref="")
    return set(there.values_list("ref", flat=True)) & set(refs)


@page()
def fetch(request: HttpRequest, pk: int) -> HttpResponse:
    """What is promised to a job, as one walks the drawers; the first is the one to fit now.

    `skip` names promises that are left for later.  400 where it is no number: to pass it over would show as
    the one to fit now what somebody left for later.
    """
    this = get_object_or_404(Job.objects.select_related("board__design"), pk=pk)
    asked = [given for given in request.GET.getlist("skip") if given]
    skipped = set(whole_numbers(asked))
    if any(whole_number(given) is None for given in asked):
        return render(request, "bench/unreadable.html", {"name": "skip"}, status=400)
    rows = need_rows(this)
    walked = drawn(walk(rows))
    waiting = [row for row in walked if row.promise and row.promise.pk not in skipped] or walked
    here = waiting[0] if waiting else None
    old = _old(this, here)
    later, filled = [row for row in walked if row is not here], _filled(this.board, walked)
    fitting = _fitting_notes(this, here)
    # What goes in one way round is fitted one by one, each with what is said of its own position.
    every = _together(walked, filled) if here and not (fitting or old or here.on_a_board) else []
    return render(
        request,
        "bench/fetch.html",
        {
            "job": this,
            "here": here,
            "piece": line_of(here.promise.holding.lot) if here and here.promise else "",
            "fitting": fitting,
            "with_it": next((each for each in every if here in each.rows and len(each.rows) > 1), None),
            "stands_in": _stands_in(here),
            "old": old,
            "how_off": how_it_comes_off(old.place.board, old.ref).text if old else "",
            "off": taking_off_form(request, paths()) if old else None,
            "later": [(each, _lift_of(each, this)) for each in _together(later, filled)],
            "skipped": sorted(skipped),
            "all_in": bool(rows and this.board) and all(row.state in SETTLED for row in rows),
            "to_fetch": sum(not row.on_a_board for row in walked),
            "to_lift": sum(row.on_a_board for row in walked),
            "cautions": _cautions(this),
            "lift": _lift_of(Alike([here], old=False), this) if here else "",
        },
    )


def _old(job: Job, row: NeedRow | None) -> Holding | None:
    """What is still where the next piece goes: it is taken off first."""
    if row is None or job.board is None or not row.need.ref:
        return None
    return ledger.piece_at(job.board, row.need.ref)


def _fitting_notes(job: Job, row: NeedRow | None) -> dict[str, str]:
    """Which way round the piece goes in, and which links it asks for."""
    if row is None or row.promise is None or job.board is None or not row.need.ref:
        return {}
    return dict(readiness.fitting_notes(job.board, row.need.ref, row.promise.holding.lot))


def _stands_in(row: NeedRow | None) -> tuple[str, str, str] | None:
    """What the design asks where the piece is not just that, how it serves, and why."""
    if row is None or row.promise is None:
        return None
    lot = row.promise.holding.lot
    fit = judge(row.need, lot)
    if fit.grade == "same":
        return None
    return row.need.spec.text, grade(fit), "; ".join(noted(fit))


def _cautions(job: Job) -> list[str]:
    words = hazards_of(job.board) if job.board is not None else []
    return distinct_texts((*of_hazards(words), SOLDERING))


def _lift_of(alike: Alike, job: Job) -> str:
    """Where pieces that are still on a board are lifted; from there it goes on here."""
    held = [row.promise.holding for row in alike.rows if row.promise]
    if not alike.first.on_a_board:
        return ""
    return session(held[0].place.board.pk, [each.ref for each in held], fetch_for=job.pk)


@page()
def compare(request: HttpRequest, pk: int) -> HttpResponse:
    """What of a donor goes where on the job's board: a work list in lifting order."""
    this = get_object_or_404(Job.objects.select_related("board__design", "board__place"), pk=pk)
    boards = Board.objects.exclude(purpose__in=[Board.Purpose.WORKING]).select_related("design")
    if this.board is not None:
        boards = boards.exclude(pk=this.board.pk)
    box = in_box(request, "from", Board.objects.select_related("design", "place"), "boards")
    donor = box.row
    context: dict[str, object] = {
        "job": this, "boards": boards_to_pick(boards), "donor": donor, "asked_board": box,
    }  # fmt: skip
    if donor is not None:
        try:
            answer = transfer_plan(this, donor)
        except Refused as refusal:
            context["refused"] = refusal.detail
            return render(request, "bench/compare.html", context, status=409)
        lines: list[PlannedMove | MissingPosition] = [*answer.moves, *answer.missing]
        of_page = Paginator(lines, LINES_ON_A_PAGE).get_page(number(request, "page", 1))
        context |= {
            "answer": answer,
            "page": of_page,
            "stages": _stages([each for each in of_page if isinstance(each, PlannedMove)]),
            "missing": _alike(
                [each for each in of_page if isinstance(each, MissingPosition)], lambda each: each.spec_text
            ),
            "left_over": _alike(answer.left_over, lambda each: (each.spec_text, each.condition)),
            "cautions": [each.text for each in answer.cautions],
            "most": MAX_REFS,
            "session": session(donor.pk, [move.ref for move in answer.moves]),
            "filled": write_refs(answer.filled),
            "defer": DEFER,
        }
    return render(request, "bench/compare.html", context, status=400 if box.wrong else 200)


def _stages(moves: Sequence[PlannedMove]) -> list[tuple[str, int, list[list[PlannedMove]]]]:
    """What comes off in each stage, how many pieces, and those together of which the same is said."""
    stages = []
    for words, of_stage in groupby(moves, lambda move: move.stage_words):
        pieces = list(of_stage)
        same = _alike(pieces, lambda move: (move.spec_text, move.condition, move.grade, tuple(move.why)))
        stages.append((words, len(pieces), same))
    return stages


def _alike(rows: Iterable[T], key: Callable[[T], Hashable]) -> list[list[T]]:
    """Rows of one key together, in the order in which the first of each stands."""
    groups: dict[Hashable, list[T]] = {}
    for row in rows:
        groups.setdefault(key(row), []).append(row)
    return list(groups.values())
