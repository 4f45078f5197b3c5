"""A clearance names the screen that was stopped; flags are named as flags."""

from django.db import migrations, models
from django.db.models import Q

NOTHING = Q(
    physician="",
    physician_answer="",
    physician_answered_on__isnull=True,
    stopped_on__isnull=True,
)
EVERYTHING = (
    ~Q(physician="")
    & ~Q(physician_answer="")
    & Q(physician_answered_on__isnull=False, stopped_on__isnull=False)
)


class Migration(migrations.Migration):
    """Rename two columns and hold a clearance to all four of its parts."""

    dependencies = [("programs", "0003_cuff_from_a_measured_limb_and_plates")]

    operations = [
        migrations.RenameField("flowscreen", "symptom_stopped_on", "stopped_on"),
        migrations.RenameField(
            "adverseevent", "during_flow_restriction", "is_during_flow_restriction"
        ),
        migrations.RemoveConstraint("flowscreen", "flow_screen_clearance_whole"),
        migrations.AddConstraint(
            "flowscreen",
            models.CheckConstraint(
                condition=NOTHING | EVERYTHING, name="flow_screen_clearance_whole"
            ),
        ),
    ]
