"""The name that payroll was told stands in the line: a person who is renamed changes no file that was handed over."""

from django.db import migrations, models


class Migration(migrations.Migration):
    dependencies = [("costs", "0003_fill_accounts_and_pay_rules")]

    operations = [
        migrations.AddField(
            model_name="payperiodline",
            name="person_name",
            field=models.CharField(
                default="", help_text="As it was told, so that the file stays the same", max_length=120
            ),
            preserve_default=False,
        )
    ]
