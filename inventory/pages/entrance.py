"""Signing in, with a limit on guessing; and the first person, who makes a new bench their own."""

import os
import secrets
import time
from contextlib import suppress
from pathlib import Path
from typing import Any

from django import forms
from django.conf import settings
from django.contrib.auth import login
from django.contrib.auth.models import User
from django.contrib.auth.views import LoginView
from django.core.exceptions import ValidationError
from django.db import transaction
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.utils.crypto import constant_time_compare
from django.views.decorators.http import require_http_methods

from inventory.guessing import ANYWHERE, WAIT, forget, may_try
from inventory.people import add_person
from inventory.roles import OWNER
from inventory.second_factor import factor_of, takes
from inventory.watching import address_of

WORD = Path(settings.HOME) / "first-word"
_MINUTES = int(WAIT.total_seconds() // 60)
_OF_THE_WORD = "the first word"
"""No name, as names have no spaces: tries of the word are counted by it."""
_BACKEND = "django.contrib.auth.backends.ModelBackend"
_HALF = "half signed in"
_LONGEST_CODE = 60


class SignIn(LoginView):
    """Name and password; after too many wrong ones for a name, that address waits."""

    template_name = "sign-in.html"
    redirect_authenticated_user = True

    def get(self, request: HttpRequest, *args: Any, **kwargs: Any) -> HttpResponse:
        if _may_begin():
            return redirect("first-person")
        return super().get(request, *args, **kwargs)

    def post(self, request: HttpRequest, *args: Any, **kwargs: Any) -> HttpResponse:
        name = request.POST.get("username", "")
        if not may_try(address_of(request), name):
            form = self.get_form_class()(request)
            context = self.get_context_data(form=form, waits=_MINUTES, typed=name)
            return _must_wait(render(request, self.template_name, context))
        return super().post(request, *args, **kwargs)

    def form_valid(self, form: Any) -> HttpResponse:
        person = form.get_user()
        if factor_of(person) is not None:  # until the code comes, the password counts as a wrong one
            self.request.session[_HALF] = {
                "person": person.pk, "hash": person.get_session_auth_hash(),
                "at": time.time(), "next": self.get_success_url(),
            }  # fmt: skip
            return redirect("sign-in-code")
        forget(address_of(self.request), self.request.POST.get("username", ""))
        return super().form_valid(form)


@require_http_methods(["GET", "HEAD", "POST"])
def second_step(request: HttpRequest) -> HttpResponse:
    """The code of the second factor, or a recovery code, of whoever gave the right password a moment ago.

    Tries are counted with those of the password, and for the person from all addresses together besides: so
    many as one person needs, and too few to meet one of a million codes.
    """
    half = request.session.get(_HALF, {})
    person = User.objects.filter(pk=half["person"], is_active=True).first() if half else None
    if (
        person is None
        or not constant_time_compare(half["hash"], person.get_session_auth_hash())
        or not 0 <= time.time() - half["at"] < WAIT.total_seconds()
    ):
        request.session.pop(_HALF, None)
        return redirect("sign-in")
    name, wrong = person.get_username(), False
    if request.method == "POST":
        counted = [(address_of(request), name), (ANYWHERE, f"the code of {name}")]
        if not all(may_try(*each) for each in counted):
            return _must_wait(render(request, "sign-in-code.html", {"waits": _MINUTES}))
        if takes(person, request.POST.get("code", "")[:_LONGEST_CODE]):
            for each in counted:
                forget(*each)
            login(request, person, backend=_BACKEND)
            request.session.pop(_HALF, None)
            return redirect(half["next"])
        wrong = True
    return render(request, "sign-in-code.html", {"wrong": wrong}, status=400 if wrong else 200)


def _must_wait(answer: HttpResponse) -> HttpResponse:
    answer.status_code = 429
    answer["Retry-After"] = str(int(WAIT.total_seconds()))
    return answer


def first_word() -> str:
    """The word that lets the first person in, made if need be; in a file that its owner alone reads.

    Whoever starts the server sees it there, and nobody who only reaches the address does, be it through a
    proxy on the same machine.  48 random bits.
    """
    with suppress(FileExistsError), open(WORD, "x", encoding="utf-8", opener=_for_its_owner) as file:
        file.write("-".join(secrets.token_hex(2) for _group in range(3)))
    return WORD.read_text(encoding="utf-8")


def _for_its_owner(path: str, flags: int) -> int:
    return os.open(path, flags, 0o600)


def _may_begin() -> bool:
    """Whether a server was started on a bench that nobody is known at."""
    return WORD.exists() and not User.objects.exists()


class FirstPerson(forms.Form):
    word = forms.CharField(max_length=40)
    username = forms.CharField(max_length=150)
    password = forms.CharField(max_length=128, strip=False)

    def clean_word(self) -> str:
        word: str = self.cleaned_data["word"].lower()
        if not secrets.compare_digest(word.encode(), first_word().encode()):
            raise forms.ValidationError(
                "That is not the setup code. The server shows it as it starts, in its terminal or its log."
            )
        return word


@require_http_methods(["GET", "HEAD", "POST"])
def first_person(request: HttpRequest) -> HttpResponse:
    """Make the owner of a bench that nobody owns; with the word that the server printed, and only once."""
    if not _may_begin():
        return redirect("sign-in")
    form = FirstPerson(request.POST if request.method == "POST" else None)
    if request.method == "POST" and not may_try(address_of(request), _OF_THE_WORD):
        form = FirstPerson()
        return _must_wait(render(request, "first-person.html", {"form": form, "waits": _MINUTES}))
    if request.method == "POST" and form.is_valid():
        data = form.cleaned_data
        try:
            with transaction.atomic():
                if User.objects.exists():
                    return redirect("sign-in")
                person = add_person(data["username"], role=OWNER, password=data["password"])
        except ValidationError as wrong:
            form.add_error(None, wrong)
        else:
            WORD.unlink(missing_ok=True)
            login(request, person, backend=_BACKEND)
            return redirect("now")
    return render(request, "first-person.html", {"form": form}, status=400 if form.errors else 200)
