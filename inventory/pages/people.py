"""Who may sign in and what each may do, for the owner; and the keys of whoever is signed in."""

from typing import Any

from django.contrib.auth import update_session_auth_hash
from django.contrib.auth.models import User
from django.core.exceptions import ValidationError
from django.core.paginator import Paginator
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.urls import reverse

from inventory.guessing import forget, may_try
from inventory.keys import make_key
from inventory.keys import revoke as revoke_key
from inventory.ledger import Refused
from inventory.models import AccessChange, AccessKey, Board, Lot, Person
from inventory.ownership import who_may_own
from inventory.pages.frame import notify, number, page, who, words
from inventory.people import add_person, change_person, last_seen, set_password
from inventory.people import people as everybody
from inventory.refusals import Code
from inventory.roles import BENCH, OWNER, ROLES, VIEWER, may_act_as
from inventory.second_factor import turn_off_of_another
from inventory.watching import address_of

MAY = {
    "owner": "everything, people and settings too",
    "bench": "the work of the bench",
    "viewer": "look on, change nothing",
}

MAX_CHANGES = 30
ON_A_PAGE = 60


@page("GET", "HEAD", "POST", reads=OWNER, writes=OWNER)
def people(request: HttpRequest) -> HttpResponse:
    """Everybody, and the form for somebody new; what does not do is said beside it, with what was typed."""
    wrong: dict[str, list[str]] = {}
    if request.method == "POST":
        name, role = words(request, "username", 200), request.POST.get("role", BENCH)
        try:
            add_person(name, role=role, password=request.POST.get("password", ""))
        except ValidationError as refused:
            wrong = refused.message_dict
        else:
            notify(request, f"{name} can sign in, as {role}.")
            return redirect("people")
    of_page = Paginator(everybody(), ON_A_PAGE).get_page(number(request, "page", 1))
    context = {
        "page": of_page,
        "people": [(person, last_seen(person)) for person in of_page],
        "changes": AccessChange.objects.order_by("-id")[:MAX_CHANGES],
        "wrong": wrong,
        "typed": request.POST,
        "role": request.POST.get("role", BENCH),
        "roles": [(role, MAY[role]) for role in ROLES],
    }
    return render(request, "bench/people.html", context, status=400 if wrong else 200)


@page("GET", "HEAD", "POST", reads=OWNER, writes=OWNER)
def person(request: HttpRequest, pk: int) -> HttpResponse:
    """One person: role, standing, password and keys; somebody is always left who owns the bench."""
    one = get_object_or_404(everybody(), pk=pk)
    wrong: list[str] = []
    if request.method == "POST":
        try:
            notify(request, _changed(one, request.POST, who(request)))
            if one.pk == request.user.pk:
                update_session_auth_hash(
                    request, one
                )  # a new password of one's own signs out elsewhere alone
        except ValidationError as refused:
            wrong = refused.messages
        else:
            return redirect("person", pk=pk)
    lots, boards = Lot.objects.filter(owner=one).count(), Board.objects.filter(owner=one).count()
    context = {
        "person": one,
        "seen": last_seen(one),
        "keys": one.access_keys.order_by("-made_at", "-id"),
        "roles": [(role, MAY[role]) for role in ROLES],
        "wrong": wrong,
        "lots": lots,
        "boards": boards,
        "theirs": lots or boards,
        "heirs": who_may_own() if lots or boards else [],
        "oneself": one.pk == request.user.pk,
    }
    return render(request, "bench/person.html", context, status=400 if wrong else 200)


def _changed(one: Person, sent: Any, by: User) -> str:
    """Do what the form asks of a person, and tell it."""
    if "password" in sent:
        set_password(one, sent["password"])
        return f"{one.username} has a new password; tell it to them."
    if sent.get("active") in ("0", "1"):
        change_person(one, active=sent["active"] == "1")
        return f"{one.username} " + ("may sign in again." if one.is_active else "is shut out, keys too.")
    if sent.get("second_factor") == "0":
        turn_off_of_another(one, by)
        return f"{one.username} signs in with the password alone."
    if sent.get("role") not in ROLES:
        raise Refused(Code.UNREADABLE, f"A role is one of {', '.join(ROLES)}.")
    change_person(one, role=sent["role"])
    return f"{one.username} is {one.role} now."


@page("GET", "HEAD", "POST", writes=VIEWER)
def keys(request: HttpRequest) -> HttpResponse:
    """One's own keys; a new one is shown here and never again."""
    made, key, wrong = None, "", ""
    name = words(request, "name", 60)
    if request.method == "POST":
        try:
            if not name or not name.isprintable():
                raise Refused(Code.UNREADABLE, "Say what will use it, such as: the scales in the shed.")
            made, key = make_key(who(request), name)
        except Refused as refused:
            wrong = refused.detail
    context = {
        "keys": who(request).access_keys.order_by("-made_at", "-id"),
        "made": made,
        "key": key,
        "typed": name if wrong else "",
        "wrong": wrong,
    }
    answer = render(request, "bench/keys.html", context, status=400 if wrong else 200)
    answer["Cache-Control"] = "no-store"
    return answer


@page("GET", "HEAD", "POST", writes=VIEWER)
def own_password(request: HttpRequest) -> HttpResponse:
    """Another password for whoever is signed in and still knows the one they have."""
    wrong: dict[str, str] = {}
    if request.method == "POST":
        person = who(request)
        if not may_try(address_of(request), person.username):
            wrong["old"] = "Too many wrong ones: wait ten minutes, then try again."
        elif not person.check_password(request.POST.get("old", "")):
            wrong["old"] = "That is not your password now. Forgotten? An owner can give you a new one."
        else:
            forget(address_of(request), person.username)
            try:
                set_password(person, request.POST.get("new", ""))
            except ValidationError as refused:
                wrong["new"] = " ".join(refused.messages)
        if not wrong:
            update_session_auth_hash(request, person)
            notify(request, "Your password is changed; you have been signed out everywhere else.")
            return redirect("more")
    return render(request, "bench/password.html", {"wrong": wrong}, status=400 if wrong else 200)


@page("POST", writes=VIEWER)
def revoke(request: HttpRequest, pk: int) -> HttpResponse:
    """Make a key useless: one's own or, for an owner, anybody's."""
    key = get_object_or_404(AccessKey.objects.select_related("person"), pk=pk)
    own = key.person_id == request.user.pk
    if not own and not may_act_as(request.user, OWNER):
        return render(request, "bench/not-yours.html", {"least": OWNER}, status=403)
    revoke_key(key)
    notify(request, f"The key {key.name} of {key.person.username} no longer works.")
    return redirect("keys" if own else reverse("person", args=[key.person_id]))
