"""Pictures: taken in from a page, looked at closely until a marking can be read, and read."""

from dataclasses import replace
from typing import Any
from urllib.parse import urlencode

from django.contrib import messages
from django.core.files.uploadedfile import UploadedFile
from django.db import models, transaction
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.urls import reverse

from inventory import ocr, photos
from inventory.band_colours import BadLine, Proposal
from inventory.close_look import CLOSEST, LOOKS, View
from inventory.designs import SIDES
from inventory.enhance import CHANNELS, PictureError, take_in
from inventory.models import REF_LENGTH, Photo, Position
from inventory.pages.frame import back, page, say, who, words
from inventory.pages.once import first_press
from inventory.photos import SUBJECTS
from inventory.picture_reading import read_bands, read_print
from inventory.questions import BadQuestion
from inventory.roles import BENCH, may_act_as
from inventory.spec import KINDS
from repairs.pages.asking import Asked, asked, for_template
from repairs.pages.read import into

PANS = {"left": (-0.3, 0.0), "right": (0.3, 0.0), "up": (0.0, -0.3), "down": (0.0, 0.3)}
TURNS = {"quarter": 90, "anticlockwise": 5, "clockwise": -5}
MIDDLE = (0.03, 0.5, 0.97, 0.5)
FIRST_TAP, NEXT_TAPS = 4, 2
"""How much nearer a tap on the picture goes: at once to where a marking can be read."""


def home_of(subject: str, row: Any) -> str:
    """The page that a picture of this row is on."""
    if isinstance(row, Position):
        return reverse("pins", args=[row.design_id])
    name = {"lot": "lot", "board": "board", "job": "job", "design": "pins", "trial": "trial"}.get(subject)
    return reverse(name, args=[row.pk]) if name else reverse("drawers")


def _shown(request: HttpRequest) -> tuple[str, models.Model | None]:
    subject = request.POST.get("subject", "")
    if not subject:
        return "", None
    if subject not in SUBJECTS:
        raise Http404
    pk = request.POST.get("subject_id", "")
    if not (pk.isascii() and pk.isdigit() and len(pk) < 18):
        raise Http404
    return subject, get_object_or_404(SUBJECTS[subject], pk=int(pk))


@page("POST")
def add_photo(request: HttpRequest) -> HttpResponse:
    """Keep a picture, of something named or of a part to be read; what is no picture is refused."""
    subject, row = _shown(request)
    ref = words(request, "ref", REF_LENGTH) if subject in ("board", "design") else ""
    side = request.POST.get("side", "") if subject == "design" and not ref else ""
    file = request.FILES.get("file")
    wrong = ""
    try:
        if not isinstance(file, UploadedFile):
            wrong = "Choose a picture, or take one."
        elif side not in SIDES:
            wrong = "A side is top or bottom."
        else:
            picture = take_in(file.read())
    except PictureError as refused:
        wrong = f"{file.name if file else 'That'}: {refused}."
    if wrong:
        told = {
            "wrong": wrong,
            "subject": subject,
            "row": row,
            "ref": ref,
            "note": words(request, "note", 400),
        }
        return render(request, "bench/photo.html", {**told, "side": side}, status=400)
    with transaction.atomic():
        photo = None
        if first_press(request):
            photo = photos.keep(
                picture, by=who(request), subject=subject, subject_id=row.pk if row else None, ref=ref,
                side=side, note=words(request, "note", 400),
            )  # fmt: skip
    if photo is None:
        messages.success(request, "That picture is kept already.")
    elif row is not None:
        say(request, "The picture is kept.")
    if row is not None:
        return back(request, home_of(subject, row))
    return redirect("look", photo.pk) if photo else redirect("read")


@page("POST")
def detach(request: HttpRequest, pk: int) -> HttpResponse:
    """The picture shows nothing named any more; its own page offers to put it back."""
    photo = get_object_or_404(Photo, pk=pk)
    was = urlencode({"was": photo.subject, "was_id": photo.subject_id or "", "was_ref": photo.ref})
    photos.let_go(photo)
    say(request, "It is taken off; the picture is kept.")
    return redirect(f"{reverse('look', args=[pk])}?{was}")


@page("POST")
def attach(request: HttpRequest, pk: int) -> HttpResponse:
    """Say what a picture shows that shows nothing named; the second press finds it done."""
    photo = get_object_or_404(Photo, pk=pk)
    subject, row = _shown(request)
    if row is None:
        raise Http404
    ref = words(request, "ref", REF_LENGTH) if subject in ("board", "design") else ""
    photos.show(photo, subject, row.pk, ref=ref)
    say(request, "The picture is with it.")
    return redirect(home_of(subject, row))


# --- a close look


def _fraction(request: HttpRequest, name: str, otherwise: float = 0.5) -> float:
    try:
        given = float(request.GET.get(name, "")[:20])
    except ValueError:
        return otherwise
    return min(1.0, max(0.0, given)) if given == given else otherwise


def _whole(request: HttpRequest, name: str, otherwise: int) -> int:
    try:
        return int(request.GET.get(name, "")[:6])
    except ValueError:
        return otherwise


def _view(request: HttpRequest, photo: Photo) -> View:
    """What the form says is shown, after the button that was pressed or the spot that was tapped."""
    zoom = min(CLOSEST, max(1, _whole(request, "zoom", 1)))
    turn = _whole(request, "turn", 0) % 360
    view = View(photo.width, photo.height, _fraction(request, "x"), _fraction(request, "y"), zoom, turn)
    do = request.GET.get("do", "")
    if do in PANS:
        return view.moved(*PANS[do])
    if do in TURNS:
        return replace(view, turn=(view.turn + TURNS[do]) % 360)
    if do == "all":
        return View(photo.width, photo.height)
    if do == "nearer":
        return view.closer(0.5, 0.5, 2)
    if do == "farther":
        return replace(view, zoom=max(1, view.zoom // 2))
    if "tap-x" in request.GET:
        times = FIRST_TAP if view.zoom == 1 else NEXT_TAPS
        return view.closer(_fraction(request, "tap-x"), _fraction(request, "tap-y"), times)
    return view


@page()
def look(request: HttpRequest, pk: int) -> HttpResponse:
    """A box of a picture, enlarged, turned and its contrast brought out, and what is read off it."""
    photo = get_object_or_404(Photo, pk=pk)
    try:
        data = photos.data_of(photo)
    except photos.PhotoLost as lost:
        raise Http404(str(lost)) from None
    before = View(
        photo.width, photo.height, _fraction(request, "x"), _fraction(request, "y"),
        min(CLOSEST, max(1, _whole(request, "zoom", 1))), _whole(request, "turn", 0) % 360,
    )  # fmt: skip
    view = _view(request, photo)
    how = request.GET.get("look", "")
    # Whoever taps on the whole picture wants to read what is there: the contrast comes with it.
    how = how if how in LOOKS else "plain"
    if before.zoom == 1 and "tap-x" in request.GET and how == "plain":
        how = "clear"
    channel = request.GET.get("channel", "")
    channel = channel if channel in CHANNELS else ""
    settings = view.settings(how, invert=bool(request.GET.get("invert")), channel=channel)
    this, seen = _read_off(request, data, view, settings)
    subject = SUBJECTS[photo.subject].objects.filter(pk=photo.subject_id).first() if photo.subject else None  # type: ignore[attr-defined]
    part = "part" in request.GET
    return render(
        request,
        "bench/look-part.html" if part else "bench/look.html",
        {
            **for_template(this),
            **into(request),
            **seen,
            "kinds": KINDS,
            "photo": photo,
            "view": view,
            "look": how,
            "looks": LOOKS,
            "invert": settings["invert"],
            "channel": channel,
            "channels": CHANNELS,
            "source": f"{reverse('photo-enlarge-light', args=[photo.pk])}?{_query(settings)}",
            "subject": subject,
            "home": home_of(photo.subject, subject) if subject else "",
            "was": {name: words(request, name, 40) for name in ("was", "was_id", "was_ref")},
            "may_write": may_act_as(request.user, BENCH),
        },
        status=400 if this.wrong and not part else 200,
    )


def _query(settings: dict[str, Any]) -> str:
    """The settings as the address of the picture takes them; what is off is left out."""
    said = {name: setting for name, setting in settings.items() if setting not in ("", False)}
    return urlencode({name: "true" if setting is True else setting for name, setting in said.items()})


def _read_off(
    request: HttpRequest, data: bytes, view: View, settings: dict[str, Any]
) -> tuple[Asked, dict[str, Any]]:
    """What was typed or picked, or what is read off the picture now, and what the page says of that."""
    this = asked(request)
    try:
        if "line" in request.GET or request.GET.get("do") == "bands":
            return _bands_off(request, data, view, this)
        if request.GET.get("do") == "print":
            box = {name: settings[name] for name in ("x", "y", "w", "h", "rotate")}
            found = read_print(data, box, lambda text: this.question(marking=text))
            this.bands = []
            if found:
                this.marking, this.told = found[0][0].text, found[0][1]
            return this, {"printed": [each for each, _told in found], "nothing_printed": not found}
    except ocr.OcrNotInstalled as missing:
        this.read()
        return this, {"not_installed": str(missing)}
    except BadLine as bad:
        this.read()
        return this, {"bad_line": str(bad)}
    except BadQuestion as bad:
        this.wrong = {problem.name: problem.detail for problem in reversed(bad.problems)}
        return this, {}
    this.read()
    return this, {}


def _bands_off(
    request: HttpRequest, data: bytes, view: View, this: Asked
) -> tuple[Asked, dict[str, Proposal | bool]]:
    names = ("x1", "y1", "x2", "y2")
    x1, y1, x2, y2 = (
        (_fraction(request, name, MIDDLE[place]) for place, name in enumerate(names))
        if "line" in request.GET
        else MIDDLE
    )
    seen, this.told = read_bands(
        data, view.at(x1, y1), view.at(x2, y2), lambda text: this.question(bands=text)
    )
    this.bands = [band.text for band in seen.bands]
    return this, {"seen": seen, "nothing_seen": not seen.bands}
