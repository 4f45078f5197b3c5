"""Make room for the hashes that tie the lines of the audit trail together.

The triggers are lifted until 0007: SQLite rebuilds a table to change it and would drop
them unseen.
"""

from importlib import import_module

import django.db.models.deletion
from django.conf import settings
from django.db import migrations, models

append_only = import_module("clinic.migrations.0002_audit_append_only")


class Migration(migrations.Migration):
    dependencies = [("clinic", "0004_choice_about_audit")]
    operations = [
        migrations.RunPython(append_only.remove, append_only.install),
        migrations.CreateModel(
            name="AuditChain",
            fields=[
                (
                    "id",
                    models.BigAutoField(
                        auto_created=True,
                        primary_key=True,
                        serialize=False,
                        verbose_name="ID",
                    ),
                ),
                ("length", models.PositiveBigIntegerField(default=0)),
                ("head", models.CharField(default="0" * 64, max_length=64)),
                (
                    "site",
                    models.OneToOneField(
                        null=True,
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="+",
                        to="clinic.site",
                    ),
                ),
            ],
        ),
        migrations.AlterField("auditevent", "at", models.DateTimeField()),
        migrations.AlterField(
            "auditevent",
            "by",
            models.ForeignKey(
                null=True,
                on_delete=django.db.models.deletion.PROTECT,
                related_name="+",
                to=settings.AUTH_USER_MODEL,
            ),
        ),
        migrations.AlterField(
            "auditevent",
            "site",
            models.ForeignKey(
                null=True,
                on_delete=django.db.models.deletion.PROTECT,
                related_name="+",
                to="clinic.site",
            ),
        ),
        migrations.AddField(
            "auditevent",
            "chain",
            models.ForeignKey(
                null=True,
                on_delete=django.db.models.deletion.PROTECT,
                related_name="lines",
                to="clinic.auditchain",
            ),
        ),
        migrations.AddField(
            "auditevent", "position", models.PositiveBigIntegerField(null=True)
        ),
        migrations.AddField(
            "auditevent", "previous", models.CharField(max_length=64, null=True)
        ),
        migrations.AddField(
            "auditevent", "salt", models.CharField(max_length=32, null=True)
        ),
        migrations.AddField(
            "auditevent", "digest", models.CharField(max_length=64, null=True)
        ),
        migrations.AddField(
            "auditevent", "hash", models.CharField(max_length=64, null=True)
        ),
    ]
