"""What has a law is variable, without being said so: rows that say it become the rows of what is typed now.

Two rows of one Spec become one, with everything that points at either; going back leaves them so.
"""

import hashlib
from typing import Any

from django.db import IntegrityError, migrations, transaction

from inventory.spec import Spec, SpecError

COLUMNS = (
    "kind", "number", "value", "tolerance_percent", "volts", "watts", "amps", "dielectric", "package",
    "lead_style", "pitch_mm", "polarised", "safety_class", "speed_ns", "make", "traits",
)  # fmt: skip


def say_it_once(apps: Any, schema_editor: Any) -> None:
    stored = apps.get_model("inventory", "StoredSpec").objects
    parts = apps.get_model("inventory", "Part").objects
    for row in stored.filter(kind="resistor", traits__has_key="taper").order_by("pk"):
        row.traits = {name: fact for name, fact in row.traits.items() if name != "variable"}
        try:
            spec = Spec(**{name: getattr(row, name) for name in COLUMNS})
        except SpecError:
            continue  # of a rule that came later: it stays as it was
        parts.filter(spec=row.pk, name=row.text[:200]).update(name=spec.text[:200])
        row.text, row.key_hash = spec.text[:400], hashlib.sha256(spec.key.encode()).hexdigest()
        twin = stored.filter(key_hash=row.key_hash).exclude(pk=row.pk).first()
        if twin is None:
            row.save(update_fields=["traits", "text", "key_hash"])
            continue
        part = parts.filter(spec=row.pk).first()
        its_twin = parts.filter(spec=twin.pk).first()
        if part is not None and its_twin is not None:
            _make_one_part(part, its_twin)
        _point_at(row, twin)
        row.delete()


def _make_one_part(part: Any, into: Any) -> None:
    """All of `part`, and what is written of it where nothing is written of the other."""
    _point_at(part, into)
    if into.price is None:
        into.price, into.pack_size = part.price, part.pack_size
    if into.reorder_at is None:
        into.reorder_at = part.reorder_at
    if part.note not in into.note:
        into.note = "\n".join(filter(None, (into.note, part.note)))
    into.version = max(into.version, part.version) + 1
    into.save()
    part.delete()


def _point_at(row: Any, twin: Any) -> None:
    """Whatever points at the row points at its twin; what the twin has already is there once."""
    for relation in row._meta.get_fields(include_hidden=True):
        if not relation.auto_created or not (relation.one_to_many or relation.one_to_one):
            continue
        name, pointing = relation.field.name, relation.related_model._base_manager
        for each in pointing.filter(**{name: row.pk}).values_list("pk", flat=True):
            try:
                with transaction.atomic(using=pointing.db):
                    pointing.filter(pk=each).update(**{name: twin.pk})
            except IntegrityError:
                pointing.filter(pk=each).delete()


class Migration(migrations.Migration):
    dependencies = [
        ("repairs", "0020_whose_a_design_file_is"),
        ("inventory", "0020_colour_and_throws"),
    ]

    operations = [migrations.RunPython(say_it_once, migrations.RunPython.noop)]
