"""Waiting uploads keep the names of their files and what the check found."""

from django.db import migrations, models


class Migration(migrations.Migration):
    dependencies = [("outcomes", "0002_physical_results")]

    operations = [
        migrations.AddField(
            model_name="pendingimport",
            name="patients_name",
            field=models.CharField(blank=True, default="", max_length=100),
            preserve_default=False,
        ),
        migrations.AddField(
            model_name="pendingimport",
            name="observations_name",
            field=models.CharField(blank=True, default="", max_length=100),
            preserve_default=False,
        ),
        migrations.AddField(
            model_name="pendingimport",
            name="result",
            field=models.CharField(blank=True, default="", max_length=300),
            preserve_default=False,
        ),
    ]
