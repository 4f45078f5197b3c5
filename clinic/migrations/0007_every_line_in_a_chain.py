"""Ask a place in a chain of every line, and set the triggers up again."""

from importlib import import_module

import django.db.models.deletion
from django.db import migrations, models

append_only = import_module("clinic.migrations.0002_audit_append_only")


class Migration(migrations.Migration):
    dependencies = [("clinic", "0006_chain_what_is_on_record")]
    operations = [
        migrations.AlterField(
            "auditevent",
            "chain",
            models.ForeignKey(
                on_delete=django.db.models.deletion.PROTECT,
                related_name="lines",
                to="clinic.auditchain",
            ),
        ),
        migrations.AlterField(
            "auditevent", "position", models.PositiveBigIntegerField()
        ),
        migrations.AlterField(
            "auditevent", "previous", models.CharField(max_length=64)
        ),
        migrations.AlterField("auditevent", "salt", models.CharField(max_length=32)),
        migrations.AlterField("auditevent", "digest", models.CharField(max_length=64)),
        migrations.AlterField("auditevent", "hash", models.CharField(max_length=64)),
        migrations.AddConstraint(
            "auditevent",
            models.UniqueConstraint(
                fields=["chain", "position"], name="audit_place_taken_once"
            ),
        ),
        migrations.RunPython(append_only.install, append_only.remove),
    ]
