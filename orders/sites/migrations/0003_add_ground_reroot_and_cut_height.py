from django.db import migrations, models

GROUNDS = [
    ("even", "Even"),
    ("rough", "Rough: rocks, holes or down wood slow the feet"),
    ("obstructed", "Obstructed: hands and tools must work round rocks, trunks or wire"),
    ("unknown", "Unknown"),
]
ANSWERS = [("yes", "Yes"), ("no", "No"), ("unknown", "Unknown")]


class Migration(migrations.Migration):
    """Surveys and species that are there already have not said: the default, unknown, is true of them all."""

    dependencies = [("sites", "0002_fill_growth_forms")]

    operations = [
        migrations.AddField(
            model_name="species",
            name="pulled_stems_reroot",
            field=models.CharField(
                choices=ANSWERS,
                default="unknown",
                max_length=7,
                help_text="Stems that are pulled or cut and left on the ground grow roots again: they must be hauled off.",
            ),
        ),
        migrations.AddField(
            model_name="species",
            name="reroot_source",
            field=models.CharField(blank=True, default="", max_length=300, help_text="Where that answer comes from."),
        ),
        migrations.AddField(
            model_name="survey",
            name="ground",
            field=models.CharField(
                choices=GROUNDS,
                default="unknown",
                max_length=10,
                help_text="How the ground is underfoot; unknown counts as even.",
            ),
        ),
        migrations.AddField(
            model_name="surveycomponent",
            name="cut_height_m",
            field=models.FloatField(null=True, help_text="Of the upper of the two cuts through a climbing stem."),
        ),
    ]
