"""Rows of the ledger before it had two sides name their accounts by their category; the rules that hold until a program
says otherwise are rows too."""

from datetime import date
from typing import Any

from django.db import migrations

CLEARED_THROUGH = {"material": "clear-stock", "equipment": "clear-equipment", "mileage": "clear-mileage"}
TABLE = "costs_ledgerentry"
SINCE = date(2000, 1, 1)
COMMON = "common practice"


def _triggers_drop(schema_editor: Any) -> None:
    """The ledger is append-only; its triggers are installed again when all migrations are done."""
    on = f' ON "{TABLE}"' if schema_editor.connection.vendor == "postgresql" else ""
    for event in ("update", "delete"):
        schema_editor.execute(f'DROP TRIGGER IF EXISTS "append_only_{TABLE}_{event}"{on}')


def accounts_fill(apps: Any, schema_editor: Any) -> None:
    entries = apps.get_model("costs", "LedgerEntry").objects
    if not entries.exists():
        return
    _triggers_drop(schema_editor)
    for category, account in CLEARED_THROUGH.items():
        entries.filter(category=category).update(debit=f"cost-{category}", credit=account)


def fill(apps: Any, _: Any) -> None:
    apps.get_model("costs", "OvertimeRule").objects.get_or_create(
        jurisdiction=None, from_day=SINCE, defaults={"source": "29 USC 207(a), 29 CFR 778.104: over 40 h in a workweek"}
    )
    apps.get_model("costs", "PayPolicy").objects.get_or_create(
        from_day=SINCE, defaults={"source": f"{COMMON}: week from Sunday midnight, average rate (29 CFR 778.115)"}
    )
    apps.get_model("costs", "StockPolicy").objects.get_or_create(
        from_day=SINCE, defaults={"valuation": "lot", "source": f"{COMMON}: each lot at what it cost"}
    )


class Migration(migrations.Migration):
    dependencies = [("costs", "0002_add_accounts_pay_rules_purchases_and_awards")]

    operations = [
        migrations.RunPython(accounts_fill, migrations.RunPython.noop),
        migrations.RunPython(fill, migrations.RunPython.noop),
    ]
