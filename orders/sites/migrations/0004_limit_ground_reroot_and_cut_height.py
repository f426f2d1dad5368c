from django.db import migrations, models
from django.db.models import Q


class Migration(migrations.Migration):
    dependencies = [("sites", "0003_add_ground_reroot_and_cut_height")]

    operations = [
        migrations.AddConstraint(
            model_name="species",
            constraint=models.CheckConstraint(
                condition=Q(pulled_stems_reroot__in=["yes", "no", "unknown"]), name="species_reroot_is_answer"
            ),
        ),
        migrations.AddConstraint(
            model_name="survey",
            constraint=models.CheckConstraint(
                condition=Q(ground__in=["even", "rough", "obstructed", "unknown"]), name="survey_ground_is_known_word"
            ),
        ),
        migrations.AddConstraint(
            model_name="surveycomponent",
            constraint=models.CheckConstraint(
                condition=Q(cut_height_m__isnull=True) | Q(cut_height_m__gte=0.3, cut_height_m__lte=6.0),
                name="component_cut_within_reach",
            ),
        ),
    ]
