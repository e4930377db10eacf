"""Read a part: what a marking could mean, who wants it, and one tap to put it away or promise it."""

import json
from dataclasses import dataclass

from django.db import transaction
from django.db.models import F
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.urls import reverse

from inventory import lots
from inventory.decoding import Answer, MalformedMarking, Question, Reading, decode
from inventory.ledger import Origin, Refused
from inventory.models import Holding, Lot, Part, Place
from inventory.pages.drawers import storage
from inventory.pages.frame import number, page, say, who, words
from inventory.places import paths
from inventory.spec import KINDS, UNITS, Spec, SpecError, UnreadableValue, fits, parse_value
from repairs.models import Job, Need
from repairs.reservations import reserve

# Initials stand on every swatch, so that no colour has to be told by eye.
COLOURS = (
    ("black", "BK"), ("brown", "BN"), ("red", "RD"), ("orange", "OG"), ("yellow", "YE"), ("green", "GN"),
    ("blue", "BU"), ("violet", "VT"), ("grey", "GY"), ("white", "WH"), ("gold", "GD"), ("silver", "SR"),
    ("?", "?"),
)  # fmt: skip
SHOWN = 8


@dataclass(frozen=True)
class Told:
    """A reading with the open needs that it would serve."""

    reading: Reading
    value: str
    text: str
    percent: int
    wanted: list[Need]
    spec: str


@page()
def read(request: HttpRequest) -> HttpResponse:
    """Ranked readings of what was typed or picked, with reasons and the next check."""
    marking = words(request, "marking", 80)
    bands = tuple(band for band in request.GET.getlist("band") if band)
    kind = request.GET.get("kind", "")
    measured, wrong = words(request, "measured", 40), ""
    answer: Answer | None = None
    if marking or bands:
        try:
            answer = decode(
                Question(
                    marking=marking if not bands else "",
                    bands=bands,
                    kind=kind if kind in KINDS else "",
                    measured=_measured(measured, kind),
                    body=words(request, "body", 60),
                    doubtful=bool(request.GET.get("doubtful")),
                    limit=SHOWN,
                    wanted=_wanted_values(),
                )
            )
        except MalformedMarking as malformed:
            wrong = f"{malformed} (at character {malformed.position + 1})"
        except UnreadableValue as unreadable:
            wrong = f"The meter's reading: {unreadable}"
    return render(
        request,
        "bench/read.html",
        {
            "marking": marking,
            "bands": [*bands, *[""] * (6 - len(bands))][:6],
            "colours": COLOURS,
            "kind": kind,
            "kinds": UNITS,
            "measured": measured,
            "body": words(request, "body", 60),
            "doubtful": request.GET.get("doubtful"),
            "wrong": wrong,
            "answer": answer,
            "readings": _told(answer.readings) if answer else [],
            "storage": storage(paths()),
            "tray": number(request, "tray") or request.session.get("last_place", 0),
        },
        status=400 if wrong else 200,
    )


def _measured(text: str, kind: str) -> int | dict[str, int] | None:
    """The meter's reading: in the kind's unit, or in whichever unit it was written."""
    if not text:
        return None
    if kind in UNITS:
        return parse_value(kind, text)
    read: dict[str, int] = {}
    for each in UNITS:
        try:
            read[each] = parse_value(each, text)
        except UnreadableValue:
            continue
    if not read:
        raise UnreadableValue(text, f"{text!r}: want something like 4.7 kΩ or 98 nF")
    return read


def _open_needs() -> list[Need]:
    return list(
        Need.objects.filter(
            status=Need.Status.OPEN, job__status=Job.Status.OPEN, quantity__gt=F("promised") + F("fitted")
        )
        .select_related("spec", "job")
        .order_by("job__priority", "job__due", "id")
    )


def _wanted_values() -> frozenset[tuple[str, int]]:
    return frozenset(
        (need.spec.kind, need.spec.value) for need in _open_needs() if need.spec.value is not None
    )


def _told(readings: tuple[Reading, ...]) -> list[Told]:
    needs = _open_needs()
    told = []
    for reading in readings:
        spec = spec_of(reading)
        serves = [
            need
            for need in needs
            if spec is not None and need.spec.kind == spec.kind and fits(need.spec.spec, spec).grade != "no"
        ]
        told.append(
            Told(
                reading,
                spec.value_text if spec else "",
                spec.text if spec else reading.notation,
                round(100 * reading.score),
                serves[:3],
                _written(spec) if spec else "",
            )
        )
    return told


def _written(spec: Spec) -> str:
    """The Spec as the form carries it to the drawer."""
    told = spec.to_dict()
    # As the trade writes it: a bare `0.1` of henries could be taken for µH.
    told["value"] = told.pop("value_text") or None
    del told["spec_text"]
    return json.dumps(told)


def spec_of(reading: Reading) -> Spec | None:
    """The Spec that a reading says, as far as it says one; None where it names no part."""
    if reading.value is None and not reading.number:
        return None
    traits = dict(reading.traits)
    for end in ("low", "high"):
        if (
            percent := getattr(reading, f"tolerance_{end}_percent")
        ) is not None and reading.kind == "capacitor":
            traits[f"tolerance_{end}_percent"] = str(abs(percent))
    return Spec(
        kind=reading.kind,
        number=reading.number,
        value=reading.value,
        tolerance_percent=reading.tolerance_percent,
        volts=reading.volts,
        traits=traits,
    )


@page("POST")
def put_away(request: HttpRequest) -> HttpResponse:
    """The part that was read becomes a lot in a drawer, and is promised where a need was named.

    `put` names the reading, `3`, and the need that it is promised to, `3-17`.
    """
    which, _dash, wanted = request.POST.get("put", "").partition("-")
    spec = _spec_sent(request.POST.get(f"spec{which}", ""))
    place = get_object_or_404(Place, pk=number(request, "tray"))
    pieces = max(1, number(request, "quantity", 1))
    need, made = None, []
    if wanted:
        pk = int(wanted) if wanted.isascii() and wanted.isdigit() and len(wanted) < 10 else 0
        need = get_object_or_404(Need.objects.select_related("job", "spec"), pk=pk)
    with transaction.atomic():
        lot = lots.bring_in(
            Part.of(spec), [(place, "", pieces)], by=who(request), origin=Origin(source=Lot.Source.UNKNOWN),
            marking=words(request, "marking", 200),
        )  # fmt: skip
        if need is not None:
            made = [reserve(need, Holding.objects.get(lot=lot, place=place), 1, by=who(request))]
    request.session["last_place"] = place.pk
    promised = f", promised to {need.job.name} {need.ref}".rstrip() if need is not None else ""
    say(
        request,
        f"{spec.text} is in {place.name}{promised}.",
        list(lot.movements.order_by("id")[:1]),
        made,
    )
    return redirect(f"{reverse('read')}?tray={place.pk}")


def _spec_sent(text: str) -> Spec:
    try:
        sent = json.loads(text)
    except ValueError:
        sent = None
    if not isinstance(sent, dict):
        raise Refused("nothing_named", "Say which of the readings it is.")
    try:
        return Spec.from_dict(sent)
    except SpecError as wrong:
        raise Refused("unreadable", "; ".join(problem.detail for problem in wrong.problems)) from None
