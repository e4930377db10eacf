"""The same workshop with more of everything, written straight into the tables: it is there to be read."""

import re
from collections.abc import Collection
from dataclasses import replace
from typing import Any

from django.db import models

from inventory.models import (
    Board,
    Design,
    Movement,
    Part,
    Photo,
    Place,
    StoredSpec,
)  # fmt: skip
from inventory.pictures.photos import SUBJECTS
from repairs.demo_removal import tables
from repairs.models import Job, Trial
from repairs.proving_models import Substitution, TrialRecord
from repairs.sharing_models import EvidenceTaken, Friend, FriendLine

APART = 1_000_000
"""Between the ids of a row and of its twins, so that who belongs to whom need not be looked up."""

Models = Collection[type[models.Model]]
SINGLE = (Place.Type.SCRAP, Place.Type.OUTSIDE)
CONTAINERS: Models = (StoredSpec, Part, Place, Design, Board, Job, Friend, EvidenceTaken)
OF_A_LOT: Models = (Movement, Trial, TrialRecord, Photo)


def grow() -> None:
    """Three times as much: a second workshop, and twice as much in each place, board, job and lot."""
    kept = {model: list(model._default_manager.all()) for model in tables()}
    _twin(1, kept)
    _twin(2, {model: rows for model, rows in kept.items() if model not in CONTAINERS})
    _twin(3, {model: rows for model, rows in kept.items() if model in OF_A_LOT})


def _twin(turn: int, rows_of: dict[Any, list[Any]]) -> None:
    """Write twins of these rows; what they point to is its twin where that is among them too."""
    twinned = {model: {row.pk for row in rows} for model, rows in rows_of.items()}
    twinned[Place] = {row.pk for row in rows_of.get(Place, ()) if row.type not in SINGLE}
    for model, rows in rows_of.items():
        made = []
        for row in rows:
            if row.pk not in twinned[model] or not _may_stand_twice(row, turn):
                continue
            twin = model(
                **{field.attname: getattr(row, field.attname) for field in model._meta.concrete_fields}
            )
            twin.pk = row.pk + turn * APART
            for field in model._meta.concrete_fields:
                pointed = getattr(row, field.attname)
                if field.is_relation and pointed in twinned.get(field.related_model, ()):
                    setattr(twin, field.attname, pointed + turn * APART)
            if isinstance(twin, Photo) and row.subject_id in twinned.get(SUBJECTS.get(row.subject), ()):
                twin.subject_id = row.subject_id + turn * APART
            _tell_apart(twin, turn)
            made.append(twin)
        model._default_manager.bulk_create(made, batch_size=200)


def _may_stand_twice(row: Any, turn: int) -> bool:
    if turn == 2 and isinstance(row, Substitution):
        return row.design_id is not None and bool(row.ref)
    return True


def _tell_apart(twin: Any, turn: int) -> None:
    """What must be the only one of its kind is named anew."""
    if isinstance(twin, StoredSpec):
        new = StoredSpec.unsaved(replace(twin.spec, make=f"{twin.make} {turn}".strip()))
        for name in ("key_hash", "make", "text"):
            setattr(twin, name, getattr(new, name))
    if isinstance(twin, Place | Design | Board | Job | Part | Friend):
        twin.name = f"{twin.name} {turn}"
    if isinstance(twin, EvidenceTaken):
        twin.source = f"{twin.source} {turn}"
    if turn > 1 and isinstance(twin, FriendLine) and twin.line:
        twin.line = f"{twin.line}-{turn}"
    if turn > 1:
        for name in ("ref", "origin_ref", "from_ref", "to_ref"):
            if getattr(twin, name, ""):
                setattr(twin, name, _ref(getattr(twin, name), turn))


def _ref(ref: str, turn: int) -> str:
    """R7 -> R1407: no board of the demo has so many."""
    return (
        re.sub(r"([0-9]+)$", lambda figures: str(int(figures[0]) + 700 * turn), ref)
        if ref[-1].isdigit()
        else f"{ref}{turn}"
    )
