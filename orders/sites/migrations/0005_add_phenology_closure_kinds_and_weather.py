import uuid

import django.db.models.deletion
from django.db import migrations, models

CONDITIONS = [
    ("unknown", "Unknown"),
    ("none", "Neither flowers nor fruit"),
    ("flowers", "Flowers"),
    ("fruit", "Fruit"),
]
CLOSURE_KINDS = [
    ("event", "Event"),
    ("hunting", "Hunting"),
    ("nesting", "Nesting or roosts"),
    ("wet_ground", "Wet ground"),
    ("burn", "Prescribed burn"),
    ("other", "Other"),
]
CALENDAR_KINDS = [
    ("leaf_off", "Leaf-off"),
    ("ephemerals", "Spring ephemerals emerge"),
    ("leaf_out", "Leaf-out"),
    ("first_frost", "First fall frost"),
    ("hard_freeze", "First hard freeze"),
    ("ground_freezes", "Ground freezes"),
    ("ground_thaws", "Ground thaws"),
]


def part_of_day(name: str) -> migrations.AddField:
    return migrations.AddField("species", name, models.PositiveSmallIntegerField(blank=True, null=True))


class Migration(migrations.Migration):
    """Rows that are there already keep what they said: closures are of no kind in particular and keep out all
    methods, surveys have not told of flowers or fruit, species have no range of flowering."""

    dependencies = [("sites", "0004_limit_ground_reroot_and_cut_height")]

    operations = [
        migrations.AddField("calendarevent", "version", models.PositiveIntegerField(default=1, editable=False)),
        migrations.AlterField("calendarevent", "kind", models.CharField(choices=CALENDAR_KINDS, max_length=20)),
        migrations.AddField("closure", "kind", models.CharField(choices=CLOSURE_KINDS, default="other", max_length=10)),
        migrations.AddField(
            "closure",
            "methods",
            models.JSONField(blank=True, default=list, help_text="Codes of the methods it keeps out; empty: all."),
        ),
        migrations.AddField(
            "closure",
            "repeats_yearly",
            models.BooleanField(default=False, help_text="On the same days of each year that follows, too."),
        ),
        part_of_day("flower_first_month"),
        part_of_day("flower_first_day"),
        part_of_day("flower_last_month"),
        part_of_day("flower_last_day"),
        migrations.AddField(
            "species",
            "flower_to_fruit_days",
            models.PositiveSmallIntegerField(
                blank=True, help_text="From open flowers to fruit that may be spread.", null=True
            ),
        ),
        migrations.AddField(
            "species",
            "flower_source",
            models.CharField(blank=True, default="", help_text="Of flowering and its days.", max_length=300),
        ),
        part_of_day("leaf_drop_month"),
        part_of_day("leaf_drop_day"),
        migrations.AddField(
            "species",
            "leaf_drop_source",
            models.CharField(
                blank=True,
                default="",
                help_text="Where it holds its leaves after natives have dropped theirs.",
                max_length=300,
            ),
        ),
        migrations.AddField(
            "surveycomponent",
            "reproductive_condition",
            models.CharField(
                choices=CONDITIONS,
                default="unknown",
                help_text="What was on the plant on the day (Darwin Core's reproductiveCondition).",
                max_length=7,
            ),
        ),
        migrations.CreateModel(
            name="DailyWeather",
            fields=[
                ("id", models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name="ID")),
                ("public_id", models.UUIDField(default=uuid.uuid4, editable=False, unique=True)),
                ("version", models.PositiveIntegerField(default=1, editable=False)),
                ("day", models.DateField()),
                ("low_c", models.FloatField()),
                ("high_c", models.FloatField()),
                ("rain_mm", models.FloatField(blank=True, null=True)),
                ("source", models.CharField(max_length=200)),
                (
                    "site",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT, related_name="weather", to="sites.site"
                    ),
                ),
            ],
            options={"verbose_name_plural": "daily weather", "ordering": ["site_id", "day"]},
        ),
    ]
