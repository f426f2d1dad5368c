"""Estimates that stood before say in columns of their own what their explanation says of spread and growth forms."""

import json
from itertools import islice
from typing import Any

from django.db import migrations

from orders.estimates.explained import form_shares, survey_log_sd

TABLE = "estimates_estimate"
AT_ONCE = 500
FILL = "UPDATE estimates_estimate SET survey_log_sd = %s, form_shares = %s WHERE id = %s"


def _triggers_drop(schema_editor: Any) -> None:
    """Estimates are append-only; the triggers are installed again when all migrations are done."""
    on = f' ON "{TABLE}"' if schema_editor.connection.vendor == "postgresql" else ""
    for event in ("update", "delete"):
        schema_editor.execute(f'DROP TRIGGER IF EXISTS "append_only_{TABLE}_{event}"{on}')


def fill(apps: Any, schema_editor: Any) -> None:
    rows = apps.get_model("estimates", "Estimate").objects.filter(survey_log_sd=None).order_by("pk")
    keys = iter(list(rows.values_list("pk", flat=True)))
    if not rows.exists():
        return
    _triggers_drop(schema_editor)
    while some := list(islice(keys, AT_ONCE)):
        told = [
            (survey_log_sd(result), json.dumps(form_shares(result, inputs)), key)
            for key, result, inputs in rows.filter(pk__in=some).values_list("pk", "result", "inputs")
        ]
        with schema_editor.connection.cursor() as cursor:
            cursor.executemany(FILL, told)


class Migration(migrations.Migration):
    dependencies = [("estimates", "0008_add_survey_spread_and_form_shares")]

    operations = [migrations.RunPython(fill, migrations.RunPython.noop)]
