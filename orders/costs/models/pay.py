"""What people are paid, by which rules, and what was told to and heard from payroll. Finance only."""

from django.db import models
from django.db.models import F, Q

from orders.common.models import AppendOnlyModel, PublicIdModel, VersionedModel
from orders.costs.models.funds import Award, Fund


class PayRate(PublicIdModel):
    """What a person costs an hour from a day on, fringe included, in one role or in any.

    `wage_e4` is what the person is paid, from which overtime is figured; a rate without it stands for both. Where the
    rate was loaded from a wage, its terms stand beside it: rate = (wage x paid hours x (1 + fringe) + yearly cost) /
    productive hours.
    """

    person = models.ForeignKey("crews.Person", on_delete=models.PROTECT, related_name="pay_rates")
    role = models.ForeignKey("crews.LaborRole", on_delete=models.PROTECT, null=True, blank=True, related_name="+")
    from_day = models.DateField()
    rate_e4 = models.PositiveBigIntegerField(help_text="1/10,000 dollars an hour")
    wage_e4 = models.PositiveBigIntegerField(null=True, blank=True, help_text="1/10,000 dollars an hour, as paid")
    fringe_e4 = models.PositiveIntegerField(null=True, blank=True, help_text="1/10,000 of the wage")
    yearly_cents = models.PositiveBigIntegerField(null=True, blank=True, help_text="Fixed a year, such as health cover")
    paid_hours = models.PositiveSmallIntegerField(null=True, blank=True, help_text="A year, 2,080 mostly")
    productive_hours = models.PositiveSmallIntegerField(null=True, blank=True, help_text="Less leave and holidays")

    class Meta:
        ordering = ["person_id", "-from_day"]
        constraints = [
            models.UniqueConstraint(
                fields=["person", "from_day"], condition=Q(role__isnull=True), name="pay_rate_once_a_day"
            ),
            models.UniqueConstraint(
                fields=["person", "role", "from_day"],
                condition=Q(role__isnull=False),
                name="pay_rate_once_a_role_and_day",
            ),
        ]

    def __str__(self) -> str:
        return f"{self.person} from {self.from_day}"


class PayPolicy(PublicIdModel):
    """The program's own ways of paying, from a day on. Rows are added; the newest that has begun counts."""

    METHODS = [
        ("weighted", "Half of the week's average rate (29 CFR 778.115)"),
        ("rate_worked", "Half of the rate of the overtime work, by agreement (29 CFR 778.419)"),
    ]
    ROUNDINGS = [("exact", "Exact rates, one rounding"), ("rate_first", "Rates rounded to the cent first")]
    SPREADS = [
        ("week", "Over all of the week's work, by minutes"),
        ("overtime", "Over the work done after the threshold"),
    ]
    from_day = models.DateField(unique=True)
    week_starts_on = models.PositiveSmallIntegerField(default=6, help_text="Monday is 0, Sunday 6")
    week_starts_minute = models.PositiveSmallIntegerField(default=0, help_text="Minutes after midnight")
    time_zone = models.CharField(max_length=40, default="America/Kentucky/Louisville")
    overtime_method = models.CharField(max_length=12, choices=METHODS, default="weighted")
    rounding = models.CharField(max_length=10, choices=ROUNDINGS, default="exact")
    spread = models.CharField(max_length=10, choices=SPREADS, default="week")
    punch_minutes = models.PositiveSmallIntegerField(default=0, help_text="Punches are rounded to 0 (not), 5, 6 or 15")
    premium_fringe_e4 = models.PositiveIntegerField(default=0, help_text="Payroll taxes on the premium, 1/10,000")
    comp_time = models.BooleanField(default=False, help_text="May time off be given instead of the premium?")
    source = models.CharField(max_length=200)

    class Meta:
        ordering = ["-from_day"]
        verbose_name_plural = "pay policies"
        constraints = [
            models.CheckConstraint(condition=Q(week_starts_on__lte=6), name="pay_policy_weekday"),
            models.CheckConstraint(condition=Q(week_starts_minute__lt=1440), name="pay_policy_minute"),
            models.CheckConstraint(condition=Q(punch_minutes__in=[0, 5, 6, 15]), name="pay_policy_punch"),
        ]

    def __str__(self) -> str:
        return f"Pay policy from {self.from_day}"


class OvertimeRule(PublicIdModel):
    """When work becomes overtime under one jurisdiction, from a day on. Without a jurisdiction it is the federal rule,
    which no other may make smaller."""

    jurisdiction = models.ForeignKey(
        "sites.Jurisdiction", on_delete=models.PROTECT, null=True, blank=True, related_name="overtime_rules"
    )
    from_day = models.DateField()
    week_minutes = models.PositiveSmallIntegerField(default=2400, help_text="Beyond it time and a half")
    day_minutes = models.PositiveSmallIntegerField(null=True, blank=True, help_text="Beyond it time and a half")
    day_double_minutes = models.PositiveSmallIntegerField(null=True, blank=True, help_text="Beyond it double time")
    seventh_day = models.BooleanField(default=False, help_text="Time and a half on the seventh day in a row")
    reviewed_by = models.CharField(max_length=120, blank=True)
    source = models.CharField(max_length=200)

    class Meta:
        ordering = ["jurisdiction_id", "-from_day"]
        constraints = [
            models.CheckConstraint(condition=Q(week_minutes__lte=2400), name="overtime_rule_week"),
            models.UniqueConstraint(
                fields=["jurisdiction", "from_day"],
                condition=Q(jurisdiction__isnull=False),
                name="overtime_rule_once_a_day",
            ),
            models.UniqueConstraint(
                fields=["from_day"], condition=Q(jurisdiction__isnull=True), name="overtime_rule_federal_once_a_day"
            ),
        ]

    def __str__(self) -> str:
        return f"{self.jurisdiction or 'Federal'} from {self.from_day}"


class CompTimeAgreement(PublicIdModel):
    """A person takes time off instead of the overtime premium, while the agreement runs."""

    person = models.ForeignKey("crews.Person", on_delete=models.PROTECT, related_name="comp_time_agreements")
    first_day = models.DateField()
    last_day = models.DateField(null=True, blank=True)
    reference = models.CharField(max_length=200)

    class Meta:
        ordering = ["person_id", "first_day"]
        constraints = [
            models.CheckConstraint(
                condition=Q(last_day__isnull=True) | Q(last_day__gte=F("first_day")), name="comp_time_in_order"
            )
        ]

    def __str__(self) -> str:
        return f"{self.person} from {self.first_day}"


class PaidPunch(AppendOnlyModel, PublicIdModel):
    """A timed span as payroll counts it: its true moments stay in the span, the rounded ones stand here."""

    span = models.ForeignKey("workorders.TimedSpan", on_delete=models.PROTECT, related_name="+")
    rule_minutes = models.PositiveSmallIntegerField(help_text="Rounded to so many; 0: not rounded")
    rounded_start = models.DateTimeField()
    rounded_end = models.DateTimeField()
    true_minutes = models.PositiveIntegerField(help_text="Elapsed, also over a night when the clocks change")
    rounded_minutes = models.PositiveIntegerField()

    class Meta:
        ordering = ["id"]
        constraints = [models.UniqueConstraint(fields=["span", "rule_minutes"], name="paid_punch_once")]

    def __str__(self) -> str:
        return f"{self.span}: {self.rounded_minutes} min"


class WorkweekPremium(AppendOnlyModel, PublicIdModel):
    """The overtime premium of one person and workweek. Late hours make a new revision: the old one's rows are reversed
    and the new one's posted, in the open period."""

    person = models.ForeignKey("crews.Person", on_delete=models.PROTECT, related_name="workweek_premiums")
    week_start = models.DateField()
    revision = models.PositiveSmallIntegerField()
    worked_minutes = models.PositiveIntegerField()
    overtime_minutes = models.PositiveIntegerField()
    double_minutes = models.PositiveIntegerField(default=0)
    regular_rate_e4 = models.PositiveBigIntegerField(help_text="For show; the sum was figured from exact ratios")
    premium_cents = models.BigIntegerField()
    comp_minutes = models.PositiveIntegerField(default=0, help_text="Time off given instead")
    lines = models.JSONField(default=list, help_text="How it was figured, line by line")
    posted_at = models.DateTimeField()
    posted_by = models.ForeignKey("common.User", on_delete=models.PROTECT, null=True, related_name="+")

    class Meta:
        ordering = ["-week_start", "person_id", "revision"]
        constraints = [
            models.UniqueConstraint(fields=["person", "week_start", "revision"], name="workweek_premium_once")
        ]

    def __str__(self) -> str:
        return f"{self.person}, week of {self.week_start}"


class PayPeriod(VersionedModel):
    """Hours go to payroll once a pay period; from then on it is locked, and what comes late goes with the next one."""

    STATES = [("open", "Open"), ("exported", "Exported and locked")]
    first_day = models.DateField(unique=True)
    last_day = models.DateField()
    state = models.CharField(max_length=8, choices=STATES, default="open")
    exported_at = models.DateTimeField(null=True)
    exported_by = models.ForeignKey("common.User", on_delete=models.PROTECT, null=True, related_name="+")
    file_sha256 = models.CharField(max_length=64, blank=True)

    class Meta:
        ordering = ["-first_day"]
        constraints = [models.CheckConstraint(condition=Q(last_day__gte=F("first_day")), name="pay_period_in_order")]

    def __str__(self) -> str:
        return f"{self.first_day} to {self.last_day}"


class PayPeriodLine(AppendOnlyModel, PublicIdModel):
    """What payroll was told of a person: minutes by code and day. A line may set right a day of an earlier period."""

    CODES = [
        ("regular", "Regular"),
        ("overtime", "Overtime"),
        ("double", "Double time"),
        ("leave", "Leave"),
        ("comp", "Comp time earned"),
    ]
    period = models.ForeignKey(PayPeriod, on_delete=models.PROTECT, related_name="lines")
    person = models.ForeignKey("crews.Person", on_delete=models.PROTECT, related_name="+")
    person_name = models.CharField(max_length=120, help_text="As it was told, so that the file stays the same")
    work_date = models.DateField()
    code = models.CharField(max_length=8, choices=CODES)
    minutes = models.IntegerField(help_text="Below zero where an earlier period was told too much")
    is_adjustment = models.BooleanField(default=False)

    class Meta:
        ordering = ["period_id", "person_id", "work_date", "id"]
        constraints = [
            models.UniqueConstraint(fields=["period", "person", "work_date", "code"], name="pay_period_line_once")
        ]

    def __str__(self) -> str:
        return f"{self.person} {self.work_date} {self.code}"


class PayrollImport(AppendOnlyModel, PublicIdModel):
    """What payroll really cost for a pay period, by person, as a file said it."""

    period = models.ForeignKey(PayPeriod, on_delete=models.PROTECT, related_name="imports")
    revision = models.PositiveSmallIntegerField()
    file_name = models.CharField(max_length=200)
    file_sha256 = models.CharField(max_length=64)
    total_cents = models.BigIntegerField()
    ledger_cents = models.BigIntegerField(help_text="What the ledger had for the same people and days")
    at = models.DateTimeField()
    by = models.ForeignKey("common.User", on_delete=models.PROTECT, null=True, related_name="+")

    class Meta:
        ordering = ["-id"]
        constraints = [models.UniqueConstraint(fields=["period", "revision"], name="payroll_import_once")]

    def __str__(self) -> str:
        return f"Payroll of {self.period}"


class PayrollImportLine(AppendOnlyModel, PublicIdModel):
    loaded = models.ForeignKey(PayrollImport, on_delete=models.PROTECT, related_name="lines")
    row_number = models.PositiveIntegerField()
    person = models.ForeignKey("crews.Person", on_delete=models.PROTECT, related_name="+")
    gross_cents = models.BigIntegerField()
    employer_cents = models.BigIntegerField(help_text="Taxes and benefits on top")
    ledger_cents = models.BigIntegerField()

    class Meta:
        ordering = ["loaded_id", "row_number"]
        constraints = [models.UniqueConstraint(fields=["loaded", "person"], name="payroll_import_line_once")]

    def __str__(self) -> str:
        return f"{self.person}: {self.gross_cents + self.employer_cents}"


class EffortStatement(PublicIdModel):
    """How a person's whole paid time of some days fell on funds and awards, confirmed by name (2 CFR 200.430)."""

    STATES = [("draft", "To confirm"), ("confirmed", "Confirmed"), ("replaced", "Replaced")]
    person = models.ForeignKey("crews.Person", on_delete=models.PROTECT, related_name="effort_statements")
    first_day = models.DateField()
    last_day = models.DateField()
    revision = models.PositiveSmallIntegerField()
    state = models.CharField(max_length=9, choices=STATES, default="draft")
    minutes = models.PositiveIntegerField()
    made_at = models.DateTimeField()
    confirmed_name = models.CharField(max_length=120, blank=True)
    confirmed_by = models.ForeignKey("common.User", on_delete=models.PROTECT, null=True, related_name="+")
    confirmed_at = models.DateTimeField(null=True)

    class Meta:
        ordering = ["-first_day", "person_id", "-revision"]
        constraints = [
            models.UniqueConstraint(fields=["person", "first_day", "last_day", "revision"], name="effort_once"),
            models.CheckConstraint(condition=Q(last_day__gte=F("first_day")), name="effort_in_order"),
        ]

    def __str__(self) -> str:
        return f"{self.person}, {self.first_day} to {self.last_day}"


class EffortLine(models.Model):
    """Its minutes sum to the statement's, its shares to 10,000."""

    statement = models.ForeignKey(EffortStatement, on_delete=models.CASCADE, related_name="lines")
    fund = models.ForeignKey(Fund, on_delete=models.PROTECT, null=True, related_name="+")
    award = models.ForeignKey(Award, on_delete=models.PROTECT, null=True, related_name="+")
    activity = models.CharField(max_length=40, help_text="Orders, or the code of paid time that is no order")
    minutes = models.PositiveIntegerField()
    share_e4 = models.PositiveIntegerField()

    class Meta:
        ordering = ["statement_id", "id"]

    def __str__(self) -> str:
        return f"{self.activity}: {self.share_e4 / 100:.2f}%"
