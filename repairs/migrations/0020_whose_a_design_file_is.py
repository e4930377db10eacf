"""Whose a design's file is.  Going back forgets it, since there is no column for it then; who signed the file,
and all that it brought, stays.
"""

import django.db.models.deletion
from django.db import migrations, models


class Migration(migrations.Migration):

    dependencies = [
        ('repairs', '0019_whose_what_is_bought_becomes'),
    ]

    operations = [
        migrations.AddField(
            model_name='designrecord',
            name='friend',
            field=models.ForeignKey(blank=True, null=True, on_delete=django.db.models.deletion.SET_NULL, related_name='+', to='repairs.friend'),
        ),
        migrations.AddField(
            model_name='designtaken',
            name='friend',
            field=models.ForeignKey(blank=True, null=True, on_delete=django.db.models.deletion.SET_NULL, related_name='+', to='repairs.friend'),
        ),
    ]
