"""Safe to switch on? The checks of a board in the order of bringing up, and what answers each.

What is refused is said at its check, with everything that was typed still there.
"""

from collections.abc import Callable, Sequence
from dataclasses import dataclass

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, render
from django.urls import reverse

from inventory.ledger import Refused
from inventory.models import Board
from inventory.pages.beside import keep_picture, picture_of
from inventory.pages.frame import back, page, say, who, words
from inventory.pages.once import once
from inventory.spec.recorded import AS_DRAWN, WAYS
from repairs import bringing_up, readiness
from repairs.models import Job
from repairs.proving.board import BoardFacts
from repairs.proving.meter import UnreadableReading
from repairs.proving.rails import AT_PINS, CHIPS_OUT, OHMS, OPEN, PASS, STAGES, STOP, reading_at
from repairs.proving.ready import PERSONAL, Item, judge, may_be_accepted
from repairs.proving_models import Exemption, Observed

VERDICTS = {"ready": "Ready to switch on", OPEN: "Not yet", STOP: "Stop"}
TITLES = {
    "drawing": "The drawing", "hazards": "What can hurt", "position": "Places filled",
    "fit": "The right parts", "condition": "Tested parts", "bank": "Chips alike", "inspection": "Looked over",
    "supply": "The supply alone", "ohms": "Ohms to ground", "orientation": "Which way round",
    "link": "Wire links", "heatsink": "Heatsinks", "rail": "Volts, chips out", "pins": "Volts at the pins",
}  # fmt: skip
TO_DO = {
    "drawing": "Bring the drawing in as a spreadsheet, with every place, link and rail.",
    "hazards": "This stays off. Nothing on this page can change that.",
    "position": "Fit a part at each, or say below why it stays empty.",
    "fit": "Fit what the drawing wants, or say below why this one may stay.",
    "condition": "Try each part: its page says what to connect and what to expect.",
    "bank": "Fit chips of one kind and make, or say below why these may stand side by side.",
    "inspection": "Take a lens and look at both sides.",
    "supply": "Measure the supply with nothing but a dummy load on it.",
    "ohms": "Board off and unplugged. Meter from the rail to ground, both ways round; write down the lower.",
    "orientation": "Look at each mark, then tick the places that you looked at.",
    "link": "Look at the link itself, not at the drawing, and press where it stands.",
    "heatsink": "Feel that each is tight, and measure that the tab is not shorted to it.",
    "rail": "Chips out of their sockets. Power on, one hand; meter from the rail to ground.",
    "pins": "Chips still out. Meter on the supply pin of each socket.",
}  # fmt: skip
STAGE_OF = {"ohms": OHMS, "rail": CHIPS_OUT, "pins": AT_PINS}


Written = tuple[str, Sequence[Observed]]
"""What was written down, in a sentence and as its rows."""


@dataclass(frozen=True)
class Check:
    """One item as the page tells it, with what its form needs."""

    item: Item
    settings: tuple[str, ...] = ()
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
    def subjects(self) -> tuple[str, ...]:
        """What an exception would name: each position of a grouped item, or the link, rail or bank itself."""
        return (self.item.subject,) if self.item.subject or not self.item.refs else self.item.refs


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
    return render(
        request,
        "bench/safe.html",
        {
            "board": board,
            "verdict": VERDICTS[judged.verdict],
            "state": judged.verdict,
            "cautions": judged.cautions,
            "open": unsettled,
            "passed": passed,
            "again": again,
            "exceptions": board.exemptions.filter(withdrawn=None).select_related("by").order_by("id"),
            "ways": [(way, way.replace("_", " ")) for way in WAYS],
            "jobs": jobs,
            "open_jobs": [job for job in jobs if job.status == Job.Status.OPEN],
            "mapped": facts.drawing is not None and any(bank.map for bank in facts.drawing.banks),
            "wrong": wrong,
            "wrong_at": at if any(check.key == at for check in [*unsettled, again] if check) else "",
            "typed": sent,
            "ticked": [*sent.getlist("ref"), *sent.getlist("subject")],
        },
        status=status,
    )


def _check(item: Item, facts: BoardFacts) -> Check:
    if item.check == "link" and facts.drawing is not None:
        links = {link.name: link.settings for link in facts.drawing.links}
        return Check(item, settings=links.get(item.subject, ()))
    if item.check == "condition":
        return Check(item, to_try=[(ref, facts.fitted[ref].lot) for ref in item.refs])
    return Check(item)


def _board(pk: int) -> Board:
    return get_object_or_404(Board.objects.select_related("design", "place"), pk=pk)


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
    say(request, done, seen=rows)
    return back(request, reverse("safe", args=[pk]))


@page("POST")
@once
def link(request: HttpRequest, pk: int) -> HttpResponse:
    """Write down how a link stands."""
    name, setting = request.POST.get("link", ""), request.POST.get("setting", "")

    def write(board: Board) -> Written:
        note = words(request, "note", 400)
        made = bringing_up.set_links(board, {name: setting}, by=who(request), note=note)
        return f"{name} stands at {setting}.", made

    return _write(request, pk, write)


@page("POST")
@once
def orientation(request: HttpRequest, pk: int) -> HttpResponse:
    """Write down which way round parts were seen to be."""
    refs, way = request.POST.getlist("ref"), request.POST.get("way", AS_DRAWN)
    right = request.POST.get("right") == "yes"

    def write(board: Board) -> Written:
        if not refs or way not in WAYS:
            raise Refused("nothing_named", "Tick the places that you looked at.")
        note = words(request, "note", 400)
        made = bringing_up.confirm_orientation(board, refs, by=who(request), right=right, way=way, note=note)
        return f"{', '.join(refs)}: {'right' if right else 'wrong'} way round.", made

    return _write(request, pk, write, ref=refs[0] if len(refs) == 1 else "")


@page("POST")
@once
def check(request: HttpRequest, pk: int) -> HttpResponse:
    """Confirm one of the checks of the whole board, or say that it was found wrong."""
    name, right = request.POST.get("check", ""), request.POST.get("right") == "yes"

    def write(board: Board) -> Written:
        if name not in PERSONAL:
            raise Refused("unknown_check", "There is no such check.")
        note = words(request, "note", 400)
        made = bringing_up.confirm(board, name, by=who(request), right=right, note=note)
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
            raise Refused("unknown_stage", "A rail is read in ohms, with the chips out, or at the pins.")
        if stage == AT_PINS and not refs:
            raise Refused("nothing_named", "Tick the places whose pins you measured.")
        read = reading_at(stage, text)
        note = words(request, "note", 400)
        made = bringing_up.read_rail(board, name, stage, read.amount, by=who(request), refs=refs, note=note)
        return f"{name}: {read.text} is written down.", made

    return _write(request, pk, write, ref=refs[0] if len(refs) == 1 else "")


@page("POST")
@once
def accept(request: HttpRequest, pk: int) -> HttpResponse:
    """Accept open items as they are, with a reason."""
    why, subjects = words(request, "why", 400), request.POST.getlist("subject")

    def write(board: Board) -> Written:
        if not why:
            raise Refused("no_reason", "An exception needs its reason.")
        if not subjects:
            raise Refused("nothing_named", "Tick what you accept as it is.")
        made = bringing_up.accept(board, request.POST.get("check", ""), subjects, why, by=who(request))
        return "Accepted as it is, under your name.", made

    return _write(request, pk, write)


@page("POST")
def withdraw(request: HttpRequest, pk: int) -> HttpResponse:
    """Take an exception back: what it accepted is open again."""
    exemption = get_object_or_404(Exemption.objects.select_related("board"), pk=pk)
    try:
        bringing_up.take_back([exemption])
    except Refused as refused:
        messages.error(request, f"{refused.detail}.", extra_tags="refused")
    else:
        say(request, f"Taken back: {TITLES[exemption.item].lower()} {exemption.subject}".rstrip() + ".")
    return back(request, reverse("safe", args=[exemption.board_id]))
