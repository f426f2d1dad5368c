"""The season: what is to be done (prescriptions), when and by whom (visits), and the runs that assign them."""

from datetime import date

from django.db import models
from django.db.models import F, Q

from orders.common.models import Run, VersionedModel


class Season(VersionedModel):
    name = models.CharField(max_length=80, unique=True)
    first_day = models.DateField()
    last_day = models.DateField()
    budget_cents = models.BigIntegerField(null=True, blank=True)
    budget_level = models.FloatField(
        default=0.5, help_text="The point of the range of cost at which budgets must hold, above 0 and below 1."
    )
    worth = models.JSONField(
        default=dict, blank=True, help_text="What work is worth beside its cost, where it is not the usual figures."
    )

    class Meta:
        ordering = ["-first_day"]
        constraints = [
            models.CheckConstraint(condition=Q(last_day__gt=F("first_day")), name="season_in_order"),
            models.CheckConstraint(
                condition=Q(budget_level__gt=0, budget_level__lt=1), name="season_budget_level_is_share"
            ),
        ]

    def __str__(self) -> str:
        return self.name

    def days_from(self, day: date) -> int:
        """How far a day is from the season; 0 within it."""
        return max((self.first_day - day).days, (day - self.last_day).days, 0)


class SeasonFund(VersionedModel):
    """What a fund may pay of a season's work, and where. `code` is the fund's own code; planning knows no more of it.

    The fund pays for the sites listed; one without sites pays for all others. Outside its days it pays nothing.
    """

    season = models.ForeignKey(Season, on_delete=models.PROTECT, related_name="funds")
    code = models.SlugField()
    name = models.CharField(max_length=120)
    budget_cents = models.BigIntegerField()
    sites = models.ManyToManyField("sites.Site", blank=True, related_name="+")
    first_day = models.DateField(null=True, blank=True)
    last_day = models.DateField(null=True, blank=True)

    class Meta:
        ordering = ["season_id", "code"]
        constraints = [
            models.UniqueConstraint(fields=["season", "code"], name="season_fund_once"),
            models.CheckConstraint(condition=Q(budget_cents__gte=0), name="season_fund_budget_not_negative"),
        ]

    def __str__(self) -> str:
        return f"{self.code} in {self.season}"


class ChainRule(VersionedModel):
    """What comes after a method: regrowth to be treated, a check once symptoms can show, another spray, a revisit."""

    PURPOSES = [
        ("regrowth", "Treat the regrowth"),
        ("check", "Check what the treatment did"),
        ("again", "Treat again what is left"),
        ("revisit", "Revisit and pull what came back"),
    ]
    SPECIES = [("any", "Any"), ("resprouts", "That resprout"), ("does_not", "That do not resprout")]
    code = models.SlugField(unique=True)
    after = models.ForeignKey("estimates.Method", on_delete=models.PROTECT, related_name="chain_rules")
    after_purpose = models.CharField(
        max_length=10, choices=PURPOSES, blank=True, help_text="Only after a step of this purpose; empty: the first."
    )
    species = models.CharField(max_length=10, choices=SPECIES, default="any")
    purpose = models.CharField(max_length=10, choices=PURPOSES)
    method = models.ForeignKey("estimates.Method", on_delete=models.PROTECT, related_name="+")
    least_days = models.PositiveSmallIntegerField(help_text="Days after the work before, at least.")
    most_days = models.PositiveSmallIntegerField(help_text="Days after the work before, at most.")
    share = models.FloatField(default=1, help_text="Of the estimate of its method on the same survey.")
    is_active = models.BooleanField(default=True)
    source = models.CharField(max_length=300)

    class Meta:
        ordering = ["after_id", "purpose", "code"]
        constraints = [
            models.CheckConstraint(condition=Q(share__gt=0, share__lte=1), name="chain_rule_share"),
            models.CheckConstraint(condition=Q(most_days__gte=F("least_days")), name="chain_rule_in_order"),
        ]

    def __str__(self) -> str:
        return self.code


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
    seed_due_on = models.DateField(null=True, blank=True, help_text="The seed deadline that this work meets.")
    chain_rule = models.ForeignKey(
        ChainRule, on_delete=models.PROTECT, null=True, blank=True, related_name="prescriptions"
    )
    purpose = models.CharField(max_length=10, choices=ChainRule.PURPOSES, blank=True, help_text="Of a follow-up.")
    least_lag_days = models.PositiveSmallIntegerField(null=True, blank=True, help_text="After the work it follows.")
    most_lag_days = models.PositiveSmallIntegerField(null=True, blank=True, help_text="After the work it follows.")
    fund = models.ForeignKey(SeasonFund, on_delete=models.PROTECT, null=True, blank=True, related_name="prescriptions")

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
        return f"{self.method or 'Methods'}, {self.season}"


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
    """A background run that assigns visits to crews and days, and what it found.

    A plan, a plan made again that moves little, or a what-if that is only looked at. `changes` is what a what-if
    assumes. Costs are what the search makes small: value left undone, work, drive, moves.
    """

    kind = "plan"

    PURPOSES = [("plan", "Plan"), ("replan", "Plan again"), ("what_if", "What if")]
    season = models.ForeignKey(Season, on_delete=models.PROTECT, related_name="plan_runs")
    purpose = models.CharField(max_length=8, choices=PURPOSES, default="plan")
    based_on = models.ForeignKey("self", on_delete=models.PROTECT, null=True, blank=True, related_name="variants")
    changes = models.JSONField(default=dict, blank=True)
    title = models.CharField(max_length=120, blank=True)
    iterations = models.PositiveIntegerField(default=0)
    exact_work = models.FloatField(default=0, help_text="Of the exact solver, in its own deterministic seconds.")
    seed = models.PositiveIntegerField(default=0)
    inputs_fingerprint = models.CharField(max_length=64, blank=True)
    left_out = models.JSONField(default=list)
    cost_cents = models.BigIntegerField(null=True)
    value_cents = models.BigIntegerField(null=True)
    start_lost_cents = models.BigIntegerField(null=True, help_text="Of the greedy start.")
    lost_cents = models.BigIntegerField(null=True, help_text="Of the best plan so far.")
    course = models.JSONField(default=list, help_text="Rounds done and lost cents, each time a better plan was found.")
    bound_cents = models.BigIntegerField(null=True, help_text="No plan loses less than this.")
    bound_at = models.DateTimeField(null=True)
    was_stopped = models.BooleanField(default=False, help_text="Ended early by somebody; this is the best by then.")
    funds = models.JSONField(default=list)
    moved = models.JSONField(default=list, help_text="What stands elsewhere than in the plan before: old and new.")
    faults = models.JSONField(default=list, help_text="What the independent check found; faults refuse a plan.")
    figures = models.JSONField(default=dict, help_text="Area treated, deadlines met, hours and cost, to compare by.")
    accepted_at = models.DateTimeField(null=True)
    dropped_at = models.DateTimeField(null=True)

    class Meta(Run.Meta):
        abstract = False


class PlanBoundRun(Run):
    """A background run that tightens the bound of a finished plan, step by step."""

    kind = "plan_bound"

    plan_run = models.ForeignKey(PlanRun, on_delete=models.PROTECT, related_name="bound_runs")
    steps = models.PositiveIntegerField(default=0, help_text="Steps of tightening taken.")

    class Meta(Run.Meta):
        abstract = False


class SeasonPrescribeRun(Run):
    """A background run that looks for what is recommended in the whole season, and prescribes it where it was asked to.

    `found` is what it came to, as sums; the choice itself is the `choice`.
    """

    kind = "season_prescribe"

    PURPOSES = [("look", "Look"), ("prescribe", "Prescribe")]
    season = models.ForeignKey(Season, on_delete=models.PROTECT, related_name="prescribe_runs")
    purpose = models.CharField(max_length=9, choices=PURPOSES)
    found = models.JSONField(default=dict)
    made_count = models.PositiveIntegerField(default=0, help_text="Prescriptions made, with what follows them.")
    choice = models.ForeignKey(ChoiceBatch, on_delete=models.PROTECT, null=True, related_name="+")

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
    because = models.JSONField(default=list, help_text="Why this crew and this day, a sentence each.")
    is_kept = models.BooleanField(default=False, help_text="Set by hand: a new plan leaves it where it is.")
    kept_because = models.CharField(max_length=200, blank=True)
    replaces = models.ForeignKey("self", on_delete=models.PROTECT, null=True, blank=True, related_name="replaced_by")

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
