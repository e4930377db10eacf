"""Designs on pages: the list, a new one by paste, its positions one by one, a copy for another revision."""

from typing import Any

from django.core.paginator import Paginator
from django.db.models import Count
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.urls import reverse

from inventory import designing
from inventory.ledger import Refused
from inventory.models import Design, Position
from inventory.pages.frame import change_or_show, notify, number, page, typed_part, words
from inventory.pages.meanwhile import Meanwhile
from inventory.pages.once import once
from inventory.part_lines import with_unsaid
from inventory.refs import split_ref, write_refs
from inventory.refusals import Code
from inventory.roles import BENCH, may_act_as

ON_A_PAGE, ROWS = 60, 30
LONGEST_PASTE = 200_000
NAME, REVISION = 120, 32


@page()
def designs(request: HttpRequest) -> HttpResponse:
    """Every design with its positions and boards counted."""
    counted = Design.objects.annotate(
        places=Count("positions", distinct=True), made=Count("boards", distinct=True)
    )
    of_page = Paginator(counted.order_by("name", "revision", "id"), ON_A_PAGE)
    may_write = may_act_as(request.user, BENCH)
    return render(
        request,
        "bench/designs.html",
        {"page": of_page.get_page(number(request, "page", 1)), "may_write": may_write},
    )


@page("GET", "HEAD", "POST")
@once
def new_design(request: HttpRequest) -> HttpResponse:
    """A list of parts is pasted, shown as it is read, and kept when every line is understood."""
    name, revision = words(request, "name", NAME), words(request, "revision", REVISION)
    text = _pasted(request)
    lines = designing.read_positions(text)
    wrong = ""
    if request.POST.get("what") == "keep":
        try:
            if not name:
                raise Refused(Code.NO_NAME, "Give the design a name.")
            design = designing.make(name, revision, lines)
        except Refused as refused:
            wrong = refused.detail
        else:
            notify(request, f"{design} has {design.positions.count()} positions.")
            return redirect("positions", design.pk)
    asked: dict[str, object] = {
        "name": name,
        "revision": revision,
        "text": text,
        "lines": lines,
        "wrong": wrong,
    }
    positions = sum(len(line.refs) for line in lines)
    asked |= {"unread": any(line.note for line in lines)}
    asked |= {"count": positions, "bad": sum(bool(line.wrong) for line in lines)}
    return render(request, "bench/design-new.html", asked, status=400 if wrong else 200)


def _pasted(request: HttpRequest) -> str:
    """The lines as pasted, or as they were corrected one by one below."""
    corrected = request.POST.getlist("line")
    pasted = words(request, "text", LONGEST_PASTE)
    return "\n".join(line.replace("\0", "") for line in corrected)[:LONGEST_PASTE] if corrected else pasted


@page("GET", "HEAD", "POST")
@once
def positions(request: HttpRequest, pk: int) -> HttpResponse:
    """The positions of a design, each changed or taken away where it stands, and more of them added."""
    design = get_object_or_404(Design, pk=pk)
    ref = request.POST.get("ref", "")

    def shown(wrong: str) -> tuple[str, dict[str, Any]]:
        rows = sorted(design.positions.select_related("spec"), key=lambda each: split_ref(each.ref))
        alike: dict[object, list[Position]] = {}
        for row in rows:
            alike.setdefault((split_ref(row.ref)[0], row.spec_id, row.socketed), []).append(row)
        leaf = next(
            (at // ROWS + 1 for at, each in enumerate(alike.values()) if any(row.ref == ref for row in each)),
            None,
        )
        of_page = Paginator(list(alike.values()), ROWS)
        return "bench/positions.html", {
            "design": design,
            "count": len(rows),
            "page": of_page.get_page(leaf or number(request, "page", 1)),
            "boards": design.boards.order_by("name"),
            "typed": {"wrong": wrong, "ref": ref, "post": request.POST} if wrong else {},
            "may_write": may_act_as(request.user, BENCH),
        }

    return change_or_show(
        request, lambda: _changed(request, design), f"{reverse('positions', args=[pk])}#{ref}", shown
    )


def _changed(request: HttpRequest, design: Design) -> str:
    """What was done, in words."""
    what, ref = request.POST.get("what", ""), words(request, "ref", 32)
    if what == "add":
        lines = designing.read_positions(
            words(request, "text", LONGEST_PASTE), taken=design.positions.values_list("ref", flat=True)
        )
        if not lines:
            raise Refused(Code.EMPTY, "Write a line such as R1, R3 47k 5% 0.25W.")
        return f"{write_refs(designing.add(design, lines))} added."
    if what not in ("change", "remove"):
        raise Refused(Code.REQUIRED, "Say what is to be done: change, remove or add.")
    position = design.positions.select_related("spec").filter(ref=ref).first()
    if position is None:
        raise Refused(Code.UNKNOWN_POSITION, f"{design} has no position {ref}.")
    form = Meanwhile(request.POST, _as_shown(position), ticks=["socketed"])
    stale, again = form.crossed, "Save again if yours is right."
    if what == "remove":
        stale, again = form.changed, "Take it out again if it is to go all the same."
    if stale:
        stands = ", ".join(_said(position, name) for name in stale)
        request.POST = form.to_show_again()  # type: ignore[assignment]
        detail = f"{ref} was changed since you opened it: {stands}. {again}"
        raise Refused(Code.STALE, detail, version=design.version)
    if what == "remove":
        designing.remove(design, ref)
        return f"{ref} taken out of {design}."
    spec, touched = position.spec.spec, form.touched
    if "line" in touched:
        spec = with_unsaid(spec, typed_part(request, "line", kind=spec.kind, place=ref))
    socketed = bool(request.POST.get("socketed")) if "socketed" in touched else position.socketed
    note = words(request, "note", 400) if "note" in touched else position.note
    designing.change(design, ref, spec, socketed=socketed, note=note)
    return f"{ref} is {spec.text}."


def _as_shown(position: Position) -> dict[str, str]:
    """What the form of a position says under `seen`, in its order."""
    return {"line": position.spec.text, "note": position.note, "socketed": "1" if position.socketed else ""}


def _said(position: Position, name: str) -> str:
    """What stands there now, in words."""
    return {
        "line": position.spec.text,
        "note": f"note: {position.note}" if position.note else "no note",
        "socketed": "in a socket" if position.socketed else "not in a socket",
    }[name]


@page("POST")
@once
def copy_design(request: HttpRequest, pk: int) -> HttpResponse:
    """The same design under another revision; what differs is changed there."""
    design = get_object_or_404(Design, pk=pk)
    name, revision = words(request, "name", NAME) or design.name, words(request, "revision", REVISION)
    made = designing.copy(design, name, revision)
    notify(request, f"{made} begins as {design} is. Change what differs.")
    return redirect("positions", made.pk)
