from django.db import migrations, models
from django.db.models import F, Q


class Migration(migrations.Migration):
    dependencies = [("sites", "0005_add_phenology_closure_kinds_and_weather")]

    operations = [
        migrations.AddConstraint(
            "closure",
            models.CheckConstraint(
                condition=Q(kind__in=["event", "hunting", "nesting", "wet_ground", "burn", "other"]),
                name="closure_kind_is_known_word",
            ),
        ),
        migrations.AddConstraint(
            "surveycomponent",
            models.CheckConstraint(
                condition=Q(reproductive_condition__in=["unknown", "none", "flowers", "fruit"]),
                name="component_condition_is_known_word",
            ),
        ),
        migrations.AddConstraint(
            "dailyweather", models.UniqueConstraint(fields=["site", "day"], name="daily_weather_once_a_day")
        ),
        migrations.AddConstraint(
            "dailyweather",
            models.CheckConstraint(
                condition=Q(low_c__gte=-90.0, high_c__gte=F("low_c"), high_c__lte=60.0), name="daily_weather_in_order"
            ),
        ),
        migrations.AddConstraint(
            "dailyweather",
            models.CheckConstraint(
                condition=Q(rain_mm__isnull=True) | Q(rain_mm__gte=0), name="daily_weather_rain_not_negative"
            ),
        ),
    ]
