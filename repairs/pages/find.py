"""Find: one box over everything on the bench; what a label's code holds opens its page at once."""

from django.core.files.uploadedfile import UploadedFile
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.urls import reverse
from django.utils.http import urlencode

from inventory.label_codes import read_codes
from inventory.ledger import Refused
from inventory.pages.frame import page, words
from inventory.pictures.taking_in import PictureError
from inventory.refusals import Code
from inventory.roles import OWNER, VIEWER, may_act_as
from repairs.search import LONGEST, opens, search

TITLES = {
    "position": "On boards", "need": "Needed", "lot": "Parts", "job": "Jobs", "board": "Boards",
    "design": "Designs", "place": "Drawers, trays and people", "person": "People who may sign in",
}  # fmt: skip


@page()
def find(request: HttpRequest) -> HttpResponse:
    """What was typed, sort by sort; a marking that is on no bag can still be read."""
    typed = words(request, "q", LONGEST)
    answer = search(typed, people=may_act_as(request.user, OWNER))
    if answer.opens:
        return redirect(answer.opens)
    sorts = dict.fromkeys(each.type for each in answer.results)  # what is called just that comes first
    groups = [(TITLES[sort], [each for each in answer.results if each.type == sort]) for sort in sorts]
    return render(request, "bench/find.html", {"typed": typed, "groups": groups, "more": answer.more})


@page("POST", writes=VIEWER)
def by_picture(request: HttpRequest) -> HttpResponse:
    """The page that the code in a picture names; what else a code says is looked for as if it were typed."""
    file = request.FILES.get("file")
    try:
        codes = read_codes(file.read()) if isinstance(file, UploadedFile) else []
    except PictureError as refused:
        raise Refused(Code.UNREADABLE, f"{file.name if file else 'That'}: {refused}.") from None
    if not codes:
        raise Refused(
            Code.UNREADABLE,
            "No code is to be read in that picture: nearer, flat, and with light from the side.",
        )
    opened = next((address for address in map(opens, codes) if address), "")
    return redirect(opened or f"{reverse('find')}?{urlencode({'q': codes[0][:LONGEST]})}")


@page()
def keys(request: HttpRequest) -> HttpResponse:
    """The keys that the pages heed."""
    return render(request, "bench/shortcuts.html")
