"""Data sheets and other files with a part or a design: kept, saved, renamed, taken off, put back."""

from typing import Any

from django.core.files.uploadedfile import UploadedFile
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404

from inventory import attachments
from inventory.api.attachments import file_answer
from inventory.ledger import Refused
from inventory.models import Attachment, Design, Part
from inventory.pages.frame import back, notify, page, who, words
from inventory.pages.once import once
from inventory.refusals import Code
from inventory.whole_numbers import whole_number


def files_of(owner: Part | Design) -> dict[str, Any]:
    """What `bench/attachment-list.html` shows."""
    return {
        "files": attachments.of(owner),
        "files_with": "part" if isinstance(owner, Part) else "design",
        "files_with_id": owner.pk,
    }


def _owner(request: HttpRequest) -> Part | Design:
    kind, pk = request.POST.get("with", ""), whole_number(request.POST.get("with_id", ""))
    if kind not in ("part", "design"):
        raise Http404
    return get_object_or_404(Part, pk=pk) if kind == "part" else get_object_or_404(Design, pk=pk)


@page("POST")
@once
def add_attachment(request: HttpRequest) -> HttpResponse:
    """Keep a file with a part or a design."""
    owner, sent = _owner(request), request.FILES.get("file")
    if not isinstance(sent, UploadedFile):
        raise Refused(Code.REQUIRED, "Choose a file first.")
    if (sent.size or 0) > attachments.MAX_BYTES:
        most = attachments.MAX_BYTES // 2**20
        raise attachments.Unfit(413, Code.TOO_LARGE, f"{sent.name} is too large: at most {most} MiB are kept")
    row = attachments.keep(sent.read(), sent.name or "", to=owner, by=who(request))
    notify(request, f"{row} is kept.")
    return _to_the_files(request)


@page()
def attachment(request: HttpRequest, pk: int) -> HttpResponse:
    """The file, to be saved."""
    row = get_object_or_404(Attachment, pk=pk)
    try:
        return file_answer(row)
    except attachments.AttachmentLost as lost:
        raise Http404(str(lost)) from None


@page("POST")
@once
def change_attachment(request: HttpRequest, pk: int) -> HttpResponse:
    """Another name; or taken off what it was with, which can be undone."""
    row = get_object_or_404(Attachment, pk=pk)
    if "take_off" in request.POST:
        was = {"with": "part", "with_id": str(row.part_id)}
        if row.design_id:
            was = {"with": "design", "with_id": str(row.design_id)}
        attachments.take_off(row)
        if row.part_id or row.design_id:
            notify(request, f"{row} is taken off; the file is kept.", put_back=(request.path, was))
        return _to_the_files(request)
    if "with" in request.POST:
        attachments.put(row, _owner(request))
        notify(request, f"{row} is back.")
        return back(request)
    typed = words(request, "name", 400)
    if not typed:
        raise Refused(Code.BLANK, "A file needs a name.")
    name, before = attachments.rename(row, typed), {"name": row.name}
    notify(request, f"It is called {name} now.", put_back=(request.path, before))
    return _to_the_files(request)


def _to_the_files(request: HttpRequest) -> HttpResponse:
    answer = back(request)
    answer["Location"] = answer["Location"].partition("#")[0] + "#files"
    return answer
