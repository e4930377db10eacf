"""What this program is, what it stands on, where the data lies, and every caution in one place."""

import re
from collections.abc import Iterator
from dataclasses import dataclass
from functools import cache
from importlib.metadata import Distribution, PackageNotFoundError, distribution

from django.conf import settings
from django.db import connection
from django.http import HttpRequest, HttpResponse
from django.shortcuts import render

from inventory.pages.frame import page
from inventory.roles import OWNER, may_act_as
from repairs.proving.cautions import DEFER, EVERY, SUMMARY

STEPS = {
    "mains": "Lifting from mains equipment",
    "high_voltage": "High voltage",
    "stored_charge": "Stored charge",
    "crt": "Picture tubes",
    "lithium": "Lithium cells",
    "nicd": "Leaked NiCd cells",
    "lead_acid": "Lead-acid cells",
    "mercury": "Mercury",
    "asbestos": "Asbestos pads",
    "selenium": "Selenium rectifiers",
    "laser": "Lasers",
    "hot": "Heat",
    "microwave": "Microwave ovens",
    "sealed_high_voltage": "Sealed high-voltage parts",
    "pcb_oil": "Old oil capacitors",
    "beryllia": "Beryllia ceramic",
    "soldering": "Soldering",
    "unsoldering": "Taking a soldered part off",
    "pulling": "Pulling a chip",
    "solvents": "Solvents",
    "first_power": "Switching on for the first time",
    "reforming": "Reforming electrolytics",
}


@dataclass(frozen=True)
class Foundation:
    """A library that Rehome stands on."""

    name: str
    version: str
    licence: str


@cache
def foundations() -> tuple[str, tuple[Foundation, ...]]:
    """The version of Rehome, and what it needs to run, as they are installed."""
    try:
        ours = distribution("rehome")
    except PackageNotFoundError:  # run from the folder, with the libraries from elsewhere
        return "", ()
    return ours.version, tuple(_needed(ours))


def _needed(ours: Distribution) -> Iterator[Foundation]:
    for each in sorted(ours.requires or (), key=str.lower):
        name = re.match(r"[\w.-]+", each)
        if name is None or "extra ==" in each:
            continue
        theirs = distribution(name[0])
        yield Foundation(theirs.metadata["Name"], theirs.version, _licence(theirs))


def _licence(theirs: Distribution) -> str:
    """As the library declares it: an expression, a classifier or one line of text."""
    declared = " ".join(theirs.metadata.get_all("License-Expression") or ())
    classified = [
        line.rpartition(" :: ")[2]
        for line in theirs.metadata.get_all("Classifier") or ()
        if line.startswith("License ::")
    ]
    written = "\n".join(theirs.metadata.get_all("License") or ()).strip().partition("\n")[0]
    return declared or ", ".join(classified) or written[:80] or "see its own pages"


@page()
def about(request: HttpRequest) -> HttpResponse:
    version, needed = foundations()
    return render(
        request,
        "bench/about.html",
        {
            "version": version,
            "foundations": needed,
            "home": settings.HOME if may_act_as(request.user, OWNER) else "",
            "embedded": connection.vendor == "sqlite",
            "blocked": [(STEPS[each.step], each.text) for each in EVERY if each.blocked],
            "cautions": [(STEPS[each.step], each.text) for each in EVERY if not each.blocked],
            "summary": SUMMARY,
            "defer": DEFER,
        },
    )
