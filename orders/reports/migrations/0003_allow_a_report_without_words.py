"""A report may be asked for without a word: its usual cut, everything in it."""

from django.db import migrations, models


class Migration(migrations.Migration):
    dependencies = [
        ("reports", "0002_add_claims_of_report_mails"),
    ]

    operations = [
        migrations.AlterField(
            model_name="exportrun",
            name="query",
            field=models.JSONField(blank=True, default=dict),
        ),
        migrations.AlterField(
            model_name="reportschedule",
            name="query",
            field=models.JSONField(blank=True, default=dict),
        ),
        migrations.AlterField(
            model_name="savedview",
            name="query",
            field=models.JSONField(blank=True, default=dict),
        ),
    ]
