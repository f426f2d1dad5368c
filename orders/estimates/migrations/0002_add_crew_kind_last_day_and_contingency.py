"""Columns only: which kind of crew a rate book is for, the last day it held, contingency and contract price."""

from django.db import migrations, models


class Migration(migrations.Migration):
    dependencies = [("estimates", "0001_initial")]

    operations = [
        migrations.AddField(
            model_name="ratebook",
            name="crew_kind",
            field=models.CharField(
                choices=[("staff", "Staff crews"), ("volunteers", "Volunteers")], default="staff", max_length=10
            ),
        ),
        migrations.AddField(
            model_name="ratebook", name="in_force_until", field=models.DateField(blank=True, null=True)
        ),
        migrations.AddField(
            model_name="estimate",
            name="contingency_cents",
            field=models.BigIntegerField(
                help_text="From the likely cost up to the rate book's chosen level of the range.", null=True
            ),
        ),
        migrations.AddField(
            model_name="estimate",
            name="contract_cents",
            field=models.BigIntegerField(help_text="What a contractor asks, where the price list has it.", null=True),
        ),
    ]
