"""People as the bench tells of them, and named keys; keys made before go on opening."""

import hashlib

import django.contrib.auth.models
import django.db.models.deletion
from django.conf import settings
from django.db import migrations, models

BEFORE = "authtoken_token"


def take_over(apps, schema_editor):
    """The one key that each person had, by what it is known by; its table goes."""
    connection = schema_editor.connection
    if BEFORE not in connection.introspection.table_names():
        return
    AccessKey = apps.get_model("inventory", "AccessKey")
    with connection.cursor() as cursor:
        cursor.execute(f"SELECT key, user_id FROM {BEFORE}")
        for key, person in cursor.fetchall():
            digest = hashlib.sha256(key.encode()).hexdigest()
            AccessKey.objects.create(person_id=person, name="first key", digest=digest)
        cursor.execute(f"DROP TABLE {BEFORE}")


class Migration(migrations.Migration):
    dependencies = [
        ("auth", "0012_alter_user_first_name_max_length"),
        ("inventory", "0006_signing_in_and_settings"),
        migrations.swappable_dependency(settings.AUTH_USER_MODEL),
    ]

    operations = [
        migrations.CreateModel(
            name="Person",
            fields=[],
            options={"proxy": True, "indexes": [], "constraints": []},
            bases=("auth.user",),
            managers=[("objects", django.contrib.auth.models.UserManager())],
        ),
        migrations.CreateModel(
            name="AccessKey",
            fields=[
                ("id", models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name="ID")),
                ("name", models.CharField(max_length=60)),
                ("nonce", models.CharField(blank=True, default="", max_length=32)),
                ("digest", models.CharField(max_length=64, unique=True)),
                ("made_at", models.DateTimeField(auto_now_add=True)),
                ("used_on", models.DateField(null=True)),
                ("person", models.ForeignKey(on_delete=django.db.models.deletion.CASCADE, related_name="access_keys", to=settings.AUTH_USER_MODEL)),
            ],
            options={
                "verbose_name": "key",
                "constraints": [models.UniqueConstraint(fields=["person", "name"], name="one_key_of_a_name")],
            },
        ),
        migrations.RunPython(take_over, migrations.RunPython.noop),
    ]
