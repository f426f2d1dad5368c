import csv
from datetime import date
from pathlib import Path

from django.apps.registry import Apps
from django.db import migrations
from django.db.backends.base.schema import BaseDatabaseSchemaEditor

REFERENCE = Path(__file__).resolve().parents[3] / "fixtures" / "reference" / "record_profiles.csv"


def fill(apps: Apps, schema_editor: BaseDatabaseSchemaEditor) -> None:
    """The rules that an installation begins with, none of them reviewed; what a program edited stays as it is."""
    profile = apps.get_model("workorders", "RecordProfile")
    with REFERENCE.open(newline="", encoding="utf-8") as file:
        for row in csv.DictReader(file):
            values = {name: row[name] for name in ("scope", "counts", "produce", "source", "not_found")}
            values |= {name: int(row[name]) for name in ("days", "keep_years", "least_age")}
            values |= {name: row[name] == "1" for name in ("must_carry_order", "volunteers_may_apply")}
            values |= {name: row[name].split() for name in ("required", "if_applicable", "volunteer_signal_words")}
            values["last_day"] = date.fromisoformat(row["last_day"]) if row["last_day"] else None
            first_day = date.fromisoformat(row["first_day"])
            profile.objects.get_or_create(jurisdiction=row["jurisdiction"], first_day=first_day, defaults=values)


class Migration(migrations.Migration):
    dependencies = [("workorders", "0003_add_field_facts")]
    # Backwards nothing is taken away: a record may rest on a profile by then.
    operations = [migrations.RunPython(fill, migrations.RunPython.noop)]
