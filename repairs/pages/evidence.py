"""Evidence: one's own goes out in a file; what others found is looked at, taken in, put away, deleted."""

from typing import Any

from django.core.files.uploadedfile import SimpleUploadedFile
from django.core.paginator import Paginator
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render

from inventory.ledger import Refused
from inventory.pages import aside
from inventory.pages.frame import notify, number, page, who, words
from inventory.pages.once import once
from inventory.refusals import Code
from inventory.roles import BENCH, OWNER, may_act_as
from repairs.api.evidence import EvidenceBrought, EvidenceFiles, EvidenceFileWhole, evidence_of
from repairs.friends import findings
from repairs.friends.files import BadFile
from repairs.sharing_models import EvidenceTaken, Friend

KIND = "evidence-file"
ON_A_PAGE = 50
_STATES = {
    findings.CONTRADICTS: "Against what was found here",
    findings.NEW: "New here",
    findings.HERE: "Found here too",
}


@page()
def evidence(request: HttpRequest) -> HttpResponse:
    """What was found here, and the files of others."""
    return _shown(request, {})


def _shown(request: HttpRequest, more: dict[str, Any], status: int = 200) -> HttpResponse:
    asked: dict[str, Any] = {
        "answer": EvidenceFiles.now(),
        "friends": Friend.objects.order_by("name"),
        "may_write": may_act_as(request.user, BENCH),
        "post": request.POST,
    }
    return render(request, "bench/evidence.html", asked | more, status=status)


@page("POST")
@once
def file(request: HttpRequest) -> HttpResponse:
    """A file is uploaded and shown beside what is here; a second press takes it in."""
    try:
        return _taken_in(request) if "keep" in request.POST else _looked_at(request)
    except Refused as refused:
        status = refused.status if isinstance(refused, BadFile) else 400
        return _shown(request, {"wrong": refused.detail}, status)


def _looked_at(request: HttpRequest) -> HttpResponse:
    sent = request.FILES.get("file")
    if sent is None:
        raise Refused(Code.REQUIRED, "Choose the file that you were given: its name ends in .json.")
    document = evidence_of(sent)
    seen = findings.look(document, *_whose(request))
    sent.seek(0)
    kept = aside.put_aside(who(request), sent, KIND)
    brought = EvidenceBrought.of(seen, None)
    return _shown(request, {"brought": brought, "groups": _groups(brought.lines), "kept": kept})


def _groups(lines: Any) -> list[tuple[str, list[Any]]]:
    groups = [(text, [line for line in lines if line.state == state]) for state, text in _STATES.items()]
    return [each for each in groups if each[1]]


def _whose(request: HttpRequest) -> tuple[str, Friend | None]:
    return words(request, "source", 120), Friend.objects.filter(pk=number(request, "friend")).first()


def _taken_in(request: HttpRequest) -> HttpResponse:
    kept = aside.find(who(request), words(request, "kept", 32))
    if kept is None or kept.kind != KIND:
        raise Refused(Code.GONE, "The file is no longer kept: choose it again.")
    document = evidence_of(SimpleUploadedFile(kept.name, kept.path.read_bytes()))
    taken, seen = findings.take(document, *_whose(request), by=who(request))
    aside.discard(kept)
    found = len(seen.lines)
    kept_words = (
        "1 thing that was found there is kept" if found == 1 else f"{found} things found there are kept"
    )
    still = ", and put away as the last file was" if taken.put_away else ""
    notify(request, f"{taken.source}: {kept_words}{still}.")
    return redirect("evidence-taken", taken.pk)


@page("GET", "HEAD", "POST")
@once
def taken(request: HttpRequest, pk: int) -> HttpResponse:
    """All that a file says; a POST puts it away or brings it out again."""
    row = get_object_or_404(EvidenceTaken, pk=pk)
    if request.method == "POST":
        findings.put_away(row, "away" in request.POST)
        notify(request, "It is put away and has no effect." if row.put_away else "It holds again.")
        return redirect("evidence-taken", pk)
    whole = EvidenceFileWhole.of(row)
    lines = [line for _text, group in _groups(whole.lines) for line in group]
    return render(
        request,
        "bench/evidence-taken.html",
        {
            "file": whole.file,
            "page": Paginator(lines, ON_A_PAGE).get_page(number(request, "page", 1)),
            "may_write": may_act_as(request.user, BENCH),
            "owner": may_act_as(request.user, OWNER),
        },
    )


@page("POST", writes=OWNER)
@once
def delete(request: HttpRequest, pk: int) -> HttpResponse:
    """What came with the file goes; what was found here is not touched."""
    row = get_object_or_404(EvidenceTaken, pk=pk)
    notify(request, f"What came from {row.source} is deleted.")
    row.delete()
    return redirect("evidence")
