"""The codes that a journal was written with stand beside it: a mapping that is changed later changes no file that was
handed over."""

from django.db import migrations, models


class Migration(migrations.Migration):
    dependencies = [("costs", "0004_add_the_name_told_to_payroll")]

    operations = [
        migrations.AddField(
            model_name="journalbatch",
            name="codes",
            field=models.JSONField(
                default=list, help_text="The outer codes as they were, so that the file stays the same"
            ),
        )
    ]
