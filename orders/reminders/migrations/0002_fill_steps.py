from datetime import time

from django.apps.registry import Apps
from django.db import migrations
from django.db.backends.base.schema import BaseDatabaseSchemaEditor

MORNING, EARLY = time(8), time(7)

# The program's own schedule: no standard for it is known. Each program may edit it.
# code, counts from, days before, local time, audience, text
STEPS = [
    ("four-weeks", "due", 28, MORNING, "coordinator", "Four weeks left. See that it is on a work order."),
    ("two-weeks", "due", 14, MORNING, "both", "Two weeks left. Plan the day on which it will be cut or pulled."),
    ("one-week", "due", 7, MORNING, "both", "One week left. After the due day its fruit may ripen and spread."),
    ("two-days", "due", 2, MORNING, "both", "Two days left. If it cannot be done in time, say so now."),
    ("last-day", "due", 0, EARLY, "both", "Today is the last day."),
    ("overdue", "due", -1, MORNING, "coordinator", "The due day has passed, and no close-out says that it was done."),
    ("fruit-seen", "fruit", 0, MORNING, "both", "Fruit was seen. It is late, and every day later is worse."),
]


def fill(apps: Apps, schema_editor: BaseDatabaseSchemaEditor) -> None:
    step = apps.get_model("reminders", "ReminderStep")
    for code, counts_from, days_before, local_time, audience, text in STEPS:
        values = {"counts_from": counts_from, "days_before": days_before, "local_time": local_time}
        step.objects.get_or_create(kind="seed", code=code, defaults={**values, "audience": audience, "text": text})


class Migration(migrations.Migration):
    dependencies = [("reminders", "0001_initial")]
    # Backwards nothing is taken away: a notice may have been sent by then, and 0001 drops the table anyway.
    operations = [migrations.RunPython(fill, migrations.RunPython.noop)]
