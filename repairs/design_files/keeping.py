"""Designs of this bench as the document of a file, and a file brought into the bench and taken out again."""

import json
from collections.abc import Collection, Iterator, Mapping, Sequence
from dataclasses import asdict, replace
from hashlib import sha256
from typing import Any, NamedTuple

from django.db import IntegrityError, transaction
from django.db.models import F, Q
from django.utils import timezone

from inventory import attachments
from inventory.designs import PLACED, PositionDraft, draw
from inventory.kept_files import hold
from inventory.ledger import Actor
from inventory.models import Attachment, Design, Photo
from inventory.pictures import photos
from inventory.pictures.taking_in import Picture
from inventory.refusals import Code, Refused
from repairs.design_files import archive
from repairs.design_files.document import (
    Credit,
    DesignDocument,
    FileEntry,
    ImageSeen,
    PictureEntry,
    Record,
    Seen,
    TrialSeen,
    adapter,
    in_order,
    position_entry,
)
from repairs.design_files.merging import BOTH, Merged, merge
from repairs.friends.keys import friend_behind, signature_of, signer
from repairs.jobs import CLOSED
from repairs.models import Job, Trial
from repairs.sharing_models import DesignCredit, DesignRecord, DesignTaken, Friend

LEAVABLE = ("pictures", "seen", "trials", "images")
"""Sections that whoever gives a design away may leave out."""
_FACTS = ("hazards", "links", "rails", "banks")
_KINDS: Mapping[str, Any] = {"seen": Seen, "trial": TrialSeen, "image": ImageSeen}
_OF_CREDIT = ("author", "licence", "source")


def document_of(
    design: Design, without: Collection[str] = (), files: Collection[Attachment] | None = None
) -> DesignDocument:
    """Everything that the bench knows of a design and its kind; nothing of who, where or which board.

    `files` are those of its files that go with it: all, where none are named.
    """
    named = attachments.of(design) if files is None else files
    own = {
        each.of: {name: getattr(each, name) for name in _OF_CREDIT} for each in design.credits.order_by("id")
    }
    members = own.get("design", {})
    theirs: dict[str, list[Any]] = {"seen": [], "trial": [], "image": []}
    for row in design.records.order_by("id"):
        theirs[row.what].append(adapter(_KINDS[row.what]).validate_python(row.facts))
    document = DesignDocument(
        format="rehome-design", version=1, name=design.name, revision=design.revision, note=design.note,
        credits=[
            Credit(each.of, each.author, each.licence, each.source) for each in design.credits.order_by("id")
        ],
        **{name: getattr(design, name) for name in _FACTS},
        positions=[position_entry(each) for each in drawn_of(design)],
        pictures=[] if "pictures" in without else [_picture_entry(each) for each in _photos(design)],
        files=[FileEntry(each.content, each.name) for each in named],
        seen=[] if "seen" in without else _once([*_seen(design, own.get("seen", members)), *theirs["seen"]]),
        trials=[]
        if "trials" in without
        else _once([*_trials(design, own.get("trials", members)), *theirs["trial"]]),
        images=[]
        if "images" in without
        else _once([*_images(design, own.get("images", members)), *theirs["image"]]),
    )  # fmt: skip
    return in_order(document)


def file_of(design: Design, without: Collection[str] = (), files: Collection[Attachment] = ()) -> bytes:
    """The file of a design with those of its data sheets and files that are named, signed by this bench.

    LookupError where the file of a picture or of one of those is gone; Refused (`too_large`) where it would
    be larger than what is taken.
    """
    document = document_of(design, without, files)
    members = {f"files/{each.content}": attachments.file_of(each).read_bytes() for each in files}
    if "pictures" not in without:
        members |= {f"pictures/{each.content[:16]}.jpg": photos.data_of(each) for each in _photos(design)}
    return archive.write(document, members, signature_of)


def files_named(design: Design, named: Sequence[str]) -> list[Attachment]:
    """Files of the design by their numbers or names.

    Refused: it has none such (`does_not_exist`), or several of the name (`ambiguous`).
    """
    there = list(attachments.of(design))
    found = []
    for text in named:
        rows = [each for each in there if text in (str(each.pk), each.name)]
        if not rows:
            known = "; ".join(f"{each.pk}: {each.name}" for each in there) or "none"
            raise Refused(Code.DOES_NOT_EXIST, f"{design} has no file {text[:80]}; it has {known}")
        if len(rows) > 1:
            numbers = ", ".join(str(each.pk) for each in rows)
            raise Refused(Code.AMBIGUOUS, f"{len(rows)} files are called {text}: say which, {numbers}")
        if rows[0] not in found:
            found += rows
    return found


def drawn_of(design: Design) -> list[PositionDraft]:
    return [
        PositionDraft(row.ref, row.spec.spec, **{name: getattr(row, name) for name in PLACED})
        for row in design.positions.select_related("spec").order_by("id")
    ]


def _photos(design: Design) -> list[Photo]:
    return list(photos.of("design", design.pk).order_by("id"))


def _picture_entry(photo: Photo) -> PictureEntry:
    return PictureEntry(f"{photo.content[:16]}.jpg", photo.content, _side(photo.side), photo.ref, photo.note)


def _side(side: str) -> Any:
    return side


def _once(records: list[Any]) -> list[Any]:
    return [each for index, each in enumerate(records) if each not in records[:index]]


def _seen(design: Design, credit: Mapping[str, str]) -> Iterator[Seen]:
    rows = Job.objects.filter(board__design=design, status__in=CLOSED).exclude(cause="")
    for job in rows.order_by("id"):
        day = timezone.localtime(job.closed).date().isoformat() if job.closed else ""
        yield Seen(job.symptom[:4000], job.cause[:4000], day, **credit)


def _trials(design: Design, credit: Mapping[str, str]) -> Iterator[TrialSeen]:
    for trial in Trial.objects.filter(board__design=design).select_related("record").order_by("id"):
        record = getattr(trial, "record", None)
        windows = [str(each)[:400] for each in record.windows][:20] if record is not None else []
        verdict: Any = trial.verdict
        yield TrialSeen(trial.method, verdict, trial.ref, trial.in_circuit, trial.reading, windows, **credit)


def _images(design: Design, credit: Mapping[str, str]) -> Iterator[ImageSeen]:
    """Of memories that came off boards of this design and were found good."""
    rows = Trial.objects.filter(method="checksum", verdict="good", lot__origin_board__design=design).exclude(
        lot__origin_ref=""
    )
    for trial in rows.select_related("lot").order_by("id"):
        assert trial.lot is not None  # by the filter
        if trial.reading:
            yield ImageSeen(trial.lot.origin_ref, trial.reading, trial.lot.marking[:120], **credit)


@transaction.atomic
def set_credits(design: Design, credits: Sequence[Credit]) -> None:
    """Say who made which section, in place of what was said.  Refused (`required`) where one says nothing."""
    Design.objects.select_for_update().get(pk=design.pk)
    if any(_blank(each) for each in credits):
        raise Refused(Code.REQUIRED, "say an author, a licence or a source")
    design.credits.all().delete()
    DesignCredit.objects.bulk_create(
        [DesignCredit(design=design, **asdict(each)) for each in dict.fromkeys(credits)]
    )


def _blank(credit: Credit) -> bool:
    return not any(getattr(credit, name) for name in _OF_CREDIT)


class RecordFromElsewhere(NamedTuple):
    """What another workshop saw, in words, and who says so."""

    text: str
    credit: str


def records_of(design: Design) -> list[RecordFromElsewhere]:
    """What came with files, kept apart from what was seen here; a few hundred at most."""
    records = []
    for row in design.records.select_related("friend").order_by("what", "ref", "id")[:300]:
        facts = row.facts
        match row.what:
            case DesignRecord.What.SEEN:
                text = f"{facts['symptom'] or 'no symptom given'}: {facts['cause']}"
            case DesignRecord.What.TRIAL:
                reading = f" {facts['reading']}" if facts["reading"] else ""
                text = f"{row.ref or 'the board'}: {facts['method']}{reading}: {facts['verdict']}"
                text += f" ({'; '.join(facts['windows'])})" if facts["windows"] else ""
            case _:
                text = f"{row.ref}: image {facts['name']} {facts['checksums']}".replace("  ", " ")
        records.append(RecordFromElsewhere(text, row.credit))
    return records


# --- in


def named_as(document: DesignDocument) -> Design | None:
    """The design of this bench that a file of this name and revision is about."""
    return Design.objects.filter(name=document.name, revision=document.revision).first()


def preview(
    opened: archive.Opened, design: Design | None, take: str = BOTH, choices: Mapping[str, str] | None = None
) -> Merged:
    """What the file would bring.  Refused as `merge` refuses."""
    return merge(None if design is None else document_of(design), opened.document, take, choices)


@transaction.atomic
def import_design(
    opened: archive.Opened,
    design: Design | None,
    take: str = BOTH,
    choices: Mapping[str, str] | None = None,
    *,
    by: Actor,
    friend: Friend | None = None,
) -> tuple[DesignTaken, Merged]:
    """Bring the file in, whole or not at all: into this design, or as a new one.

    It is of the friend named, or of the one who signed it.  Refused as by `merge`, as by `signer_for`, and
    (`taken`) where a new one is there by now.
    """
    friend = friend_behind(friend, opened.signature)
    if design is not None:
        design = Design.objects.select_for_update().get(pk=design.pk)
    merged = preview(opened, design, take, choices)
    before: dict[str, Any] = {}
    if design is None:
        target = _new(opened.document)
    else:
        target = design
        kept = replace(document_of(design, LEAVABLE, ()), credits=[])
        before = adapter().dump_python(kept, mode="json", exclude_defaults=True)
    _write(target, merged.document)
    _hold_files(opened, merged)
    made = {
        "credits": [_credit(target, each) for each in merged.credits],
        "records": [row for each in merged.records if (row := _record(target, each, friend)) is not None],
        "photos": [_photo(target, each, opened.pictures[each.file], by) for each in merged.pictures],
        "files": [_file(target, each, opened.files[each.sha256], by) for each in merged.files],
    }
    target.refresh_from_db(fields=["version"])
    taken = DesignTaken.objects.create(
        design=target, title=opened.document.title, new=design is None, before=before,
        made={name: [each for each in ids if each] for name, ids in made.items()}, left_at=target.version,
        signed_by=signer(opened.signature), friend=friend, friend_name=friend.name if friend else "", by=by,
    )  # fmt: skip
    return taken, merged


def _hold_files(opened: archive.Opened, merged: Merged) -> None:
    """In one order, whatever that of the file: else two with the same ones could wait for each other."""
    pictures = {sha256(opened.pictures[each.file].data).hexdigest() for each in merged.pictures}
    for content in sorted(pictures | {each.sha256 for each in merged.files}):
        hold(content)


def _new(document: DesignDocument) -> Design:
    try:
        with transaction.atomic():
            return Design.objects.create(name=document.name, revision=document.revision)
    except IntegrityError:  # a twin at the same moment
        raise Refused(
            Code.TAKEN, f"{document.title} was added meanwhile: import the file again to lay it beside that"
        ) from None


def _write(design: Design, document: DesignDocument) -> None:
    draw(design, document.drawn)
    facts = {name: getattr(document, name) for name in (*_FACTS, "note")}
    Design.objects.filter(pk=design.pk).update(**facts, version=F("version") + 1)


def _credit(design: Design, credit: Credit) -> int:
    if _blank(credit):
        return 0
    row, new = DesignCredit.objects.get_or_create(design=design, **asdict(credit))
    return row.pk if new else 0


def _record(design: Design, record: Record, friend: Friend | None) -> int:
    what = next(name for name, kind in _KINDS.items() if isinstance(record, kind))
    facts = asdict(record)
    digest = sha256(f"{what} {json.dumps(facts, sort_keys=True)}".encode()).hexdigest()
    row, new = DesignRecord.objects.get_or_create(
        design=design, digest=digest,
        defaults={
            "what": what, "ref": facts.get("ref", ""), "facts": facts, "friend": friend,
            "friend_name": friend.name if friend else "",
        },
    )  # fmt: skip
    return row.pk if new else 0


def _photo(design: Design, entry: PictureEntry, picture: Picture, by: Actor) -> int:
    facts = {"side": entry.side, "ref": entry.ref, "note": entry.note}
    return photos.keep(picture, subject="design", subject_id=design.pk, by=by, **facts).pk


def _file(design: Design, entry: FileEntry, file: archive.FileIn, by: Actor) -> int:
    return attachments.keep(file.data, entry.name, to=design, by=by, kind=file.kind).pk


# --- out again


@transaction.atomic
def undo(taken: DesignTaken) -> None:
    """Put the design back as it was before the file, with all that came beside it.

    Refused: undone before (`nothing_to_undo`), a design changed since (`stale`), or used since (`in_use`).
    """
    taken = DesignTaken.objects.select_for_update().get(pk=taken.pk)
    if taken.undone is not None or taken.design_id is None:
        raise Refused(Code.NOTHING_TO_UNDO, f"{taken.title} was taken out again before.")
    design = Design.objects.select_for_update().get(pk=taken.design_id)
    if design.version != taken.left_at:
        raise Refused(Code.STALE, f"{design} was changed since the file came in: it stays as it is.")
    if taken.new and (boards := list(design.boards.order_by("name")[:3])):
        raise Refused(Code.IN_USE, f"{design} stays: {', '.join(map(str, boards))} is made to it.")
    brought = Attachment.objects.filter(pk__in=taken.made.get("files", ()), part=None)
    others = design.attachments.exclude(pk__in=brought)
    if taken.new and (kept := list(others[:3])):
        raise Refused(Code.IN_USE, f"{design} stays: {', '.join(map(str, kept))} is kept with it.")
    pictures = Photo.objects.filter(pk__in=taken.made.get("photos", ()))
    if taken.new and (own := photos.of("design", design.pk).exclude(pk__in=pictures).first()):
        raise Refused(Code.IN_USE, f"{design} stays: {own} was added here.")
    if taken.new and design.substitutions.exists():
        raise Refused(Code.IN_USE, f"{design} stays: a substitution is recorded for it.")
    for row in brought.filter(Q(design=design) | Q(design=None)):
        attachments.remove(row)
    for photo in pictures.filter(Q(subject="design", subject_id=design.pk) | Q(subject="")):
        photos.remove(photo)
    design.records.filter(pk__in=taken.made.get("records", ())).delete()
    design.credits.filter(pk__in=taken.made.get("credits", ())).delete()
    if taken.new:
        DesignTaken.objects.filter(design=design).update(design=None, undone=timezone.now())
        design.delete()
        return
    _write(design, adapter().validate_python(taken.before))
    DesignTaken.objects.filter(pk=taken.pk).update(undone=timezone.now())
    # What came in before this one may be undone next: the design is as that left it.
    earlier = design.taken.filter(undone=None, left_at=taken.left_at - 1)
    earlier.update(left_at=taken.left_at + 1)
