"""Safe to switch on? The checks of a board in the order of bringing up, one step open, and what answers each.

What is refused is said at its check, with everything that was typed still there.  Each form names the version
of the board that was looked at.
"""

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from itertools import groupby

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, render
from django.urls import reverse

from inventory.design_facts import Rail
from inventory.ledger import Refused
from inventory.models import Board
from inventory.pages.form_picture import keep_picture, picture_of
from inventory.pages.frame import back, notify, number, page, who, words
from inventory.pages.once import once
from inventory.refusals import Code
from inventory.spec.recorded import AS_DRAWN, WAYS
from repairs import bringing_up, chips, memory_tests, readiness
from repairs.models import Job
from repairs.proving.board import BoardFacts
from repairs.proving.cautions import PULLING
from repairs.proving.items import PERSONAL, Item, may_be_accepted
from repairs.proving.meter import UnreadableReading
from repairs.proving.rails import AT_PINS, CHIPS_OUT, MIN_OHMS, OHMS, OPEN, PASS, STAGES, STOP, reading_at
from repairs.proving.ready import READY, judge
from repairs.proving_models import AcceptedException, Observed

VERDICTS = {READY: "Ready to switch on", OPEN: "Not yet", STOP: "Stop"}
TITLES = {
    "design": "The design", "hazards": "What can hurt", "position": "Places filled",
    "fit": "The right parts", "condition": "Tested parts", "bank": "Chips alike", "inspection": "Looked over",
    "supply": "The supply alone", "ohms": "Ohms to ground", "orientation": "Which way round",
    "link": "Wire links", "heatsink": "Heatsinks", "first_power": "First power",
    "trial": "Trials of the board", "ohms_in": "Ohms, chips in", "rail": "Volts, chips out",
    "pins": "Volts at the pins",
}  # fmt: skip
TO_DO = {
    "design": "The design names every position, link and rail: bring it in as a spreadsheet, or change it.",
    "hazards": "This stays off. Nothing on this page can change that.",
    "position": "Fit a part at each, or say below why it stays empty.",
    "fit": "Fit what the design asks, or say below why this one may stay.",
    "condition": "Try each part: its page says what to connect and what to expect.",
    "bank": "Fit chips of one kind and make, or say below why these may stand side by side.",
    "inspection": "Take a lens and look at both sides.",
    "supply": "Measure the supply with nothing but a dummy load on it.",
    "ohms": "Board off and unplugged. Meter from the rail to ground, both ways round; write down the lower.",
    "orientation": "Look at each mark, then tick the places that you looked at.",
    "link": "Look at the link itself, not at the design, and press how it is set.",
    "heatsink": "Feel that each is tight, and measure that the tab is not shorted to it.",
    "rail": "Chips out of their sockets. Power on, one hand; meter from the rail to ground.",
    "first_power": "A bulb in series or a bench supply with its limit set; note the amps.",
    "trial": "Find why it failed. A later pass, or the reason, settles it.",
    "ohms_in": "Unplugged again, chips in. Meter from the rail to ground once more.",
    "pins": "Power on. Meter on the supply pin of each chip; power off before the next goes in.",
}  # fmt: skip
STAGE_OF = {"ohms": OHMS, "rail": CHIPS_OUT, "ohms_in": OHMS, "pins": AT_PINS}


Written = tuple[str, Sequence[Observed]]
"""What was written down, in a sentence and as its rows."""


@dataclass(frozen=True)
class Check:
    """One item as the page tells it, with what its form needs."""

    item: Item
    settings: tuple[str, ...] = ()
    expected: str = ""
    """What the meter should show, in the rail's own figures."""
    to_try: Sequence[tuple[str, int]] = ()
    """Positions with the lots in them, where the answer is a trial."""

    @property
    def title(self) -> str:
        return TITLES[self.item.check]

    @property
    def to_do(self) -> str:
        return TO_DO[self.item.check]

    @property
    def key(self) -> str:
        """What the form of this check says of itself, so that what is refused comes back to it."""
        return f"{self.item.check} {self.item.subject or ' '.join(self.item.refs[:3])}".strip()

    @property
    def stage(self) -> str:
        return STAGE_OF.get(self.item.check, "")

    @property
    def personal(self) -> bool:
        return self.item.check in PERSONAL

    @property
    def answered(self) -> bool:
        """Whether what a person says on this page is what decides it; at the pins of no chip nobody can."""
        measured = bool(self.stage) and (self.stage != AT_PINS or bool(self.item.refs))
        return self.personal or measured or self.item.check in ("link", "orientation")

    @property
    def acceptable(self) -> bool:
        return self.item.state != PASS and may_be_accepted(self.item)

    @property
    def mark(self) -> str:
        return {STOP: "✕ stop", PASS: "● passes"}.get(self.item.state, "○ open")

    @property
    def subjects(self) -> tuple[str, ...]:
        """What an exception would name: each position of a grouped item, or the link, rail or bank itself."""
        return (self.item.subject,) if self.item.subject or not self.item.refs else self.item.refs


@dataclass(frozen=True)
class Step:
    """The checks of one sort that stand in the way."""

    checks: Sequence[Check]
    now: bool = False
    """Whether it is the one to do now."""

    @property
    def title(self) -> str:
        return self.checks[0].title

    @property
    def to_do(self) -> str:
        return self.checks[0].to_do

    @property
    def caution(self) -> str:
        return next((check.item.caution for check in self.checks if check.item.caution), "")

    @property
    def stops(self) -> int:
        return sum(check.item.state == STOP for check in self.checks)

    @property
    def subjects(self) -> str:
        named = [each for check in self.checks for each in check.subjects if each]
        return ", ".join(named[:6]) + (f" and {len(named) - 6} more" if len(named) > 6 else "")


def _steps(unsettled: Sequence[Check], out: Sequence[str], wrong_at: str) -> list[Step]:
    """In the order of bringing up; the empty sockets of chips that are out for the measurements come last."""
    waiting = [
        c for c in unsettled if c.item.check == "position" and c.item.refs and set(c.item.refs) <= set(out)
    ]
    ordered = [check for check in unsettled if check not in waiting]
    groups = [list(each) for _name, each in groupby(ordered, key=lambda check: check.item.check)]
    groups += [waiting] if waiting else []
    at = next((i for i, group in enumerate(groups) if any(check.key == wrong_at for check in group)), 0)
    return [Step(tuple(group), now=index == at) for index, group in enumerate(groups)]


@page()
def safe(request: HttpRequest, pk: int) -> HttpResponse:
    """The verdict, what stands in the way in the order of bringing up, and what passes."""
    return _show(request, _board(pk))


def _show(request: HttpRequest, board: Board, *, wrong: str = "", status: int = 200) -> HttpResponse:
    facts = readiness.facts_of(board)
    judged = judge(facts)
    checks = [_check(item, facts) for item in judged.items]
    unsettled = [check for check in checks if check.item.state != PASS]
    sent = request.POST
    at = sent.get("key", "")
    jobs = list(board.jobs.order_by("-id"))
    passed = [check for check in checks if check.item.state == PASS]
    anew = at or words(request, "again", 200)
    again = next((check for check in passed if check.answered and check.key == anew), None)
    wrong_at = at if any(check.key == at for check in [*unsettled, again] if check) else ""
    out = chips.taken_out(board)
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
            "suspects": memory_tests.suspects(board) if memory_tests.failed_as_a_whole(board) else (),
            "open": unsettled,
            "steps": _steps(unsettled, [line.from_ref for line in out], wrong_at),
            "chips_in": chips.in_sockets(board),
            "chips_out": [line.from_ref for line in out],
            "to_measure": any(check.item.check in ("ohms", "rail") for check in unsettled),
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


def _check(item: Item, facts: BoardFacts) -> Check:
    if item.check == "link" and facts.design is not None:
        links = {link.name: link.settings for link in facts.design.links}
        return Check(item, settings=links.get(item.subject, ()))
    if item.check == "condition":
        pieces = {each.ref: each.piece.lot for each in (*facts.positions, *facts.undrawn) if each.piece}
        return Check(item, to_try=[(ref, pieces[ref]) for ref in item.refs])
    if item.check in STAGE_OF and facts.design is not None:
        rail = next((rail for rail in facts.design.rails if rail.name == item.subject), None)
        return Check(item, expected=_expected(rail, STAGE_OF[item.check]) if rail is not None else "")
    return Check(item)


def _expected(rail: Rail, stage: str) -> str:
    where = f", at {rail.at}" if rail.at and stage != AT_PINS else ""
    if stage != OHMS:
        return f"{rail.low} to {rail.high} V{where}"
    least = rail.ohms_low if rail.ohms_low is not None else MIN_OHMS
    most = f"to {rail.ohms_high} Ω" if rail.ohms_high is not None else "Ω or more, or OL"
    return f"{least} {most}{where}"


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
