"""Parts of many Specs at once."""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from typing import Any

from inventory.chunks import chunks
from inventory.models import Part, StoredSpec
from inventory.spec import Spec


@dataclass(frozen=True)
class Parts:
    """The part of each Spec, and of which Specs the part was made or changed for it."""

    of: dict[Spec, Part]
    made: set[Spec]
    changed: set[Spec]

    def changed_by(self, spec: Spec, facts: Mapping[str, Any]) -> bool:
        """Whether a row with these facts of the part is one that changed it."""
        return bool(facts) and spec in self.changed


def parts_of(facts_of: Mapping[Spec, Mapping[str, Any]]) -> Parts:
    """Find or make the part of each Spec, and write to it the facts that go with it (columns of Part).

    A constant number of queries for each 500.
    """
    rows = StoredSpec.keep_all(list(facts_of))
    spec_of = {row.pk: spec for spec, row in rows.items()}
    found = _parts_with(spec_of)
    changed = []
    for part in found.values():
        facts = facts_of[spec_of[part.spec_id]]
        if any(getattr(part, name) != value for name, value in facts.items()):
            for name, value in facts.items():
                setattr(part, name, value)
            part.version += 1
            changed.append(part)
    missing = [
        Part(spec=row, **{"name": spec.text[:200], **facts_of[spec]})
        for spec, row in rows.items()
        if row.pk not in found
    ]
    if missing:
        Part.objects.bulk_create(missing, ignore_conflicts=True, batch_size=500)
        found |= _parts_with(
            [part.spec_id for part in missing]
        )  # with their ids, and what a twin made meanwhile
    if changed:
        columns = sorted({name for facts in facts_of.values() for name in facts})
        Part.objects.bulk_update(changed, [*columns, "version"], batch_size=500)
    for pk, part in found.items():
        part.spec = rows[spec_of[pk]]
    return Parts(
        of={spec: found[row.pk] for spec, row in rows.items()},
        made={spec_of[part.spec_id] for part in missing},
        changed={spec_of[part.spec_id] for part in changed},
    )


def _parts_with(spec_ids: Iterable[int]) -> dict[int, Part]:
    return {part.spec_id: part for chunk in chunks(spec_ids) for part in Part.objects.filter(spec__in=chunk)}
