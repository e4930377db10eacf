"""A close look at a photo until its marking can be read, and what is read off it."""

from dataclasses import replace
from typing import Any
from urllib.parse import urlencode

from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, render
from django.urls import reverse

from inventory.models import Photo
from inventory.pages.frame import page, words
from inventory.pictures import photos
from inventory.pictures.along_body import BadLine
from inventory.pictures.bands import BandProposal
from inventory.pictures.closer_view import CLOSEST, LOOKS, View
from inventory.pictures.combining import MAX_PICTURES
from inventory.pictures.enlarging import CHANNELS
from inventory.pictures.photos import SUBJECTS
from inventory.pictures.reading import read_bands, read_print
from inventory.pictures.recogniser import OcrNotInstalled
from inventory.questions import BadQuestion
from inventory.roles import BENCH, may_act_as
from inventory.spec import KINDS
from inventory.whole_numbers import whole_number
from repairs.pages.asking import Asked, asked, for_template
from repairs.pages.photos import home_of
from repairs.pages.read import into

PANS = {"left": (-0.3, 0.0), "right": (0.3, 0.0), "up": (0.0, -0.3), "down": (0.0, 0.3)}
TURNS = {"quarter": 90, "anticlockwise": 5, "clockwise": -5}
MIDDLE = (0.03, 0.5, 0.97, 0.5)
FIRST_TAP, NEXT_TAPS = 4, 2
"""How much nearer a tap on the picture goes: at once to where a marking can be read."""


def _fraction(request: HttpRequest, name: str, otherwise: float = 0.5) -> float:
    try:
        given = float(request.GET.get(name, "")[:20])
    except ValueError:
        return otherwise
    return min(1.0, max(0.0, given)) if given == given else otherwise


def _whole(request: HttpRequest, name: str, otherwise: int) -> int:
    given = whole_number(request.GET.get(name, ""))
    return otherwise if given is None else given


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
    others = _others(request, photo)
    try:
        pictures = [photos.data_of(each) for each in (photo, *others)]
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
    this, seen = _read_off(request, pictures, view, settings)
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
            "others": others,
            "room_for_more": len(others) < MAX_PICTURES - 1,
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


def _others(request: HttpRequest, photo: Photo) -> list[Photo]:
    """Other pictures of the same part, to be read with this one; not what was just left out."""
    numbers = [whole_number(each) for each in request.GET.getlist("also")]
    wanted = [number for number in dict.fromkeys(numbers) if number is not None and number != photo.pk]
    without = whole_number(request.GET.get("without", ""))
    found = Photo.objects.in_bulk([number for number in wanted if number != without])
    return [found[number] for number in wanted if number in found][: MAX_PICTURES - 1]


def _query(settings: dict[str, Any]) -> str:
    """The settings as the address of the picture takes them; what is off is left out."""
    chosen = {name: setting for name, setting in settings.items() if setting not in ("", False)}
    return urlencode({name: "true" if setting is True else setting for name, setting in chosen.items()})


def _read_off(
    request: HttpRequest, pictures: list[bytes], view: View, settings: dict[str, Any]
) -> tuple[Asked, dict[str, Any]]:
    """What was typed or picked, or what is read off the picture now, and what the page says of that."""
    this = asked(request)
    try:
        if "line" in request.GET or request.GET.get("do") == "bands":
            return _bands_off(request, pictures, view, this)
        if request.GET.get("do") == "print":
            box = {name: settings[name] for name in ("x", "y", "w", "h", "rotate")}
            found, decoded = read_print(pictures, box, lambda text: this.question(marking=text))
            this.bands = []
            if decoded:
                this.marking, this.decoded = found.proposals[0].text, decoded[0]
            return this, {"found": found}
    except OcrNotInstalled as missing:
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
    request: HttpRequest, pictures: list[bytes], view: View, this: Asked
) -> tuple[Asked, dict[str, BandProposal | bool]]:
    names = ("x1", "y1", "x2", "y2")
    x1, y1, x2, y2 = (
        (_fraction(request, name, MIDDLE[place]) for place, name in enumerate(names))
        if "line" in request.GET
        else MIDDLE
    )
    seen, this.decoded = read_bands(
        pictures, view.at(x1, y1), view.at(x2, y2), lambda text: this.question(bands=text)
    )
    this.bands = [band.text for band in seen.bands]
    return this, {"seen": seen, "nothing_seen": not seen.bands}
