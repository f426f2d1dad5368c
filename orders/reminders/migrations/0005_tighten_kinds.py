import datetime

from django.db import migrations, models
from django.db.models import Q


class Migration(migrations.Migration):
    dependencies = [("reminders", "0004_fill_kinds_and_rules")]
    operations = [
        migrations.RemoveConstraint("deadline", "deadline_once"),
        migrations.AlterField("deadline", "subject_key", models.CharField(max_length=120)),
        migrations.AlterField("deadline", "period", models.CharField(max_length=10)),
        migrations.AlterField(
            "deadline", "title", models.CharField(help_text="What it is of, in words.", max_length=300)
        ),
        migrations.AddConstraint(
            "deadline",
            models.UniqueConstraint(fields=["kind", "subject_key", "period"], name="deadline_once_a_period"),
        ),
        migrations.RemoveField("reminderstep", "audience"),
        migrations.AlterField(
            "reminderstep",
            "local_time",
            models.TimeField(
                default=datetime.time(8, 0), help_text="By the site's clock; without a site, the program's."
            ),
        ),
        migrations.AlterField("reminderstep", "source", models.CharField(blank=True, max_length=300)),
        migrations.AlterField("reminderstep", "to_coordinators", models.BooleanField(default=False)),
        migrations.AddConstraint(
            "reminderstep",
            models.CheckConstraint(
                condition=Q(to_coordinators=True) | Q(to_leads=True) | Q(to_supervisors=True) | Q(to_person=True),
                name="reminder_step_tells_somebody",
            ),
        ),
        migrations.AddConstraint(
            "reminderstep",
            models.CheckConstraint(condition=Q(rung__gte=1, rung__lte=3), name="reminder_step_rung"),
        ),
    ]
