from django.db import migrations, models


class Migration(migrations.Migration):
    dependencies = [("estimates", "0007_add_use_of_methods")]

    operations = [
        migrations.AddField(
            model_name="estimate",
            name="survey_log_sd",
            field=models.FloatField(help_text="The survey's part of the estimate's own log spread.", null=True),
        ),
        migrations.AddField(
            model_name="estimate",
            name="form_shares",
            field=models.JSONField(help_text="Shares of its hours by growth form, as the steps name them.", null=True),
        ),
    ]
