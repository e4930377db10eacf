"""What every page does the same way: who may see it, what a refusal looks like, and the line that undoes."""

import json
import time
from collections.abc import Callable, Mapping, Sequence
from functools import wraps
from typing import Any, Concatenate, ParamSpec
from urllib.parse import urlsplit, urlunsplit

from django.contrib import messages
from django.contrib.auth.decorators import login_required
from django.contrib.auth.models import User
from django.contrib.auth.views import redirect_to_login
from django.db.models import Model
from django.http import HttpRequest, HttpResponse, HttpResponseNotAllowed, HttpResponseRedirect
from django.shortcuts import redirect, render
from django.template.loader import render_to_string
from django.urls import Resolver404, resolve
from django.utils.http import url_has_allowed_host_and_scheme
from django.views.decorators.gzip import gzip_page

from inventory.ledger import Refused
from inventory.models import Movement
from inventory.pages.refilled import refilled
from inventory.part_lines import read_line
from inventory.refs import UnreadableRefs
from inventory.refusals import Code
from inventory.roles import BENCH, VIEWER, may_act_as
from inventory.spec import Spec
from inventory.whole_numbers import MAX_PIECES, whole_number, whole_numbers

P = ParamSpec("P")
View = Callable[Concatenate[HttpRequest, P], HttpResponse]

NOT_KEPT = {"csrfmiddlewaretoken", "once", "password", "old", "new", "code", "first"}
"""What of a refused form is neither kept till its page is shown again nor put back into it."""

MAX_KEPT = 100_000
"""Characters of a refused form, as JSON, that wait for their page."""

KEPT_FOR = 600
"""So many seconds they wait: whoever opens the page later opens it for something else."""


def page(*methods: str, reads: str = VIEWER, writes: str = BENCH) -> Callable[[View[P]], View[P]]:
    """A page for those who may act as `reads`; whatever it changes is changed by POST and by `writes`.

    A refusal that the view does not answer itself is said where the person came from, and nothing is changed.
    What an address asks and a page cannot read is passed over, where the API refuses it: whoever follows a
    worn link sees the page.  Of a name that is given twice the last counts, unless the view reads a list.
    Whoever refuses, what was typed stands in the form again.
    """

    answered = methods or ("GET", "HEAD")

    def decorate(view: View[P]) -> View[P]:
        @wraps(view)
        def guarded(request: HttpRequest, /, *args: P.args, **kwargs: P.kwargs) -> HttpResponse:
            least = writes if request.method == "POST" else reads
            if not may_act_as(request.user, least):
                return render(request, "bench/not-yours.html", {"least": least}, status=403)
            try:
                return _with_what_was_typed(request, view(request, *args, **kwargs), answered)
            except Refused as refusal:
                return _refused(request, refusal.detail)

        @wraps(view)
        def asked(request: HttpRequest, /, *args: P.args, **kwargs: P.kwargs) -> HttpResponse:
            if request.method not in answered:  # a form's address, opened by itself
                stood_on = request.session.get("form_of", {}).get(request.path)
                if stood_on and request.method == "GET":  # by a link of the form as it was refused
                    return redirect(f"{stood_on}?{request.META['QUERY_STRING']}")
                response = HttpResponseNotAllowed(answered)
                if request.user.is_authenticated:
                    response.content = render_to_string("404.html", {"a_form": True}, request)
                return response
            if request.method == "POST" and not request.user.is_authenticated:
                return redirect_to_login(_came_from(request) or "/")  # a form's own address shows nothing
            return login_required(guarded)(request, *args, **kwargs)

        # Compressed although it holds the token of its forms: Django masks that anew in every answer, and
        # pads the answer by a random length besides, so that its size tells nothing of it (BREACH).
        outermost = gzip_page(asked)
        outermost.is_looked_at = "GET" in answered  # type: ignore[attr-defined]
        return outermost

    return decorate


def back(request: HttpRequest, otherwise: str = "/") -> HttpResponse:
    """To the page that the form named, if it is ours; else to where it came from, or `otherwise`."""
    return HttpResponseRedirect(_came_from(request) or otherwise)


def _came_from(request: HttpRequest) -> str:
    for target in (request.POST.get("next", ""), request.headers.get("Referer", "")):
        ours = url_has_allowed_host_and_scheme(target, {request.get_host()}, request.is_secure())
        if target and ours and _is_looked_at(target):
            return target
    return ""


def _refused(request: HttpRequest, why: str) -> HttpResponse:
    """Back to where it was asked, which shows once what was typed and why it was refused."""
    target = urlsplit(_came_from(request))
    page_of_it = urlunsplit(("", "", target.path, target.query, ""))
    if (
        request.method != "POST"
        or not target.path
        or not getattr(resolve(target.path).func, "is_looked_at", False)
    ):
        messages.error(request, why, extra_tags="refused")
        return back(request)
    typed = _typed(request)
    if len(json.dumps(typed)) > MAX_KEPT:
        messages.error(request, f"{why} It was too long to be kept here.", extra_tags="refused")
        return back(request)
    request.session["refused"] = {
        "on": page_of_it, "action": request.path, "typed": typed, "why": why, "at": time.time(),
    }  # fmt: skip
    return HttpResponseRedirect(f"{page_of_it}#refused")


def _typed(request: HttpRequest) -> dict[str, list[str]]:
    """What a form sent, its secrets as names alone: they tell which of several forms it was."""
    return {name: [] if name in NOT_KEPT else sent for name, sent in request.POST.lists()}


def _with_what_was_typed(request: HttpRequest, answer: HttpResponse, answered: Sequence[str]) -> HttpResponse:
    """The answer, where a refused form stands on it with what was typed in it."""
    if answer.streaming or not answer.get("Content-Type", "").startswith("text/html"):
        return answer
    if request.method == "POST" and answer.status_code >= 400:
        if "GET" not in answered:
            request.session["form_of"] = {request.path: urlsplit(_came_from(request)).path}
        answer.content = refilled(answer.content.decode(), request.path, _typed(request))
    elif "refused" in request.session and request.method == "GET" and answer.status_code == 200:
        html = answer.content.decode()
        if "<main" in html:  # not the part of a page that a script draws anew
            answer.content = _with_what_was_refused(request, html)
    return answer


def _with_what_was_refused(request: HttpRequest, html: str) -> str:
    """The page that the refused form stood on, with it; any other page says why alone."""
    kept = request.session.pop("refused")
    if time.time() - kept.get("at", 0) > KEPT_FOR:
        return html
    of_it = kept["on"] == request.get_full_path()
    return refilled(html, kept["action"], kept["typed"], kept["why"], elsewhere=not of_it)


def _is_looked_at(target: str) -> bool:
    """Whether a browser that goes there sees a page: a refused form stands where nothing is looked at."""
    try:
        return bool(getattr(resolve(urlsplit(target).path).func, "is_looked_at", True))
    except Resolver404:
        return False


def notify(
    request: HttpRequest,
    done: str,
    lines: Sequence[Movement] = (),
    promises: Sequence[Model] = (),
    seen: Sequence[Model] = (),
    put_back: tuple[str, Mapping[str, str]] | None = None,
    lead: tuple[str, str] | None = None,
) -> None:
    """Say what was done; where it can be undone, in a line that stays on every page until the next action.

    `put_back` is the address and the form that write again what stood there before; `lead` what goes on from
    here, in words, and its address.
    """
    if lines or promises or seen or put_back:
        request.session["last"] = {
            "done": done,
            "lines": [line.pk for line in lines],
            "promises": [promise.pk for promise in promises],
            "seen": [f"{row._meta.model_name} {row.pk}" for row in seen],
            "put_back": {"address": put_back[0], "form": dict(put_back[1])} if put_back else None,
            "lead": lead,
        }
    else:
        request.session.pop("last", None)
        messages.success(request, done)


def who(request: HttpRequest) -> User:
    """The person at the bench; every page asks them to sign in first."""
    assert isinstance(request.user, User)
    return request.user


def number(request: HttpRequest, name: str, otherwise: int = 0) -> int:
    """A whole number that a form or an address gave; `otherwise` where it is none."""
    given: str = request.POST.get(name, request.GET.get(name, ""))
    read = whole_number(given)
    return otherwise if read is None or read > MAX_PIECES else read


def typed_number(request: HttpRequest, name: str) -> int | None:
    """How many pieces a person typed; None where they typed nothing, refused where it is no whole number."""
    typed = words(request, name, 40)
    read = whole_number(typed)
    if typed and (read is None or read > MAX_PIECES):
        raise Refused(
            Code.OUT_OF_RANGE,
            f"{typed} is no count of pieces: give a whole number, with nothing else beside it.",
        )
    return read


def numbers(request: HttpRequest, name: str) -> list[int]:
    """The whole numbers that a form gave under one name."""
    return whole_numbers(request.POST.getlist(name))


def words(request: HttpRequest, name: str, most: int) -> str:
    """What was typed, without what no database keeps, and not longer than is kept."""
    given: str = request.POST.get(name, request.GET.get(name, ""))
    return given.replace("\0", "").strip()[:most]


def typed_part(request: HttpRequest, name: str, *, kind: str = "", place: str = "") -> Spec:
    """The part that was typed.  Refused (`unreadable`) where a word is not understood, names a position or
    says how many.

    `kind` is what it is known to be; `place` opens the refusal where a page has several such boxes.
    """
    typed = words(request, name, 400)
    read = read_line(typed, kind=kind)
    if read.spec is None or read.unread or read.refs:
        unread = ", ".join([word.text for word in read.unread] or read.refs) or typed or "nothing was typed"
        detail = f"Not understood: {unread}. Write it as 4k7 5% or BC547B; a marking or note has its own box."
        raise Refused(Code.UNREADABLE, f"{place}: {detail}" if place else detail)
    if read.ambiguous:
        detail = f"{read.doubts[0][:1].upper()}{read.doubts[0][1:]}."
        raise Refused(Code.AMBIGUOUS, f"{place}: {detail}" if place else detail)
    if read.quantity is not None:
        detail = f"{read.quantity} says how many, and this is one part: leave it out, or write its unit."
        raise Refused(Code.UNREADABLE, f"{place}: {detail}" if place else detail)
    return read.spec


def change_or_show(
    request: HttpRequest,
    change: Callable[[], str],
    then: str,
    show: Callable[[str], tuple[str, Mapping[str, Any]]],
) -> HttpResponse:
    """A page with forms: a POST changes, says it and leads to `then`; a refusal shows the page again.

    `change` answers what it did in words; `show` takes why it was refused, or nothing, and answers the
    template and what it shows.
    """
    wrong = ""
    if request.method == "POST":
        try:
            notify(request, change())
            return redirect(then)
        except Refused as refused:
            wrong = refused.detail
        except UnreadableRefs as refused:
            wrong = str(refused)
    template, shown = show(wrong)
    return render(request, template, dict(shown), status=400 if wrong else 200)
