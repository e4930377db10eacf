"""The three roles, and the two places that every workshop has."""

from django.db import migrations


def add(apps, schema_editor):
    Group = apps.get_model("auth", "Group")
    for name in ("owner", "bench", "viewer"):
        Group.objects.get_or_create(name=name)
    Place = apps.get_model("inventory", "Place")
    Place.objects.get_or_create(type="outside", defaults={"name": "outside"})
    Place.objects.get_or_create(type="scrap", defaults={"name": "scrap bin"})


class Migration(migrations.Migration):
    dependencies = [
        ("inventory", "0001_initial"),
        ("auth", "0012_alter_user_first_name_max_length"),
    ]

    operations = [migrations.RunPython(add, migrations.RunPython.noop)]
