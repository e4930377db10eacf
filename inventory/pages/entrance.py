"""Signing in, with a limit on guessing; and the first person, who makes a new bench their own."""

from datetime import timedelta
from ipaddress import ip_address
from typing import Any

from django import forms
from django.contrib.auth import login
from django.contrib.auth.models import User
from django.contrib.auth.password_validation import validate_password
from django.contrib.auth.views import LoginView
from django.db import transaction
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.utils import timezone
from django.views.decorators.http import require_http_methods

from inventory.models import SignInFailure
from inventory.roles import OWNER, give_role

MOST = 8
"""Wrong passwords for one name from one address before it must wait; others are not kept out by it."""
WAIT = timedelta(minutes=10)


def address_of(request: HttpRequest) -> str:
    return str(request.META.get("REMOTE_ADDR", ""))[:64]


def _failures(request: HttpRequest, name: str) -> Any:
    since = timezone.now() - WAIT
    return SignInFailure.objects.filter(
        address=address_of(request), name=name.replace("\0", "").lower()[:150], at__gte=since
    )


class SignIn(LoginView):
    """Name and password; after too many wrong ones for a name, that address waits."""

    template_name = "sign-in.html"
    redirect_authenticated_user = True

    def get(self, request: HttpRequest, *args: Any, **kwargs: Any) -> HttpResponse:
        if _may_begin(request):
            return redirect("first-person")
        return super().get(request, *args, **kwargs)

    def post(self, request: HttpRequest, *args: Any, **kwargs: Any) -> HttpResponse:
        name = request.POST.get("username", "")
        if _failures(request, name).count() >= MOST:
            minutes = int(WAIT.total_seconds() // 60)
            form = self.get_form_class()(request)
            told = self.get_context_data(form=form, waits=minutes, typed=name)
            answer = render(request, self.template_name, told, status=429)
            answer["Retry-After"] = str(int(WAIT.total_seconds()))
            return answer
        return super().post(request, *args, **kwargs)

    def form_invalid(self, form: Any) -> HttpResponse:
        name = self.request.POST.get("username", "").replace("\0", "").lower()[:150]
        SignInFailure.objects.filter(at__lt=timezone.now() - WAIT).delete()
        SignInFailure.objects.create(address=address_of(self.request), name=name)
        return super().form_invalid(form)

    def form_valid(self, form: Any) -> HttpResponse:
        _failures(self.request, self.request.POST.get("username", "")).delete()
        return super().form_valid(form)


def _may_begin(request: HttpRequest) -> bool:
    """Whether nobody is known yet and the browser runs on this very machine, with no proxy between."""
    forwarded = any(name in request.META for name in ("HTTP_X_FORWARDED_FOR", "HTTP_FORWARDED"))
    try:
        here = ip_address(address_of(request)).is_loopback
    except ValueError:
        here = False
    return here and not forwarded and not User.objects.exists()


class FirstPerson(forms.ModelForm):  # type: ignore[type-arg]
    password = forms.CharField(max_length=128)

    class Meta:
        model = User
        fields = ("username",)

    def clean_password(self) -> str:
        password: str = self.cleaned_data["password"]
        validate_password(password)
        return password


@require_http_methods(["GET", "HEAD", "POST"])
def first_person(request: HttpRequest) -> HttpResponse:
    """Make the owner of a bench that nobody owns; only from the machine it runs on, and only once."""
    if not _may_begin(request):
        return redirect("sign-in")
    form = FirstPerson(request.POST if request.method == "POST" else None)
    if request.method == "POST" and form.is_valid():
        with transaction.atomic():
            if User.objects.exists():
                return redirect("sign-in")
            person = User.objects.create_user(
                form.cleaned_data["username"], password=form.cleaned_data["password"]
            )
            give_role(person, OWNER)
        login(request, person, backend="django.contrib.auth.backends.ModelBackend")
        return redirect("now")
    return render(request, "first-person.html", {"form": form}, status=400 if form.errors else 200)
