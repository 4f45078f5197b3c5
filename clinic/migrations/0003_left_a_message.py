"""The contact attempt that left a message is called so; what is stored stays."""

from django.db import migrations, models


class Migration(migrations.Migration):
    dependencies = [("clinic", "0002_audit_append_only")]

    operations = [
        migrations.AlterField(
            model_name="contactattempt",
            name="result",
            field=models.CharField(
                choices=[
                    ("reached", "Reached, coming back"),
                    ("declined", "Reached, does not wish to come"),
                    ("left word", "Left a message"),
                    ("no answer", "No answer"),
                ],
                max_length=9,
            ),
        ),
    ]
