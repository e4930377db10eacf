"""Who may sign in, what each may do, and one's own key for the API."""

from typing import Any

from django import forms
from django.contrib import messages
from django.contrib.auth.models import User
from django.contrib.auth.password_validation import validate_password
from django.db import transaction
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from rest_framework.authtoken.models import Token

from inventory.pages.frame import page, say
from inventory.roles import OWNER, ROLES, VIEWER, give_role, role_of


class PersonForm(forms.ModelForm):  # type: ignore[type-arg]
    password = forms.CharField(max_length=128)
    role = forms.ChoiceField(choices=[(role, role) for role in ROLES])

    class Meta:
        model = User
        fields = ("username",)

    def clean_password(self) -> str:
        password: str = self.cleaned_data["password"]
        validate_password(password)
        return password


@page("POST", writes=OWNER)
def add(request: HttpRequest) -> HttpResponse:
    """Somebody new at the bench; what does not do is said on the page, with what was typed."""
    form = PersonForm(request.POST)
    if not form.is_valid():
        return render(request, "bench/person.html", {"form": form, "roles": ROLES}, status=400)
    with transaction.atomic():
        person = User.objects.create_user(
            form.cleaned_data["username"], password=form.cleaned_data["password"]
        )
        give_role(person, form.cleaned_data["role"])
    say(request, f"{person.username} can sign in, as {form.cleaned_data['role']}.")
    return redirect("more")


@page("POST", writes=OWNER)
def change_role(request: HttpRequest, pk: int) -> HttpResponse:
    """Give a person another role; somebody is always left who owns the bench."""
    role = request.POST.get("role", "")
    with transaction.atomic():
        people = {person.pk: person for person in User.objects.select_for_update().prefetch_related("groups")}
        person = get_object_or_404(User, pk=pk)
        others = [other for other in people.values() if other.pk != pk and role_of(other) == OWNER]
        if role not in ROLES:
            messages.error(request, f"A role is one of {', '.join(ROLES)}.", extra_tags="refused")
        elif role != OWNER and not others:
            messages.error(request, "The bench needs an owner: make another one first.", extra_tags="refused")
        else:
            give_role(person, role)
            say(request, f"{person.username} is {role} now.")
    return redirect("more")


@page("POST", writes=VIEWER)
def key(request: HttpRequest) -> HttpResponse:
    """Show one's own key for the API; with `new`, the old one stops working."""
    person: Any = request.user
    if "new" in request.POST:
        Token.objects.filter(user=person).delete()
    token, _made = Token.objects.get_or_create(user=person)
    answer = render(request, "bench/key.html", {"key": token.key})
    answer["Cache-Control"] = "no-store"
    return answer
