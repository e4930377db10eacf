"""Whose file told it is kept by name too, so that it is known once the friend is deleted.

Going back forgets the names of friends deleted since; of those who are there nothing is lost.
"""

from typing import Any

from django.db import migrations, models
from django.db.models import OuterRef, Subquery


def name_them(apps: Any, schema_editor: Any) -> None:
    names = apps.get_model("repairs", "Friend").objects.filter(pk=OuterRef("friend")).values("name")
    for model in ("DesignRecord", "DesignTaken"):
        told = apps.get_model("repairs", model).objects.exclude(friend=None)
        told.update(friend_name=Subquery(names))


class Migration(migrations.Migration):
    dependencies = [("repairs", "0021_one_row_a_potentiometer")]

    operations = [
        *(
            migrations.AddField(
                model_name=model,
                name="friend_name",
                field=models.CharField(blank=True, default="", max_length=120),
            )
            for model in ("designrecord", "designtaken")
        ),
        migrations.RunPython(name_them, migrations.RunPython.noop),
    ]
