"""A DIP without a number of pins reads "IC, DIP" now, in rows of before too, not "IC, DIP, dip"."""

from importlib import import_module
from typing import Any

from django.db import migrations


def read_anew(apps: Any, schema_editor: Any) -> None:
    twice = apps.get_model("inventory", "StoredSpec").objects.filter(text__contains=", DIP, dip")
    if twice.exists():
        import_module("inventory.migrations.0015_texts_of_specs").read_anew(apps, schema_editor)


class Migration(migrations.Migration):
    dependencies = [("inventory", "0018_whose_a_lot_is")]

    operations = [migrations.RunPython(read_anew, migrations.RunPython.noop)]
