from typing import Any

from django.apps.registry import Apps
from django.db import migrations
from django.db.backends.base.schema import BaseDatabaseSchemaEditor

# What 0004 filled: jurisdiction and first day -> counts, days. The profiles of workorders hold these already.
FILLED = {
    ("OH", "1990-01-01"): ("same_day", 0),
    ("MO", "1990-01-01"): ("business_days", 3),
    ("IN", "1990-01-01"): ("days", 30),
    ("", "1990-01-01"): ("days", 14),
}


def copy(apps: Apps, schema_editor: BaseDatabaseSchemaEditor) -> None:
    """Rules that a program had changed or added go on as profiles; what a rule did not say is as in the newest profile
    of its jurisdiction, else of the program."""
    rule, profile = apps.get_model("reminders", "RecordRule"), apps.get_model("workorders", "RecordProfile")
    for row in rule.objects.order_by("jurisdiction", "first_day"):
        shipped = FILLED.get((row.jurisdiction, row.first_day.isoformat()))
        if shipped == (row.counts, row.days) and row.last_day is None:
            continue
        own = profile.objects.filter(jurisdiction=row.jurisdiction).order_by("first_day")
        names = ("counts", "days", "last_day", "scope", "source")
        told: dict[str, Any] = {name: getattr(row, name) for name in names}
        told |= {"reviewed_by": "", "reviewed_on": None}
        if own.filter(first_day=row.first_day).update(**told):
            continue
        made = own.last() or profile.objects.get(jurisdiction="", first_day="1990-01-01")
        made.pk, made._state.adding = None, True
        made.public_id, made.version = row.public_id, 1
        made.jurisdiction, made.first_day = row.jurisdiction, row.first_day
        for name, value in told.items():
            setattr(made, name, value)
        made.save(force_insert=True)


class Migration(migrations.Migration):
    dependencies = [("reminders", "0005_tighten_kinds"), ("workorders", "0004_fill_record_profiles")]
    # Backwards the copies stay: the rules are still where they were.
    operations = [migrations.RunPython(copy, migrations.RunPython.noop)]
