"""The settings of the whole bench: its name, the era of its parts, its sheets of labels, its address."""

from urllib.parse import urlsplit

from django import forms
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render

from inventory.bench_settings import set_bench, settings_of_bench
from inventory.labels import STOCKS
from inventory.pages.frame import page, say
from inventory.roles import OWNER


class BenchForm(forms.Form):
    name = forms.CharField(max_length=60, required=False)
    era = forms.RegexField(r"^(19|20)\d\d\Z", required=False, error_messages={"invalid": "A year, as 1984."})
    labels = forms.ChoiceField(
        choices=[("", "no matter which"), *((name, name) for name in STOCKS)], required=False
    )
    address = forms.CharField(max_length=200, required=False)

    def clean_address(self) -> str:
        address: str = self.cleaned_data["address"].rstrip("/")
        try:
            parts = urlsplit(address)
            known = not address or (parts.scheme in ("http", "https") and bool(parts.hostname))
        except ValueError:
            known = False
        if not known:
            raise forms.ValidationError("An address is such as http://10.0.0.7:8000")
        return address


@page("GET", "HEAD", "POST", writes=OWNER)
def settings(request: HttpRequest) -> HttpResponse:
    """What is set, and the form that sets it; the owner alone changes it."""
    now = settings_of_bench()
    form = BenchForm(request.POST if request.method == "POST" else None)
    if request.method == "POST" and form.is_valid():
        set_bench(**form.cleaned_data)
        say(request, "It is set.")
        return redirect("bench-settings")
    told = {
        "form": form,
        "now": form.data if form.errors else now,
        "stocks": STOCKS.values(),
        "here": request.build_absolute_uri("/").rstrip("/"),
    }
    return render(request, "bench/settings.html", told, status=400 if form.errors else 200)
