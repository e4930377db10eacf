"""Photos of what is on a page: kept, taken off, put back."""

from typing import Any
from urllib.parse import urlencode

from django.contrib import messages
from django.core.files.uploadedfile import UploadedFile
from django.db import models, transaction
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.urls import reverse

from inventory.designs import SIDES
from inventory.models import REF_LENGTH, Photo, Position
from inventory.pages.frame import back, notify, page, who, words
from inventory.pages.once import first_press
from inventory.pictures import photos
from inventory.pictures.photos import SUBJECTS
from inventory.pictures.taking_in import PictureError, take_in
from inventory.whole_numbers import whole_number

MAX_AT_ONCE = 20
"""So many pictures are taken in from one form."""


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
    pk = whole_number(request.POST.get("subject_id", ""))
    return subject, get_object_or_404(SUBJECTS[subject], pk=pk)


@page("POST")
def add_photo(request: HttpRequest) -> HttpResponse:
    """Keep a picture, of something named or of a part to be read; what is no picture is refused."""
    subject, row = _shown(request)
    ref = words(request, "ref", REF_LENGTH) if subject in ("board", "design") else ""
    side = request.POST.get("side", "") if subject == "design" and not ref else ""
    sent = [file for file in request.FILES.getlist("file") if isinstance(file, UploadedFile)]
    files, too_many = sent[:MAX_AT_ONCE], len(sent) - MAX_AT_ONCE
    pictures, wrong = [], []
    if too_many > 0:
        wrong.append(f"{MAX_AT_ONCE} pictures at once: the last {too_many} were not taken. Send them again.")
    for file in files:
        try:
            pictures.append(take_in(file.read()))
        except PictureError as refused:
            wrong.append(f"{file.name}: {refused}.")
    if not files:
        wrong = ["Choose a picture, or take one."]
    elif side not in SIDES:
        wrong, pictures = ["A side is top or bottom."], []
    if not pictures:
        context = {
            "wrong": " ".join(wrong),
            "subject": subject,
            "row": row,
            "ref": ref,
            "note": words(request, "note", 400),
        }
        return render(request, "bench/photo.html", {**context, "side": side}, status=400)
    with transaction.atomic():
        made: list[int] = []
        if first_press(request):
            for picture in pictures:
                photo = photos.keep(
                    picture, by=who(request), subject=subject, subject_id=row.pk if row else None, ref=ref,
                    side=side, note=words(request, "note", 400),
                )  # fmt: skip
                made.append(photo.pk)
    if wrong:
        messages.error(request, " ".join(wrong), extra_tags="refused")
    if not made:
        messages.success(request, "That picture is kept already.")
    elif row is not None:
        kept = "The picture is" if len(pictures) == 1 else f"{len(pictures)} pictures are"
        notify(request, f"{kept} kept.")
    if row is not None:
        answer = back(request, home_of(subject, row))
        answer["Location"] += "#file"  # the next picture is taken there
        return answer
    if not made:
        return redirect("read")
    # Pictures of one part with light from different sides are looked at together.
    looked_at = [number for each in request.POST.getlist("with") if (number := whole_number(each))]
    first, *others = [*looked_at, *made]
    also = f"?{urlencode({'also': others}, doseq=True)}" if others else ""
    return redirect(f"{reverse('look', args=[first])}{also}")


@page("POST")
def detach(request: HttpRequest, pk: int) -> HttpResponse:
    """The picture shows nothing named any more; its own page offers to put it back."""
    photo = get_object_or_404(Photo, pk=pk)
    was = urlencode({"was": photo.subject, "was_id": photo.subject_id or "", "was_ref": photo.ref})
    photos.let_go(photo)
    notify(request, "It is taken off; the picture is kept.")
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
    notify(request, "The picture is with it.")
    return redirect(home_of(subject, row))
