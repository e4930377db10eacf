"""Safe to switch on? The checks of a board in the order of bringing up, one step open, and what answers each.

What is refused is said at its check, with everything that was typed still there.  Each form names the version
of the board that was looked at.
"""

from collections.abc import Callable, Collection, Sequence

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, render
from django.urls import reverse

from inventory.ledger import Refused
from inventory.models import Board
from inventory.pages.form_picture import keep_picture, picture_of
from inventory.pages.frame import back, notify, number, page, who, words
from inventory.pages.once import once
from inventory.refusals import Code
from inventory.spec.recorded import AS_DRAWN, WAYS
from repairs import bringing_up, chips, memory_tests, readiness
from repairs.models import Job
from repairs.pages.safe_steps import TITLES, check_of, steps_of
from repairs.proving.cautions import PULLING
from repairs.proving.items import PERSONAL
from repairs.proving.meter import UnreadableReading
from repairs.proving.rails import AT_PINS, OPEN, PASS, STAGES, STOP, reading_at
from repairs.proving.ready import READY, judge
from repairs.proving.suspects import Suspect
from repairs.proving_models import AcceptedException, Observed

VERDICTS = {READY: "Ready to switch on", OPEN: "Not yet", STOP: "Stop"}


Written = tuple[str, Sequence[Observed]]
"""What was written down, in a sentence and as its rows."""


@page()
def safe(request: HttpRequest, pk: int) -> HttpResponse:
    """The verdict, what stands in the way in the order of bringing up, and what passes."""
    return _show(request, _board(pk))


def _show(request: HttpRequest, board: Board, *, wrong: str = "", status: int = 200) -> HttpResponse:
    facts = readiness.facts_of(board)
    judged = judge(facts)
    checks = [check_of(item, facts) for item in judged.items]
    unsettled = [check for check in checks if check.item.state != PASS]
    sent = request.POST
    at = sent.get("key", "")
    jobs = list(board.jobs.order_by("-id"))
    passed = [check for check in checks if check.item.state == PASS]
    anew = at or words(request, "again", 200)
    again = next((check for check in passed if check.answered and check.key == anew), None)
    wrong_at = at if any(check.key == at for check in [*unsettled, again] if check) else ""
    out, chips_in = chips.taken_out(board), chips.in_sockets(board)
    to_measure = any(check.item.check in ("ohms", "rail") for check in unsettled)
    accepted = (
        f", {judged.accepted} accepted by {' and '.join(judged.accepted_by)}" if judged.accepted else ""
    )
    return render(
        request,
        "bench/safe.html",
        {
            "board": board,
            "verdict": VERDICTS[judged.verdict] + (accepted if judged.verdict == READY else ""),
            "state": judged.verdict,
            "cautions": judged.cautions,
            "pulling": PULLING.text,
            "suspects": _beyond(board, {check.item.check for check in unsettled}),
            "open": unsettled,
            "steps": steps_of(
                unsettled, [line.from_ref for line in out], wrong_at, lift=bool(chips_in) and to_measure
            ),
            "chips_in": chips_in,
            "chips_out": [line.from_ref for line in out],
            "to_measure": to_measure,
            "seen": board.version,
            "passed": passed,
            "again": again,
            "exceptions": board.exceptions.filter(withdrawn=None).select_related("by").order_by("id"),
            "ways": [(way, way.replace("_", " ")) for way in WAYS],
            "jobs": jobs,
            "open_jobs": [job for job in jobs if job.status == Job.Status.OPEN],
            "mapped": facts.design is not None and any(bank.map for bank in facts.design.banks),
            "wrong": wrong,
            "wrong_at": wrong_at,
            "typed": sent,
            "ticked": [*sent.getlist("ref"), *sent.getlist("subject")],
        },
        status=status,
    )


def _beyond(board: Board, listed: Collection[str]) -> list[Suspect]:
    """What to try on a board that failed as a whole, beside the steps that the page lists anyway."""
    if not memory_tests.failed_as_a_whole(board):
        return []
    return [each for each in memory_tests.suspects(board) if each.kind not in listed]


def _board(pk: int) -> Board:
    return get_object_or_404(Board.objects.select_related("design", "place"), pk=pk)


def _looked_at(request: HttpRequest) -> int | None:
    """The version of the board that the form was made for."""
    return number(request, "seen") or None


def _write(
    request: HttpRequest, pk: int, write: Callable[[Board], Written], *, ref: str = ""
) -> HttpResponse:
    """Write something down with the picture that came with it; what is refused is said at its check."""
    board = _board(pk)
    try:
        picture = picture_of(request)
        done, rows = write(board)
    except (Refused, UnreadableReading) as refused:
        return _show(request, board, wrong=getattr(refused, "detail", str(refused)), status=409)
    note = words(request, "note", 400)
    keep_picture(
        picture, by=who(request), subject="board", row=board.pk, ref=ref, note=f"{done} {note}".strip()
    )
    notify(request, done, seen=rows)
    return back(request, reverse("safe", args=[pk]))


@page("POST")
@once
def link(request: HttpRequest, pk: int) -> HttpResponse:
    """Write down how a link stands."""
    name, setting = request.POST.get("link", ""), request.POST.get("setting", "")

    def write(board: Board) -> Written:
        note = words(request, "note", 400)
        made = bringing_up.set_links(
            board, {name: setting}, by=who(request), note=note, seen=_looked_at(request)
        )
        return f"{name} stands at {setting}.", made

    return _write(request, pk, write)


@page("POST")
@once
def orientation(request: HttpRequest, pk: int) -> HttpResponse:
    """Write down which way round parts were seen to be."""
    every = request.POST.get("all") == "yes"
    refs, way = request.POST.getlist("of" if every else "ref"), request.POST.get("way", AS_DRAWN)
    right = every or request.POST.get("right") == "yes"

    def write(board: Board) -> Written:
        if not refs or way not in WAYS:
            raise Refused(Code.REQUIRED, "Tick the places that you looked at.")
        note = words(request, "note", 400)
        made = bringing_up.confirm_orientation(
            board, refs, by=who(request), right=right, way=way, note=note, seen=_looked_at(request)
        )
        return f"{', '.join(refs)}: {'right' if right else 'wrong'} way round.", made

    return _write(request, pk, write, ref=refs[0] if len(refs) == 1 else "")


@page("POST")
@once
def check(request: HttpRequest, pk: int) -> HttpResponse:
    """Confirm one of the checks of the whole board, or say that it was found wrong."""
    name, right = request.POST.get("check", ""), request.POST.get("right") == "yes"

    def write(board: Board) -> Written:
        if name not in PERSONAL:
            raise Refused(Code.UNKNOWN, "There is no such check.")
        note = words(request, "note", 400)
        made = bringing_up.confirm(
            board, name, by=who(request), right=right, note=note, seen=_looked_at(request)
        )
        return f"{TITLES[name]}: {'in order' if right else 'found wrong'}.", [made]

    return _write(request, pk, write)


@page("POST")
@once
def rail(request: HttpRequest, pk: int) -> HttpResponse:
    """Write down a reading on a rail, as the meter shows it."""
    name, stage, text = (request.POST.get(field, "") for field in ("rail", "stage", "reading"))
    refs = request.POST.getlist("ref")

    def write(board: Board) -> Written:
        if stage not in STAGES:
            raise Refused(Code.UNKNOWN, "A rail is read in ohms, with the chips out, or at the pins.")
        if stage == AT_PINS and not refs:
            raise Refused(Code.REQUIRED, "Tick the places whose pins you measured.")
        read = reading_at(stage, text)
        note = words(request, "note", 400)
        made = bringing_up.read_rail(
            board, name, stage, read.amount, by=who(request), refs=refs, note=note, seen=_looked_at(request)
        )
        return f"{name}: {read.text} is written down.", made

    return _write(request, pk, write, ref=refs[0] if len(refs) == 1 else "")


@page("POST")
@once
def accept(request: HttpRequest, pk: int) -> HttpResponse:
    """Accept open items as they are, with a reason."""
    why, subjects = words(request, "why", 400), request.POST.getlist("subject")

    def write(board: Board) -> Written:
        if not why:
            raise Refused(Code.REQUIRED, "An exception needs its reason.")
        if not subjects:
            raise Refused(Code.REQUIRED, "Tick what you accept as it is.")
        made = bringing_up.accept(
            board, request.POST.get("check", ""), subjects, why, by=who(request), seen=_looked_at(request)
        )
        return "Accepted as it is, under your name.", made

    return _write(request, pk, write)


@page("POST")
def withdraw(request: HttpRequest, pk: int) -> HttpResponse:
    """Take an exception back: what it accepted is open again."""
    accepted = get_object_or_404(AcceptedException.objects.select_related("board"), pk=pk)
    try:
        bringing_up.take_back([accepted])
    except Refused as refused:
        messages.error(request, f"{refused.detail}.", extra_tags="refused")
    else:
        notify(request, f"Taken back: {TITLES[accepted.item].lower()} {accepted.subject}".rstrip() + ".")
    return back(request, reverse("safe", args=[accepted.board_id]))


@page("POST")
@once
def move_chips(request: HttpRequest, pk: int) -> HttpResponse:
    """Lift the chips that wait for a rail to a tray, or put them back where they came out."""
    board = _board(pk)
    out = request.POST.get("chips") == "out"
    try:
        lines = (chips.take_out if out else chips.put_back)(board, by=who(request))
    except Refused as refused:
        return _show(request, board, wrong=refused.detail, status=409)
    refs = ", ".join(line.from_ref if out else line.to_ref for line in lines)
    notify(
        request,
        f"{refs}: {f'out, in the tray {lines[0].to_place.name}' if out else 'back in'}.",
        lines=lines if out else (),
    )
    return back(request, reverse("safe", args=[pk]))
