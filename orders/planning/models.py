"""The season: what is to be done (prescriptions), when and by whom (visits), and the runs that assign them."""

from django.db import models
from django.db.models import F, Q

from orders.common.models import Run, VersionedModel


class Season(VersionedModel):
    name = models.CharField(max_length=80, unique=True)
    first_day = models.DateField()
    last_day = models.DateField()
    budget_cents = models.BigIntegerField(null=True, blank=True)

    class Meta:
        ordering = ["-first_day"]
        constraints = [models.CheckConstraint(condition=Q(last_day__gt=F("first_day")), name="season_in_order")]

    def __str__(self) -> str:
        return self.name


class Prescription(VersionedModel):
    """The unit of demand: a chosen method for a patch in a season. Follow-ups and remainders are prescriptions too."""

    STATES = [
        ("open", "Open"),
        ("planned", "Planned"),
        ("ordered", "Ordered"),
        ("done", "Done"),
        ("dropped", "Dropped"),
    ]
    ORIGINS = [("survey", "Survey"), ("remainder", "Remainder"), ("follow_up", "Follow-up")]
    season = models.ForeignKey(Season, on_delete=models.PROTECT, related_name="prescriptions")
    patch = models.ForeignKey("sites.Patch", on_delete=models.PROTECT, related_name="prescriptions")
    method = models.ForeignKey("estimates.Method", on_delete=models.PROTECT, related_name="prescriptions")
    estimate = models.ForeignKey("estimates.Estimate", on_delete=models.PROTECT, related_name="prescriptions")
    state = models.CharField(max_length=10, choices=STATES, default="open")
    origin = models.CharField(max_length=10, choices=ORIGINS, default="survey")
    follows = models.ForeignKey("self", on_delete=models.PROTECT, null=True, blank=True, related_name="followed_by")
    share_left = models.FloatField(default=1, help_text="Of the estimate: a remainder holds what was not done.")
    why = models.TextField(help_text="The recommendation's reason, or the coordinator's own.")
    is_own_choice = models.BooleanField(default=False)
    first_day = models.DateField()
    last_day = models.DateField()
    window_because = models.TextField()

    class Meta:
        ordering = ["season_id", "patch_id", "id"]
        constraints = [
            models.CheckConstraint(condition=Q(share_left__gt=0, share_left__lte=1), name="prescription_share"),
            models.CheckConstraint(condition=Q(last_day__gte=F("first_day")), name="prescription_in_order"),
        ]

    def __str__(self) -> str:
        return f"{self.method} on {self.patch}"


class ChoiceBatch(VersionedModel):
    """A method chosen for many patches at once, kept so that it can be put back as it was."""

    STATES = [("made", "Made"), ("undone", "Undone")]
    season = models.ForeignKey(Season, on_delete=models.PROTECT, related_name="choice_batches")
    method = models.ForeignKey(
        "estimates.Method", on_delete=models.PROTECT, null=True, help_text="None: what is recommended on each patch."
    )
    crew_kind = models.CharField(max_length=10, default="staff")
    why = models.TextField(blank=True, help_text="The coordinator's reason, where it is not the recommendation's.")
    asked = models.TextField(blank=True, help_text="Which patches, in words.")
    state = models.CharField(max_length=10, choices=STATES, default="made")
    made_at = models.DateTimeField()
    made_by = models.ForeignKey("common.User", on_delete=models.PROTECT, null=True, related_name="+")
    undone_at = models.DateTimeField(null=True)
    undone_by = models.ForeignKey("common.User", on_delete=models.PROTECT, null=True, related_name="+")

    class Meta:
        ordering = ["-id"]
        verbose_name_plural = "choice batches"

    def __str__(self) -> str:
        return f"{self.method or 'Recommended methods'}, {self.season}"


class ChoicePart(models.Model):
    """A prescription that a choice made, or dropped in favor of another; `state_before` is of those it dropped."""

    ACTS = [("made", "Made"), ("dropped", "Dropped")]
    batch = models.ForeignKey(ChoiceBatch, on_delete=models.PROTECT, related_name="parts")
    prescription = models.ForeignKey(Prescription, on_delete=models.PROTECT, related_name="choice_parts")
    act = models.CharField(max_length=10, choices=ACTS)
    state_before = models.CharField(max_length=10, blank=True)

    class Meta:
        ordering = ["batch_id", "id"]
        constraints = [models.UniqueConstraint(fields=["batch", "prescription"], name="choice_part_once")]

    def __str__(self) -> str:
        return f"{self.prescription} {self.act}"


class PlanRun(Run):
    """A background run that assigns visits to crews and days, and what it found."""

    kind = "plan"

    season = models.ForeignKey(Season, on_delete=models.PROTECT, related_name="plan_runs")
    iterations = models.PositiveIntegerField(default=0)
    inputs_fingerprint = models.CharField(max_length=64, blank=True)
    left_out = models.JSONField(default=list)
    cost_cents = models.BigIntegerField(null=True)
    value_cents = models.BigIntegerField(null=True)
    accepted_at = models.DateTimeField(null=True)

    class Meta(Run.Meta):
        abstract = False


class Visit(VersionedModel):
    """One crew on one day: proposed by a run, planned when the plan is accepted, then on an order."""

    STATES = [
        ("proposed", "Proposed"),
        ("planned", "Planned"),
        ("ordered", "Ordered"),
        ("done", "Done"),
        ("not_done", "Not done"),
        ("dropped", "Dropped"),
    ]
    plan_run = models.ForeignKey(PlanRun, on_delete=models.PROTECT, related_name="visits", null=True)
    season = models.ForeignKey(Season, on_delete=models.PROTECT, related_name="visits")
    crew = models.ForeignKey("crews.Crew", on_delete=models.PROTECT, related_name="visits")
    site = models.ForeignKey("sites.Site", on_delete=models.PROTECT, related_name="visits")
    day = models.DateField()
    state = models.CharField(max_length=10, choices=STATES, default="proposed")
    not_done_reason = models.CharField(max_length=200, blank=True)

    class Meta:
        ordering = ["day", "crew_id", "id"]
        indexes = [models.Index(fields=["season", "state", "day"], name="visit_state_day")]

    def __str__(self) -> str:
        return f"{self.crew} at {self.site} on {self.day}"


class VisitShare(models.Model):
    """How much of a prescription a visit serves."""

    visit = models.ForeignKey(Visit, on_delete=models.CASCADE, related_name="shares")
    prescription = models.ForeignKey(Prescription, on_delete=models.PROTECT, related_name="visit_shares")
    planned_hours = models.FloatField(help_text="Person-hours in the field")
    share = models.FloatField()

    class Meta:
        ordering = ["visit_id", "prescription_id"]
        constraints = [
            models.UniqueConstraint(fields=["visit", "prescription"], name="visit_serves_once"),
            models.CheckConstraint(condition=Q(share__gt=0, share__lte=1), name="visit_share_is_share"),
        ]

    def __str__(self) -> str:
        return f"{self.share:.0%} of {self.prescription}"
