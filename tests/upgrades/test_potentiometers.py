"""Rows that say of a potentiometer that it is variable become the rows of what is typed now."""

import hashlib
import json
from decimal import Decimal
from importlib import import_module

import pytest
from django.apps import apps

from inventory.models import Part, Position, StoredSpec
from inventory.part_lines import read_line
from inventory.spec import Spec
from repairs.models import Need, Purchase
from repairs.sharing_models import LackMark
from tests.factories import (
    DesignFactory,
    JobFactory,
    NeedFactory,
    PartFactory,
    SubstitutionFactory,
    attachment,
    stock,
)

pytestmark = [pytest.mark.both_databases, pytest.mark.django_db]


def as_of_before(spec: Spec, *, variable: bool) -> StoredSpec:
    """The row as it was kept while both were said."""
    row = StoredSpec.unsaved(spec)
    row.traits = dict(sorted({**row.traits, "variable": variable}.items()))
    row.text = row.text.replace("lin potentiometer", "variable resistor")
    members = {**json.loads(spec.key), "traits": row.traits}
    written = json.dumps(members, sort_keys=True, separators=(",", ":"), ensure_ascii=False)
    row.key_hash = hashlib.sha256(written.encode()).hexdigest()
    row.save()
    return row


def migrate() -> None:
    migration = import_module("repairs.migrations.0021_one_row_a_potentiometer")
    migration.say_it_once(apps, None)


def typed(line: str) -> Spec:
    spec = read_line(line).spec
    assert spec is not None
    return spec


@pytest.mark.parametrize("variable", [True, False])
def test_a_row_of_before_is_that_of_what_is_typed_now(variable: bool) -> None:
    lin = typed("10k lin pot")
    old = as_of_before(lin, variable=variable)
    part = Part.objects.create(spec=old, name=old.text)
    held = stock(3, part=part)
    migrate()
    assert StoredSpec.keep(lin).pk == old.pk
    part = Part.of(lin)
    assert (part.pk, part.name, part.spec.text) == (held.lot.part_id, lin.text, "10k lin potentiometer")
    migrate()
    assert StoredSpec.objects.filter(kind="resistor").count() == 1


def test_two_rows_of_one_spec_become_one_and_nothing_that_points_at_them_is_lost() -> None:
    lin, other = typed("10k lin pot"), typed("47k")
    old, now = as_of_before(lin, variable=True), StoredSpec.keep(lin)
    before, later = (
        Part.objects.create(
            spec=old, name="knob of the mixer", price=Decimal("1.5"), pack_size=10, note="Alps"
        ),
        PartFactory(of=lin, note="new ones"),
    )
    for part, pieces in ((before, 3), (later, 4)):
        stock(pieces, part=part)
        attachment(to=part)
        Purchase.objects.create(part=part, quantity=5)
    design = DesignFactory(positions={"RV1": lin, "RV2": lin})
    Position.objects.filter(design=design, ref="RV1").update(spec=old)
    job = JobFactory()
    for row in (old, now):
        Need.objects.filter(pk=NeedFactory(job=job, of=lin).pk).update(spec=row)
        LackMark.objects.create(spec=row)
        SubstitutionFactory(of=other, offered=row, note=f"of {row.pk}")
    migrate()
    assert not StoredSpec.objects.filter(pk=old.pk).exists()
    part = Part.objects.get(spec=now)
    assert (part.price, part.pack_size, part.note) == (Decimal("1.5"), 10, "new ones\nAlps")
    assert sum(lot.holdings.get().quantity for lot in part.lots.all()) == 7
    assert (part.attachments.count(), part.purchases.count()) == (1, 2)
    assert list(design.positions.values_list("spec", flat=True)) == [now.pk, now.pk]
    assert [need.spec_id for need in job.needs.all()] == [now.pk, now.pk]
    assert LackMark.objects.count() == 1
    assert [one.note for one in now.substitute_for.all()] == [f"of {now.pk}"]
