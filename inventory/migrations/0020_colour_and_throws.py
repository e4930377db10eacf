"""A red LED reads so, and a switch SPDT, in rows of before too: two that differ were called the same."""

from importlib import import_module
from typing import Any

from django.db import migrations
from django.db.models import Q


def read_anew(apps: Any, schema_editor: Any) -> None:
    unsaid = Q(traits__has_key="colour") | Q(traits__has_key="throws")
    if apps.get_model("inventory", "StoredSpec").objects.filter(unsaid).exists():
        import_module("inventory.migrations.0015_texts_of_specs").read_anew(apps, schema_editor)


class Migration(migrations.Migration):
    dependencies = [("inventory", "0019_dip_said_once")]

    operations = [migrations.RunPython(read_anew, migrations.RunPython.noop)]
