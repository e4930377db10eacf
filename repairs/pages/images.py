"""A memory's image as a file: its checksums against the label or a list, written down as a trial."""

from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render

from inventory.ledger import Refused
from inventory.models import Board, Lot
from inventory.pages.frame import notify, page, who, words
from inventory.pages.once import once
from inventory.pages.picking import boards_to_pick, picked
from inventory.refusals import Code
from repairs import image_checksums
from repairs.models import Trial
from repairs.proving.checksum import LARGEST, TooManyListed, UnreadableChecksum, read_checksums, read_list

LONGEST_LIST = 40_000


@page("GET", "HEAD", "POST")
@once
def checksum(request: HttpRequest, pk: int) -> HttpResponse:
    """Take an image, compare it, write the trial down."""
    this = get_object_or_404(Lot.objects.select_related("part__spec", "origin_board"), pk=pk)
    wrong = ""
    if request.method == "POST":
        try:
            trial = _write(request, this)
        except Refused as refused:
            wrong = refused.detail
        except (UnreadableChecksum, TooManyListed) as unread:
            wrong = f"The label or the list: {unread}. Choose the file again: a browser forgets it."
        else:
            notify(request, f"{this.part}: {trial.reading} is written down.")
            return redirect("trial", trial.pk)
    context = {
        "lot": this,
        "wrong": wrong,
        "typed": request.POST,
        "largest": LARGEST // 2**20,
        "boards": boards_to_pick(Board.objects.filter(purpose=Board.Purpose.WORKING)),
    }
    return render(request, "bench/checksum.html", context, status=409 if wrong else 200)


def _write(request: HttpRequest, this: Lot) -> Trial:
    expected = words(request, "expected", 400)
    compared_with = read_checksums(expected) if expected else {}
    listed = read_list(words(request, "list", LONGEST_LIST))
    file = request.FILES.get("image")
    if file is None or not file.size:
        raise Refused(Code.REQUIRED, "Choose the file that was read out of it; an empty one says nothing.")
    if file.size > LARGEST:
        raise Refused(Code.TOO_LARGE, f"{file.name} has {file.size} bytes: at most {LARGEST} are taken.")
    fixture = picked(request, "fixture", Board.objects.select_related("design", "place"), "boards")
    found = image_checksums.compare_image(file.read(), expected=compared_with, listed=listed)
    return image_checksums.write_down(
        found, this, by=who(request), fixture=fixture,
        fixture_ref=words(request, "fixture_ref", 20) if fixture else "", note=words(request, "note", 400),
    )  # fmt: skip
