"""Tables and columns by the words that people use: an accepted exception, the facts of a record."""

import django.db.models.deletion
from django.db import migrations, models


class Migration(migrations.Migration):
    dependencies = [
        ("inventory", "0001_initial"),
        ("repairs", "0011_meter_error_of_trials"),
    ]

    operations = [
        migrations.RenameModel("Exemption", "AcceptedException"),
        migrations.AlterField(
            model_name="acceptedexception",
            name="board",
            field=models.ForeignKey(
                on_delete=django.db.models.deletion.CASCADE, related_name="exceptions", to="inventory.board"
            ),
        ),
        migrations.RemoveConstraint(model_name="acceptedexception", name="exemption_says_why"),
        migrations.AddConstraint(
            model_name="acceptedexception",
            constraint=models.CheckConstraint(condition=~models.Q(why=""), name="exception_says_why"),
        ),
        migrations.RenameField("designrecord", "said", "facts"),
    ]
