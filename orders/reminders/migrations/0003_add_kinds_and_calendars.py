import uuid
from typing import Any

import django.db.models.deletion
from django.conf import settings
from django.db import migrations, models

KINDS = [
    ("seed", "Cut before fruit"),
    ("window", "Window closing"),
    ("record", "Herbicide record due"),
    ("license", "License or training expiring"),
    ("label", "Label review due"),
    ("stock", "Stock short"),
    ("close", "Order not closed"),
]
SEED_ALONE = ("patch", "species", "growth_form", "survey")


def link(to: str, **more: Any) -> Any:
    return models.ForeignKey(
        blank=True, null=True, on_delete=django.db.models.deletion.PROTECT, related_name="deadlines", to=to, **more
    )


def nullable_links() -> list[Any]:
    models_of = {"patch": "sites.patch", "species": "sites.species", "growth_form": "sites.growthform"}
    fields = {name: link(to) for name, to in models_of.items()}
    fields["survey"] = link("sites.survey", help_text="The one that it rests on.")
    return [migrations.AlterField("deadline", name, fields[name]) for name in SEED_ALONE]


def added() -> list[Any]:
    plain = {
        "subject_key": models.CharField(max_length=120, default=""),
        "period": models.CharField(max_length=10, default=""),
        "title": models.CharField(max_length=300, default="", help_text="What it is of, in words."),
        "known_at": models.DateTimeField(
            null=True, blank=True, help_text="No step from before it is sent; null: always."
        ),
        "site": link("sites.site"),
        "prescription": link("planning.prescription"),
        "order": link("workorders.workorder"),
        "qualification": link("crews.qualification"),
        "product": link("supplies.product"),
    }
    return [migrations.AddField("deadline", name, field) for name, field in plain.items()]


def step_fields() -> list[Any]:
    flags = {
        "to_coordinators": "",
        "to_leads": "Leads of crews with an issued order there.",
        "to_supervisors": "Pesticide supervisors.",
        "to_person": "The person whose license or training it is.",
        "until_acknowledged": "Not sent to who acknowledged an earlier step of the same rung.",
        "escalates": "Sent only where nobody acknowledged a step of the rung below.",
        "bypasses_quiet": "Somebody may be hurt: mailed in quiet hours too.",
    }
    rung = models.PositiveSmallIntegerField(
        default=1, help_text="1 ahead of the day, 2 from the day on, 3 escalated to who answers for it."
    )
    return [
        migrations.AddField("reminderstep", "rung", rung),
        *(
            migrations.AddField("reminderstep", name, models.BooleanField(default=False, help_text=text))
            for name, text in flags.items()
        ),
        migrations.AddField("reminderstep", "source", models.CharField(max_length=300, blank=True, default="")),
    ]


class Migration(migrations.Migration):
    dependencies = [
        ("crews", "0001_initial"),
        ("planning", "0001_initial"),
        ("supplies", "0001_initial"),
        ("workorders", "0001_initial"),
        ("reminders", "0002_fill_steps"),
        migrations.swappable_dependency(settings.AUTH_USER_MODEL),
    ]
    operations = [
        migrations.AlterField("deadline", "kind", models.CharField(max_length=10, choices=KINDS, default="seed")),
        migrations.AlterField(
            "deadline",
            "due_on",
            models.DateField(help_text="The last day, in the site's own time zone; without a site, the program's."),
        ),
        migrations.AlterField(
            "deadline",
            "done_on",
            models.DateField(null=True, blank=True, help_text="The day on which it was done, in time or late."),
        ),
        *nullable_links(),
        *added(),
        migrations.AlterField("reminderstep", "kind", models.CharField(max_length=10, choices=KINDS, default="seed")),
        migrations.AlterField(
            "reminderstep",
            "counts_from",
            models.CharField(
                max_length=10,
                choices=[
                    ("due", "The due day"),
                    ("fruit", "Fruit was seen: at once"),
                    ("known", "It became known: at once"),
                ],
                default="due",
            ),
        ),
        migrations.AlterField(
            "reminderstep",
            "local_time",
            models.TimeField(default="08:00:00", help_text="By the site's clock; without a site, the program's."),
        ),
        *step_fields(),
        migrations.CreateModel(
            name="RecordRule",
            fields=[
                ("id", models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name="ID")),
                ("public_id", models.UUIDField(default=uuid.uuid4, editable=False, unique=True)),
                ("version", models.PositiveIntegerField(default=1, editable=False)),
                ("jurisdiction", models.CharField(blank=True, max_length=10)),
                (
                    "counts",
                    models.CharField(
                        choices=[
                            ("same_day", "The day of the use"),
                            ("business_days", "Business days: Monday to Friday less federal holidays"),
                            ("days", "Days of the calendar"),
                        ],
                        max_length=14,
                    ),
                ),
                ("days", models.PositiveSmallIntegerField(default=0)),
                ("first_day", models.DateField(help_text="For uses from this day on.")),
                ("last_day", models.DateField(blank=True, null=True)),
                ("scope", models.CharField(blank=True, help_text="Whom and what it binds.", max_length=200)),
                ("source", models.CharField(max_length=300)),
            ],
            options={
                "ordering": ["jurisdiction", "first_day"],
                "constraints": [
                    models.UniqueConstraint(fields=["jurisdiction", "first_day"], name="record_rule_once_a_day"),
                    models.CheckConstraint(
                        condition=models.Q(
                            ("last_day__isnull", True), ("last_day__gte", models.F("first_day")), _connector="OR"
                        ),
                        name="record_rule_in_order",
                    ),
                ],
            },
        ),
        migrations.CreateModel(
            name="ReminderPreference",
            fields=[
                ("id", models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name="ID")),
                ("public_id", models.UUIDField(default=uuid.uuid4, editable=False, unique=True)),
                ("version", models.PositiveIntegerField(default=1, editable=False)),
                (
                    "time_zone",
                    models.CharField(
                        blank=True, help_text="Of the person's own clock; empty: the site's.", max_length=60
                    ),
                ),
                ("quiet_from", models.TimeField(blank=True, null=True)),
                ("quiet_until", models.TimeField(blank=True, null=True)),
                (
                    "digest_above",
                    models.PositiveSmallIntegerField(
                        default=5, help_text="More notices than this at once come in one mail."
                    ),
                ),
                (
                    "user",
                    models.OneToOneField(
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="reminder_preference",
                        to=settings.AUTH_USER_MODEL,
                    ),
                ),
            ],
            options={
                "ordering": ["user_id"],
                "constraints": [
                    models.CheckConstraint(
                        condition=models.Q(
                            models.Q(("quiet_from__isnull", True), ("quiet_until__isnull", True)),
                            models.Q(("quiet_from__isnull", False), ("quiet_until__isnull", False)),
                            _connector="OR",
                        ),
                        name="reminder_quiet_hours_whole",
                    )
                ],
            },
        ),
        migrations.CreateModel(
            name="Digest",
            fields=[
                ("id", models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name="ID")),
                ("public_id", models.UUIDField(default=uuid.uuid4, editable=False, unique=True)),
                ("message_id", models.CharField(max_length=400, unique=True)),
                ("made_at", models.DateTimeField()),
                ("claimed_at", models.DateTimeField(null=True)),
                ("handed_over_at", models.DateTimeField(null=True)),
                ("mail_attempts", models.PositiveSmallIntegerField(default=0)),
                (
                    "user",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="digests",
                        to=settings.AUTH_USER_MODEL,
                    ),
                ),
            ],
            options={"ordering": ["-id"]},
        ),
        migrations.AddField(
            "notice",
            "digest",
            models.ForeignKey(
                null=True,
                on_delete=django.db.models.deletion.PROTECT,
                related_name="notices",
                to="reminders.digest",
            ),
        ),
        migrations.AddField("notice", "mail_attempts", models.PositiveSmallIntegerField(default=0)),
        migrations.AddField("notice", "snoozed_until", models.DateTimeField(null=True)),
        migrations.AddField("notice", "snoozes", models.PositiveSmallIntegerField(default=0)),
        migrations.AddIndex("notice", models.Index(fields=["user", "acknowledged_at"], name="notice_of_user")),
        migrations.CreateModel(
            name="CalendarFeed",
            fields=[
                ("id", models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name="ID")),
                ("public_id", models.UUIDField(default=uuid.uuid4, editable=False, unique=True)),
                ("secret_hash", models.CharField(max_length=64, unique=True)),
                ("made_at", models.DateTimeField()),
                ("revoked_at", models.DateTimeField(null=True)),
                (
                    "user",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="calendar_feeds",
                        to=settings.AUTH_USER_MODEL,
                    ),
                ),
            ],
            options={
                "ordering": ["-id"],
                "constraints": [
                    models.UniqueConstraint(
                        condition=models.Q(("revoked_at__isnull", True)),
                        fields=["user"],
                        name="calendar_feed_one_a_person",
                    )
                ],
            },
        ),
        migrations.CreateModel(
            name="CalendarItem",
            fields=[
                ("id", models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name="ID")),
                ("public_id", models.UUIDField(default=uuid.uuid4, editable=False, unique=True)),
                ("uid", models.CharField(max_length=300)),
                ("sequence", models.PositiveIntegerField(default=0)),
                ("fingerprint", models.CharField(max_length=64)),
                ("day", models.DateField()),
                ("summary", models.CharField(max_length=300)),
                ("description", models.TextField(blank=True)),
                ("location", models.CharField(blank=True, max_length=200)),
                ("has_alarm", models.BooleanField(default=False)),
                ("added_at", models.DateTimeField()),
                ("changed_at", models.DateTimeField()),
                ("cancelled_at", models.DateTimeField(null=True)),
                (
                    "user",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="calendar_items",
                        to=settings.AUTH_USER_MODEL,
                    ),
                ),
            ],
            options={
                "ordering": ["day", "id"],
                "constraints": [models.UniqueConstraint(fields=["user", "uid"], name="calendar_item_once")],
            },
        ),
    ]
