import csv
from datetime import date, time
from pathlib import Path

from django.apps.registry import Apps
from django.db import migrations
from django.db.backends.base.schema import BaseDatabaseSchemaEditor

REFERENCE = Path(__file__).resolve().parents[3] / "fixtures" / "reference"
FLAGS = (
    "to_coordinators",
    "to_leads",
    "to_supervisors",
    "to_person",
    "until_acknowledged",
    "escalates",
    "bypasses_quiet",
)


def _rows(name: str) -> list[dict[str, str]]:
    with (REFERENCE / name).open(newline="", encoding="utf-8") as file:
        return list(csv.DictReader(file))


def fill(apps: Apps, schema_editor: BaseDatabaseSchemaEditor) -> None:
    """The schedule and the rules that an installation begins with; what a program edited stays as it is."""
    step, rule = apps.get_model("reminders", "ReminderStep"), apps.get_model("reminders", "RecordRule")
    for row in _rows("reminder_steps.csv"):
        values = {name: row[name] for name in ("counts_from", "text", "source")}
        values |= {name: int(row[name]) for name in ("days_before", "rung")}
        values |= {name: row[name] == "1" for name in FLAGS}
        values["local_time"] = time.fromisoformat(row["local_time"])
        step.objects.get_or_create(kind=row["kind"], code=row["code"], defaults=values)
    for row in _rows("record_rules.csv"):
        values = {name: row[name] for name in ("counts", "scope", "source")}
        values |= {"days": int(row["days"]), "last_day": row["last_day"] or None}
        first_day = date.fromisoformat(row["first_day"])
        rule.objects.get_or_create(jurisdiction=row["jurisdiction"], first_day=first_day, defaults=values)


def fill_seeds(apps: Apps, schema_editor: BaseDatabaseSchemaEditor) -> None:
    """What stood in the columns of seed deadlines and their steps, in the columns that all kinds share."""
    deadline, step = apps.get_model("reminders", "Deadline"), apps.get_model("reminders", "ReminderStep")
    related = ("patch__site", "species", "growth_form", "survey")
    for row in deadline.objects.filter(subject_key="").select_related(*related).order_by("id").iterator():
        row.subject_key = f"{row.patch.public_id}/{row.species.code}/{row.growth_form.code}"
        row.period = str(row.year)
        row.title = f"{row.species.common_name} ({row.growth_form.code}), {row.patch.site.code} {row.patch.code}"[:300]
        row.site_id = row.patch.site_id
        row.known_at = row.survey.recorded_at
        row.save(update_fields=["subject_key", "period", "title", "site", "known_at"])
    told = {"coordinator": ("to_coordinators",), "crew_lead": ("to_leads",), "both": ("to_coordinators", "to_leads")}
    for audience, flags in told.items():
        step.objects.filter(audience=audience).update(**dict.fromkeys(flags, True))
    known = {row["code"]: row for row in _rows("reminder_steps.csv") if row["kind"] == "seed"}
    for row in step.objects.filter(kind="seed", code__in=known).order_by("id"):
        step.objects.filter(pk=row.pk).update(rung=int(known[row.code]["rung"]), source=known[row.code]["source"])


class Migration(migrations.Migration):
    dependencies = [("reminders", "0003_add_kinds_and_calendars")]
    # Backwards nothing is taken away: a notice may have been sent by then.
    operations = [
        migrations.RunPython(fill_seeds, migrations.RunPython.noop),
        migrations.RunPython(fill, migrations.RunPython.noop),
    ]
