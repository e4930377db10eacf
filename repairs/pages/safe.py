"""Safe to switch on? The checks of a board in the order of bringing up, and what answers each."""

from dataclasses import dataclass

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, render
from django.urls import reverse

from inventory.ledger import Refused
from inventory.models import Board
from inventory.pages.frame import back, page, say, who, words
from inventory.spec.recorded import AS_DRAWN, WAYS
from repairs import bringing_up, readiness
from repairs.proving.meter import UnreadableReading, read_meter
from repairs.proving.rails import AT_PINS, CHIPS_OUT, OHMS, OPEN, PASS, STAGES, STOP
from repairs.proving.ready import PERSONAL, Item, judge, may_be_accepted

VERDICTS = {"ready": "Ready to switch on", OPEN: "Not yet", STOP: "Stop"}
TITLES = {
    "drawing": "The drawing", "hazards": "What can hurt", "position": "Places filled",
    "fit": "The right parts", "condition": "Tested parts", "bank": "Chips alike", "inspection": "Looked over",
    "supply": "The supply alone", "ohms": "Ohms to ground", "orientation": "Which way round",
    "link": "Wire links", "heatsink": "Heatsinks", "rail": "Volts, chips out", "pins": "Volts at the pins",
}  # fmt: skip
MOST = 10**11  # ohms or volts; nothing larger is kept
STAGE_OF = {"ohms": OHMS, "rail": CHIPS_OUT, "pins": AT_PINS}


@dataclass(frozen=True)
class Check:
    """One item as the page tells it, with what its form needs."""

    item: Item
    settings: tuple[str, ...]

    @property
    def stage(self) -> str:
        return STAGE_OF.get(self.item.check, "")

    @property
    def personal(self) -> bool:
        return self.item.check in PERSONAL

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
    board = _board(pk)
    facts = readiness.facts_of(board)
    judged = judge(facts)
    settings = {link.name: link.settings for link in facts.drawing.links} if facts.drawing else {}
    checks = [
        Check(item, settings.get(item.subject, ()) if item.check == "link" else ()) for item in judged.items
    ]
    unsettled = [check for check in checks if check.item.state != PASS]
    return render(
        request,
        "bench/safe.html",
        {
            "board": board,
            "verdict": VERDICTS[judged.verdict],
            "state": judged.verdict,
            "cautions": judged.cautions,
            "open": [(TITLES[check.item.check], check) for check in unsettled],
            "passed": [(TITLES[check.item.check], check) for check in checks if check.item.state == PASS],
            "exceptions": board.exemptions.filter(withdrawn=None).select_related("by").order_by("id"),
            "ways": [(way, way.replace("_", " ")) for way in WAYS],
        },
    )


def _board(pk: int) -> Board:
    return get_object_or_404(Board.objects.select_related("design", "place"), pk=pk)


def _again(request: HttpRequest, pk: int, done: str) -> HttpResponse:
    say(request, done)
    return back(request, reverse("safe", args=[pk]))


@page("POST")
def link(request: HttpRequest, pk: int) -> HttpResponse:
    """Write down how a link stands."""
    name, setting = request.POST.get("link", ""), request.POST.get("setting", "")
    bringing_up.set_links(_board(pk), {name: setting}, by=who(request))
    return _again(request, pk, f"{name} stands at {setting}.")


@page("POST")
def orientation(request: HttpRequest, pk: int) -> HttpResponse:
    """Write down which way round parts were seen to be."""
    refs, way = request.POST.getlist("ref"), request.POST.get("way", AS_DRAWN)
    right = request.POST.get("right") == "yes"
    if not refs or way not in WAYS:
        raise Refused("nothing_named", "Tick the places that you looked at.")
    bringing_up.confirm_orientation(_board(pk), refs, by=who(request), right=right, way=way)
    return _again(request, pk, f"{', '.join(refs)}: {'right' if right else 'wrong'} way round.")


@page("POST")
def check(request: HttpRequest, pk: int) -> HttpResponse:
    """Confirm one of the checks of the whole board, or say that it was found wrong."""
    name, right = request.POST.get("check", ""), request.POST.get("right") == "yes"
    if name not in PERSONAL:
        raise Refused("unknown_check", "There is no such check.")
    bringing_up.confirm(_board(pk), name, by=who(request), right=right, note=words(request, "note", 400))
    return _again(request, pk, f"{TITLES[name]}: {'in order' if right else 'found wrong'}.")


@page("POST")
def rail(request: HttpRequest, pk: int) -> HttpResponse:
    """Write down a reading on a rail, as the meter shows it."""
    name, stage, text = (request.POST.get(field, "") for field in ("rail", "stage", "reading"))
    refs = request.POST.getlist("ref")
    if stage not in STAGES:
        raise Refused("unknown_stage", "A rail is read in ohms, with the chips out, or at the pins.")
    if stage == AT_PINS and not refs:
        raise Refused("nothing_named", "Tick the places whose pins you measured.")
    quantity = "ohms" if stage == OHMS else "volts"
    try:
        read = read_meter(text, bare=quantity)
    except UnreadableReading as unreadable:
        messages.error(request, f"{name}: {unreadable}", extra_tags="refused")
        return back(request, reverse("safe", args=[pk]))
    amount = read[0].amount
    asked = len(read) == 1 and read[0].quantity == quantity and (amount is not None or stage == OHMS)
    if not asked or (amount is not None and abs(amount) >= MOST):
        raise Refused("unreadable", f"{text!r}: want one reading in {quantity}")
    bringing_up.read_rail(_board(pk), name, stage, amount, by=who(request), refs=refs)
    return _again(request, pk, f"{name}: {read[0].text} is written down.")


@page("POST")
def accept(request: HttpRequest, pk: int) -> HttpResponse:
    """Accept open items as they are, with a reason."""
    why = words(request, "why", 400)
    if not why:
        raise Refused("no_reason", "An exception needs its reason.")
    subjects = request.POST.getlist("subject")
    if not subjects:
        raise Refused("nothing_named", "Tick what you accept as it is.")
    bringing_up.accept(_board(pk), request.POST.get("check", ""), subjects, why, by=who(request))
    return _again(request, pk, "Accepted as it is, under your name.")
