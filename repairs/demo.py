"""The demo workshop: sheets through a person's import, the rest by names (`fixtures/README.md`)."""

import json
from collections.abc import Callable, Iterator, Mapping
from contextlib import contextmanager
from datetime import timedelta
from functools import partial
from pathlib import Path
from typing import Any

from django.conf import settings
from django.db import transaction
from django.utils import timezone

from inventory import sheets, statistics
from inventory.ledger import Actor, Spot
from inventory.models import Board, Design, Holding, Lot, Part, Place, StoredSpec
from inventory.pictures import photos
from inventory.pictures.taking_in import take_in
from inventory.places import find_or_make, names_in
from inventory.refs import parse_refs
from inventory.sheets.apart import Apart, ChangedMeanwhile, can_be_apart, working_apart
from inventory.spec import Spec
from repairs import bringing_up, jobs, loans, reservations, trials
from repairs.demo_removal import alone, ids_of, tables
from repairs.friends import exchange, findings
from repairs.friends.evidence import read_evidence
from repairs.friends.lists import read_list
from repairs.models import DemoLoad, Job, Need, Purchase
from repairs.sharing_models import Friend

FIXTURES = Path(settings.BASE_DIR) / "fixtures"
DESIGN_DATA = ("note", "hazards", "links", "rails", "banks")

Entry = Mapping[str, Any]


def load(*, by: Actor) -> None:
    """Load the demo workshop into an empty database, whole or not at all, and note which rows it made."""
    with prepared(by=by) as load_now, transaction.atomic():
        load_now()


@contextmanager
def prepared(*, by: Actor) -> Iterator[Callable[[], None]]:
    """What loads it, worked out before the transaction that does so: on SQLite, where others would wait."""
    if not can_be_apart():
        yield partial(_load, by)
        return
    with working_apart() as apart:
        with apart.working():
            here = DemoLoad.objects.exists()  # it came in while this one waited for its turn
            if not here:
                _load(by)
        if here:
            yield partial(_load, by)  # whoever asked finds it, before or instead
            return
        with apart.attached():
            yield partial(_bring, apart, by)


def _bring(apart: Apart, by: Actor) -> None:
    try:
        apart.bring_over(renumber=False)  # the note of its rows, and pictures, go by number
    except ChangedMeanwhile:
        _load(by)


@transaction.atomic
def _load(by: Actor) -> None:
    alone()
    before = {model: ids_of(model) for model in tables()}
    _fill(by)
    made = {model._meta.label: sorted(ids_of(model) - ids) for model, ids in before.items()}
    DemoLoad.objects.create(rows={label: ids for label, ids in made.items() if ids})
    statistics.renew()


def _fill(by: Actor) -> None:
    workshop = json.loads((FIXTURES / "workshop.json").read_text(encoding="utf-8"))
    for entry in workshop["places"]:
        place = find_or_make(entry["path"], type=entry["type"])
        if place.type != entry["type"] or entry.get("note"):
            place.type, place.note = entry["type"], entry.get("note", "")
            place.save(update_fields=["type", "note"])
    for path in sorted((FIXTURES / "designs").glob("*.csv")):
        _read(path, "design", by)
        _add_design_data(json.loads(path.with_suffix(".json").read_text(encoding="utf-8")))
    _read(FIXTURES / "donors.csv", "donor", by)
    _read(FIXTURES / "stock.csv", "stock", by)
    for entry in workshop["boards"]:
        _add_board(entry)
    for entry in workshop["board_notes"]:
        Board.objects.filter(name=entry["board"]).update(note=entry["note"])
    for entry in workshop["fitted"]:
        here = _holding(entry["lot"])
        reservations.fit(
            here.lot, Spot(here.place_id, here.ref), _board(entry["board"]), entry["ref"],
            by=by, note=entry.get("note", ""),
        )  # fmt: skip
    for entry in workshop["jobs"]:
        _open_job(entry, by)
    for entry in workshop["loans"]:
        loans.borrow(
            _board(entry["board"]), [entry["ref"]], Spot(_place(entry["to"]).pk),
            by=by, job=_job(entry["job"]), reason=entry["reason"], due=_due(entry),
        )  # fmt: skip
    for entry in workshop["lendings"]:
        here = _holding(entry["lot"])
        loans.lend(
            here.lot, Spot(here.place_id, here.ref), _place(entry["to"]), entry["quantity"],
            by=by, reason=entry["reason"], due=_due(entry),
        )  # fmt: skip
    for entry in workshop["reservations"]:
        need = Need.objects.select_related("job", "spec").get(job__name=entry["job"], ref=entry["ref"])
        reservations.reserve(need, _holding(entry["lot"]), entry["quantity"], by=by)
    for entry in workshop["purchases"]:
        Purchase.objects.create(
            part=Part.of(Spec.from_dict(entry["spec"])),
            quantity=entry["quantity"],
            bought_from=entry["from"],
            price=entry.get("price"),
            state=entry["state"],
            note=entry.get("note", ""),
        )
    for entry in workshop["trials"]:
        _record_trial(entry, by)
    for entry in workshop["settings"]:
        bringing_up.set_links(_board(entry["board"]), entry["links"], by=by, note=entry.get("note", ""))
    for entry in workshop["friends"]:
        friend = Friend.objects.create(name=entry["name"], reach=entry["reach"], postage=entry["postage"])
        exchange.take_list(friend, read_list((FIXTURES / entry["list"]).read_bytes()))
        if "evidence" in entry:
            found = read_evidence((FIXTURES / entry["evidence"]).read_bytes())
            findings.take(found, friend=friend, by=by)


def _read(path: Path, kind: str, by: Actor) -> None:
    with path.open("rb") as file:
        sheets.import_sheet(file, name=path.name, kind=kind, by=by)


def _add_design_data(entry: Entry) -> None:
    design = Design.objects.get(name=entry["name"], revision=entry["revision"])
    for name in DESIGN_DATA:
        setattr(design, name, entry.get(name, getattr(design, name)))
    design.save(update_fields=DESIGN_DATA)
    if "picture" in entry:
        drawn = take_in((FIXTURES / entry["picture"]).read_bytes())
        photos.keep(drawn, subject="design", subject_id=design.pk, side="top", note="plan of the top")


def _add_board(entry: Entry) -> None:
    design = None
    if "design" in entry:
        design = Design.objects.get(name=entry["design"], revision=entry["revision"])
    Board.objects.create(
        name=entry["name"],
        design=design,
        purpose=entry["purpose"],
        note=entry.get("note", ""),
        place=Place.objects.create(name=entry["name"], type=Place.Type.BOARD),
    )


def _open_job(entry: Entry, by: Actor) -> None:
    refs = entry["refs"]
    job = jobs.open_job(
        refs=refs if refs == "all" else [ref for text in refs for ref in parse_refs(text)],
        by=by,
        name=entry["name"],
        board=_board(entry["board"]),
        priority=entry["priority"],
        due=_due(entry),
        symptom=entry.get("symptom", ""),
        cause=entry.get("cause", ""),
        note=entry.get("note", ""),
    )
    for narrow in entry.get("narrow", ()):
        for text in narrow["refs"]:
            for need in job.needs.select_related("spec").filter(ref__in=parse_refs(text)):
                need.spec = StoredSpec.keep(_narrowed(need.spec.spec, narrow["spec"]))
                need.note = narrow["note"]
                need.save(update_fields=["spec", "note"])
    for loose in entry.get("loose", ()):
        Need.objects.create(
            job=job,
            spec=StoredSpec.keep(Spec.from_dict(loose["spec"])),
            quantity=loose["quantity"],
            note=loose["note"],
        )
    if entry["status"] != Job.Status.OPEN:
        jobs.set_status(job, entry["status"])


def _narrowed(spec: Spec, more: Entry) -> Spec:
    """The position's Spec with further conditions laid over it; traits are added to."""
    plain = {name: value for name, value in spec.to_dict().items() if name not in ("value_text", "spec_text")}
    return Spec.from_dict({**plain, **more, "traits": {**plain["traits"], **more.get("traits", {})}})


def _record_trial(entry: Entry, by: Actor) -> None:
    columns = {name: entry.get(name, "") for name in ("method", "reading", "verdict", "note")}
    of = {"lot": _lot(entry["lot"])} if "lot" in entry else {"board": _board(entry["board"])}
    trials.record(by=by, in_circuit=entry["in_circuit"], **of, **columns)


def _board(name: str) -> Board:
    return Board.objects.select_related("place", "design").get(name=name)


def _job(name: str) -> Job:
    return Job.objects.get(name=name)


def _place(path: str) -> Place:
    place: Place | None = None
    for name in names_in(path):
        place = Place.objects.get(name=name, within=place)
    if place is None:
        raise ValueError("a place needs a name")
    return place


def _due(entry: Entry) -> Any:
    """`"+6"` is six days from today."""
    return timezone.localdate() + timedelta(days=int(entry["due"])) if entry.get("due") else None


def _lot(named: Entry) -> Lot:
    """The lot that came off a board position, or the one so marked (and named) at a place."""
    lots = Lot.objects.select_related("part__spec")
    if "board" in named:
        return lots.get(origin_board__name=named["board"], origin_ref=named["ref"])
    lots = lots.filter(holdings__place=_place(named["place"]), marking=named["marking"])
    return lots.get(part__name=named["name"]) if "name" in named else lots.get()


def _holding(named: Entry) -> Holding:
    lot = _lot(named)
    return (
        Holding.objects.select_related("lot__part__spec", "place__board")
        .filter(lot=lot, quantity__gt=0)
        .order_by("id")[0]
    )
