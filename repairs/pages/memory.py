"""Which chip is it? What a memory test wrote and read back, to the places where those bits live."""

from itertools import groupby
from operator import itemgetter

from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, render

from inventory.design_facts import Span
from inventory.ledger import Refused
from inventory.models import Board
from inventory.pages.form_picture import keep_picture, picture_of
from inventory.pages.frame import notify, page, who, words
from inventory.pages.once import once
from inventory.refs import write_refs
from inventory.refusals import Code
from repairs import memory_tests, readiness
from repairs.memory_tests import MemoryTestResult
from repairs.proving.memory import LONGEST, FaultyAddress, UnreadableFault, read_faults


@page("GET", "HEAD", "POST")
@once
def memory(request: HttpRequest, pk: int) -> HttpResponse:
    """A test is typed as the tester printed it, or one address by itself; the answer names the chips."""
    this = get_object_or_404(Board.objects.select_related("design", "place"), pk=pk)
    found: MemoryTestResult | None = None
    wrong = ""
    if request.method == "POST":
        try:
            found = _write(request, this)
        except Refused as refused:
            wrong = f"{refused.detail}."
        except UnreadableFault as unread:
            wrong = f"{unread}."
        else:
            notify(request, f"{this.name}: the memory test is written down.")
    facts = readiness.facts_of(this)
    context = {
        "board": this,
        "spans": [
            (bank.name, span, _where(span))
            for bank in (facts.design.banks if facts.design else ())
            for span in bank.map
        ],
        "found": found,
        "suspects": found.suspects if found is not None else memory_tests.suspects(this),
        "lots": {ref: piece.lot for ref, piece in facts.fitted.items()},
        "wrong": wrong,
        "typed": request.POST if found is None else {},
    }
    return render(request, "bench/memory.html", context, status=409 if wrong else 200)


def _where(span: Span) -> str:
    """Which bits live in which chip, in short: `D0-D3: IC12, D4-D7: IC13`."""
    return ", ".join(
        f"{write_refs(f'D{bit}' for bit, _ref in bits)}: {ref}"
        for ref, bits in groupby(span.bits, key=itemgetter(1))
    )


def _write(request: HttpRequest, this: Board) -> MemoryTestResult:
    picture = picture_of(request)
    text, note = words(request, "faults", LONGEST), words(request, "note", 400)
    one = [words(request, name, 12) for name in ("address", "wrote", "read")]
    if request.POST.get("passed"):
        if text or any(one):
            raise Refused(Code.CONTRADICTION, "It passed, and there are faults too: clear them")
        faults: tuple[FaultyAddress, ...] = ()
    else:
        if any(one):
            text = f"{text}\n{one[0]}: wrote {one[1]}, read {one[2]}".strip()
        faults = read_faults(text)
    found = memory_tests.write_test(this, faults, by=who(request), note=note)
    keep_picture(
        picture, by=who(request), subject="trial", row=found.trial.pk, note=f"memory test {note}".strip()
    )
    return found
