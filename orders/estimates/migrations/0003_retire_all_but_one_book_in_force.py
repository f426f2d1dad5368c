"""Books of several names could be in force at once; the one that estimates were made by stays, the others retire."""

from typing import Any

from django.db import migrations


def retire_others(apps: Any, schema_editor: Any) -> None:
    rate_books = apps.get_model("estimates", "RateBook").objects
    kept = rate_books.filter(state="in_force").order_by("-edition", "name").first()
    if kept is not None:
        rate_books.filter(state="in_force").exclude(pk=kept.pk).update(state="retired")


class Migration(migrations.Migration):
    dependencies = [("estimates", "0002_add_crew_kind_last_day_and_contingency")]

    operations = [migrations.RunPython(retire_others, migrations.RunPython.noop)]
