"""A second factor for whoever is signed in: turned on by a code of it, and turned off by one."""

import time
from typing import Any

import segno
from django.contrib.auth.models import User
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render

from inventory import second_factor
from inventory.bench_settings import settings_of_bench
from inventory.guessing import ANYWHERE, WAIT, forget, may_try
from inventory.pages.frame import notify, page, who
from inventory.roles import VIEWER
from inventory.watching import address_of

_LONGEST = 128
_OFFERED = "second-factor-offered"
_WRONG = {
    "password": "That is not your password.",
    "first": "That code is wrong or too old: enter the next one. Is the clock of the phone right?",
    "code": "That code is wrong, too old or used already: enter the next one, or a recovery code.",
}


@page("GET", "HEAD", "POST", writes=VIEWER)
def own_second_factor(request: HttpRequest) -> HttpResponse:
    """What is on and what may be done; a secret and recovery codes stand in one answer alone."""
    person, address = who(request), address_of(request)
    offered = 0 <= time.time() - request.session.get(_OFFERED, 0) < WAIT.total_seconds()
    wrong: dict[str, str] = {}
    shown: dict[str, Any] = {}
    if request.method == "POST":
        name = next((each for each in _WRONG if each in request.POST), "password")
        typed, off = request.POST.get(name, "")[:_LONGEST], request.POST.get("do") == "off"
        counted = [(address, person.username)]
        if name == "code":  # as where one signs in: too few to meet one of a million
            counted.append((ANYWHERE, f"the code of {person.username}"))
        if not all(may_try(*each) for each in counted):
            wrong[name] = "Too many wrong ones: wait ten minutes, then try again."
        elif name == "first" and not offered:
            wrong["password"] = "Type your password once more."
        elif (done := _done(person, name, typed, off)) is None:
            wrong[name] = _WRONG[name]
        else:
            shown = done
            for each in counted:
                forget(*each)
            if name == "password":  # whoever finds this browser open later is shown no secret
                request.session[_OFFERED] = time.time()
            if name == "code" and off:
                notify(request, "Your password alone signs you in from now on.")
                return redirect("more")
        if name == "first" and offered and wrong and (secret := second_factor.offered(person)):
            shown = _to_scan(secret, person.username)
    factor = second_factor.factor_of(person)
    context = {"factor": factor, "left": person.recovery_codes.count(), "wrong": wrong, **shown}
    answer = render(request, "bench/second-factor.html", context, status=400 if wrong else 200)
    answer["Cache-Control"] = "no-store"
    return answer


def _done(person: User, name: str, typed: str, off: bool) -> dict[str, Any] | None:
    """Do what the box of this name asks; what is shown of it once.  None where what was typed is wrong."""
    if name == "password":
        right = person.check_password(typed)
        return _to_scan(second_factor.offer(person), person.username) if right else None
    if name == "first":
        codes = second_factor.confirm(person, typed)
        return {"codes": codes} if codes else None
    if not second_factor.takes(person, typed):
        return None
    if off:
        second_factor.turn_off(person)
        return {}
    return {"codes": second_factor.new_recovery_codes(person)}


def _to_scan(secret: str, name: str) -> dict[str, str]:
    issuer = settings_of_bench().name or "Rehome"
    code = segno.make(second_factor.address_for_apps(secret, name, issuer), error="m", micro=False)
    return {
        "secret": " ".join(secret[at : at + 4] for at in range(0, len(secret), 4)),
        # Dark on white, whatever the theme: many a reader takes no code the other way round.
        "qr": code.svg_inline(omitsize=True, svgclass="to-scan", light="#fff"),
    }
