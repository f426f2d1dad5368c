"""A crew's day outside: check-in and check-out, the tailgate briefing, and each person's whole paid day."""

from django.db import models
from django.db.models import Q

from orders.common.models import AppendOnlyModel, PublicIdModel, VersionedModel
from orders.workorders.models import TIME_CODES, FieldFact, TimeEntry, WorkOrder

SPLIT_RULES = [("minutes", "By minutes worked"), ("equal", "In equal parts")]


class FieldPolicy(VersionedModel):
    """The program's own rules for work outside: one row. They bind the app; what was done against them is flagged."""

    lone_saw_work = models.BooleanField(default=False, help_text="May one person alone run a saw?")
    lone_herbicide_work = models.BooleanField(default=False, help_text="May one person alone use herbicide?")
    least_age = models.PositiveSmallIntegerField(default=18, help_text="For saws and herbicide, never below 18.")
    overdue_after_minutes = models.PositiveSmallIntegerField(
        default=30, help_text="After the hour a crew meant to be back, the desk is told."
    )
    gap_minutes = models.PositiveSmallIntegerField(
        default=15, help_text="How long a tablet's later commands wait for a missing earlier one."
    )
    split_rule = models.CharField(
        max_length=10,
        choices=SPLIT_RULES,
        default="minutes",
        help_text="How drive and rain standby are shared over the orders of a day.",
    )

    class Meta:
        ordering = ["id"]
        verbose_name_plural = "field policies"
        constraints = [models.CheckConstraint(condition=Q(least_age__gte=18), name="field_policy_least_age")]

    def __str__(self) -> str:
        return "Field policy"


class CheckIn(FieldFact):
    """A crew, or one person, is at a site and says until when."""

    crew = models.ForeignKey("crews.Crew", on_delete=models.PROTECT, related_name="check_ins")
    site = models.ForeignKey("sites.Site", on_delete=models.PROTECT, related_name="check_ins")
    work_date = models.DateField()
    back_by = models.DateTimeField()
    phone = models.CharField(max_length=40, blank=True)
    note = models.CharField(max_length=200, blank=True)
    lon = models.FloatField(null=True)
    lat = models.FloatField(null=True)

    class Meta:
        ordering = ["-at", "-id"]

    def __str__(self) -> str:
        return f"{self.crew} at {self.site}"


class CheckInPerson(AppendOnlyModel):
    check_in = models.ForeignKey(CheckIn, on_delete=models.PROTECT, related_name="people")
    person = models.ForeignKey("crews.Person", on_delete=models.PROTECT, related_name="check_ins")

    class Meta:
        ordering = ["check_in_id", "id"]
        constraints = [models.UniqueConstraint(fields=["check_in", "person"], name="check_in_person_once")]

    def __str__(self) -> str:
        return f"{self.person}: {self.check_in}"


class CheckInStep(FieldFact):
    """They stay longer, they are out, or the desk found them safe."""

    KINDS = [("longer", "Stays longer"), ("out", "Checked out"), ("found", "Found safe by the desk")]
    check_in = models.ForeignKey(CheckIn, on_delete=models.PROTECT, related_name="steps")
    kind = models.CharField(max_length=6, choices=KINDS)
    back_by = models.DateTimeField(null=True)
    note = models.CharField(max_length=200, blank=True)

    class Meta:
        ordering = ["at", "id"]
        constraints = [
            models.CheckConstraint(condition=~Q(kind="longer") | Q(back_by__isnull=False), name="check_in_longer_until")
        ]

    def __str__(self) -> str:
        return f"{self.check_in}: {self.kind}"


class OverdueAlert(PublicIdModel):
    """The desk was told once that a crew is not back; `back_by` is the hour it had named."""

    check_in = models.ForeignKey(CheckIn, on_delete=models.PROTECT, related_name="alerts")
    back_by = models.DateTimeField()
    raised_at = models.DateTimeField()
    mailed_at = models.DateTimeField(null=True)
    taken_by = models.ForeignKey("common.User", on_delete=models.PROTECT, null=True, related_name="+")
    taken_at = models.DateTimeField(null=True)

    class Meta:
        ordering = ["-raised_at", "-id"]
        constraints = [models.UniqueConstraint(fields=["check_in", "back_by"], name="overdue_alert_once")]

    def __str__(self) -> str:
        return f"{self.check_in} was due back at {self.back_by:%H:%M}"


class Briefing(FieldFact):
    """The tailgate briefing: the day's hazards, as computed from what was entered, and what is done about each."""

    crew = models.ForeignKey("crews.Crew", on_delete=models.PROTECT, related_name="briefings")
    site = models.ForeignKey("sites.Site", on_delete=models.PROTECT, related_name="briefings")
    work_date = models.DateField()
    led_by = models.ForeignKey("crews.Person", on_delete=models.PROTECT, related_name="briefings_led")
    orders = models.JSONField(default=list, help_text="Public ids.")
    people = models.JSONField(default=list, help_text="Who heard it: id and name.")
    conditions = models.JSONField(default=dict, help_text="Entered: temperature, humidity, wind, sun, ground.")
    computed = models.JSONField(default=dict, help_text="Heat index, wind chill, work and rest, with their bands.")
    hazards = models.JSONField(default=list, help_text="Code and what is done about it.")
    notes = models.TextField(blank=True)

    class Meta:
        ordering = ["-at", "-id"]

    def __str__(self) -> str:
        return f"Briefing of {self.crew} at {self.site} on {self.work_date}"


class DaySheet(FieldFact):
    """One person's whole paid day. `rule` says how drive and standby were shared over its orders."""

    crew = models.ForeignKey("crews.Crew", on_delete=models.PROTECT, related_name="day_sheets")
    person = models.ForeignKey("crews.Person", on_delete=models.PROTECT, related_name="day_sheets")
    work_date = models.DateField()
    revision = models.PositiveSmallIntegerField()
    amends = models.OneToOneField("self", on_delete=models.PROTECT, null=True, related_name="amended_by")
    reason = models.CharField(max_length=300, blank=True)
    rule = models.CharField(max_length=10)
    minutes = models.PositiveIntegerField()
    confirmed_by = models.CharField(max_length=120)

    class Meta:
        ordering = ["-work_date", "person_id", "revision"]
        constraints = [
            models.UniqueConstraint(fields=["person", "work_date", "revision"], name="day_sheet_once"),
            models.CheckConstraint(
                condition=Q(revision=1, amends__isnull=True) | Q(revision__gt=1, amends__isnull=False),
                name="day_sheet_amends_from_two",
            ),
        ]

    def __str__(self) -> str:
        return f"{self.person} on {self.work_date}"


class DayLine(AppendOnlyModel):
    sheet = models.ForeignKey(DaySheet, on_delete=models.PROTECT, related_name="lines")
    code = models.CharField(max_length=10, choices=TIME_CODES)
    order = models.ForeignKey(WorkOrder, on_delete=models.PROTECT, null=True, related_name="day_lines")
    minutes = models.PositiveIntegerField()
    origin = models.CharField(max_length=10, choices=TimeEntry.ORIGINS)
    note = models.CharField(max_length=200, blank=True)

    class Meta:
        ordering = ["sheet_id", "id"]
        constraints = [models.CheckConstraint(condition=Q(minutes__gt=0), name="day_line_has_minutes")]

    def __str__(self) -> str:
        return f"{self.code} {self.minutes} min"


class DayShare(AppendOnlyModel):
    """The part of a line of drive or standby that one order bears."""

    line = models.ForeignKey(DayLine, on_delete=models.PROTECT, related_name="shares")
    order = models.ForeignKey(WorkOrder, on_delete=models.PROTECT, related_name="day_shares")
    minutes = models.PositiveIntegerField()

    class Meta:
        ordering = ["line_id", "id"]
        constraints = [models.UniqueConstraint(fields=["line", "order"], name="day_share_once")]

    def __str__(self) -> str:
        return f"{self.minutes} min for {self.order}"


class Detection(FieldFact):
    """Something new that a crew saw. Where it could be read it became a survey of a patch."""

    site = models.ForeignKey("sites.Site", on_delete=models.PROTECT, related_name="detections")
    species = models.ForeignKey("sites.Species", on_delete=models.PROTECT, null=True, related_name="detections")
    species_text = models.CharField(max_length=120, blank=True)
    growth_form = models.CharField(max_length=20)
    geometry = models.JSONField(help_text="GeoJSON point or polygon, WGS 84.")
    accuracy_m = models.FloatField(null=True)
    cover_percent = models.FloatField(null=True)
    note = models.CharField(max_length=400, blank=True)
    survey = models.ForeignKey("sites.Survey", on_delete=models.PROTECT, null=True, related_name="detections")

    class Meta:
        ordering = ["-at", "-id"]
        constraints = [
            models.CheckConstraint(
                condition=Q(cover_percent__isnull=True) | Q(cover_percent__gte=0, cover_percent__lte=100),
                name="detection_cover_is_percent",
            ),
        ]

    def __str__(self) -> str:
        return f"{self.species or self.species_text} at {self.site}"
