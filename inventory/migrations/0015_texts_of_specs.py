"""What a Spec reads as is kept beside it: rows of before say "DIP-14" now, as new ones do, not "DIP, dip14"."""

from typing import Any

from django.db import migrations

from inventory.spec import Spec, SpecError

COLUMNS = (
    "kind", "number", "value", "tolerance_percent", "volts", "watts", "amps", "dielectric", "package",
    "lead_style", "pitch_mm", "polarised", "safety_class", "speed_ns", "make", "traits",
)  # fmt: skip


def read_anew(apps: Any, schema_editor: Any) -> None:
    stored = apps.get_model("inventory", "StoredSpec").objects
    parts = apps.get_model("inventory", "Part").objects
    for row in stored.iterator(chunk_size=2000):
        try:
            text = Spec(**{name: getattr(row, name) for name in COLUMNS}).text[:400]
        except SpecError:
            continue  # of a rule that came later: its text stays as it was
        if text != row.text:
            parts.filter(spec=row.pk, name=row.text[:200]).update(name=text[:200])
            stored.filter(pk=row.pk).update(text=text)


class Migration(migrations.Migration):
    dependencies = [("inventory", "0014_attachments")]

    operations = [migrations.RunPython(read_anew, migrations.RunPython.noop)]
