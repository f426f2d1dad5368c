"""Who pays: funds, awards with their dated terms, budgets, and what waits for finance to say who pays."""

from datetime import date

from django.db import models
from django.db.models import F, Q, Value
from django.db.models.functions import Coalesce

from orders.common.models import PublicIdModel, VersionedModel
from orders.costs.models.vocabulary import CATEGORIES


class Fund(VersionedModel):
    """Where money comes from. The suspense fund holds what no other may take until finance settles it."""

    code = models.CharField(max_length=20, unique=True)
    name = models.CharField(max_length=120)
    budget_cents = models.BigIntegerField(null=True, blank=True)
    is_suspense = models.BooleanField(default=False)

    class Meta:
        ordering = ["code"]
        constraints = [
            models.UniqueConstraint(fields=["is_suspense"], condition=Q(is_suspense=True), name="fund_one_suspense")
        ]

    def __str__(self) -> str:
        return self.name


class Award(VersionedModel):
    """A grant with its own terms, paid through a fund."""

    fund = models.ForeignKey(Fund, on_delete=models.PROTECT, related_name="awards")
    code = models.CharField(max_length=30, unique=True)
    name = models.CharField(max_length=120)
    first_day = models.DateField(help_text="Period of performance")
    last_day = models.DateField()
    ceiling_cents = models.BigIntegerField()

    class Meta:
        ordering = ["code"]
        constraints = [models.CheckConstraint(condition=Q(last_day__gte=F("first_day")), name="award_in_order")]

    def __str__(self) -> str:
        return self.name


class OrderFunding(PublicIdModel):
    """The share of an order's cost that a fund pays, in 1/10,000; the shares of an order sum to 10,000."""

    order = models.ForeignKey("workorders.WorkOrder", on_delete=models.PROTECT, related_name="funding")
    fund = models.ForeignKey(Fund, on_delete=models.PROTECT, related_name="order_funding")
    award = models.ForeignKey(Award, on_delete=models.PROTECT, null=True, blank=True, related_name="order_funding")
    share_e4 = models.PositiveIntegerField()

    class Meta:
        ordering = ["order_id", "id"]
        constraints = [
            models.UniqueConstraint(fields=["order", "fund", "award"], name="order_funding_once_an_award"),
            models.UniqueConstraint(
                fields=["order", "fund"], condition=Q(award__isnull=True), name="order_funding_once_a_fund"
            ),
            models.CheckConstraint(condition=Q(share_e4__gt=0, share_e4__lte=10_000), name="order_funding_is_share"),
        ]

    def __str__(self) -> str:
        return f"{self.fund} pays {self.share_e4 / 100:.2f}% of {self.order}"


class FundingRule(VersionedModel):
    """Who pays what no hand has split: orders by site or method, and paid time that is no order by its code. An empty
    field fits everything; of several rules that fit, the one with the most fields filled counts, then the newest."""

    name = models.CharField(max_length=80)
    from_day = models.DateField()
    last_day = models.DateField(null=True, blank=True)
    site = models.ForeignKey("sites.Site", on_delete=models.PROTECT, null=True, blank=True, related_name="+")
    method_code = models.CharField(max_length=20, blank=True)
    work_code = models.CharField(max_length=10, blank=True, help_text="Of paid time that is no order: shop, training…")

    class Meta:
        ordering = ["-from_day", "id"]
        constraints = [
            models.CheckConstraint(
                condition=Q(last_day__isnull=True) | Q(last_day__gte=F("from_day")), name="funding_rule_in_order"
            )
        ]

    def __str__(self) -> str:
        return self.name


class FundingRuleShare(models.Model):
    """The shares of a rule sum to 10,000."""

    rule = models.ForeignKey(FundingRule, on_delete=models.CASCADE, related_name="shares")
    fund = models.ForeignKey(Fund, on_delete=models.PROTECT, related_name="+")
    award = models.ForeignKey(Award, on_delete=models.PROTECT, null=True, blank=True, related_name="+")
    share_e4 = models.PositiveIntegerField()

    class Meta:
        ordering = ["rule_id", "id"]
        constraints = [
            models.CheckConstraint(condition=Q(share_e4__gt=0, share_e4__lte=10_000), name="rule_share_is_share")
        ]

    def __str__(self) -> str:
        return f"{self.fund} {self.share_e4 / 100:.2f}%"


class Budget(VersionedModel):
    """What may be spent of a fund: in all, or on a site, a category or in a month. An empty field means all of them."""

    fund = models.ForeignKey(Fund, on_delete=models.PROTECT, related_name="budgets")
    award = models.ForeignKey(Award, on_delete=models.PROTECT, null=True, blank=True, related_name="budgets")
    site = models.ForeignKey("sites.Site", on_delete=models.PROTECT, null=True, blank=True, related_name="+")
    category = models.CharField(max_length=10, choices=CATEGORIES, blank=True)
    month = models.DateField(null=True, blank=True, help_text="First day of the posting month")
    amount_cents = models.BigIntegerField()
    note = models.CharField(max_length=200, blank=True)

    class Meta:
        ordering = ["fund_id", "award_id", "site_id", "category", "month"]
        constraints = [
            models.UniqueConstraint(
                "fund",
                Coalesce("award", 0),
                Coalesce("site", 0),
                "category",
                Coalesce("month", Value(date.min)),
                name="budget_once",
            ),
            models.CheckConstraint(condition=Q(amount_cents__gte=0), name="budget_not_negative"),
        ]

    def __str__(self) -> str:
        return f"Budget of {self.fund}"


class AwardTerm(PublicIdModel):
    """The terms of an award from a day on; rows are added, the newest that has begun counts. Old and new federal rules
    stand side by side: `ruleset` only names where the figures come from, the figures decide."""

    BASES = [
        ("mtdc", "Modified total direct costs"),
        ("direct", "All direct costs"),
        ("salaries", "Salaries and wages"),
        ("none", "No indirect costs"),
    ]
    RULESETS = [
        ("federal-2024-10", "Federal, from October 2024"),
        ("federal-before", "Federal, before October 2024"),
        ("own", "The funder's own"),
    ]
    AT_CHARGE = [("queue", "Wait for finance"), ("refuse", "Refuse")]
    award = models.ForeignKey(Award, on_delete=models.PROTECT, related_name="terms")
    from_day = models.DateField()
    ruleset = models.CharField(max_length=20, choices=RULESETS)
    indirect_e4 = models.PositiveIntegerField(default=0, help_text="1/10,000 of the base: 1500 is 15 %")
    indirect_base = models.CharField(max_length=10, choices=BASES, default="none")
    subaward_cap_cents = models.BigIntegerField(default=5_000_000, help_text="Of each subaward, over its whole period")
    equipment_threshold_cents = models.BigIntegerField(default=1_000_000, help_text="From here on outside the base")
    match_e4 = models.PositiveIntegerField(default=0, help_text="1/10,000 of what the award pays")
    match_cents = models.BigIntegerField(default=0, help_text="Or an amount; the larger of the two is required")
    allowed_categories = models.JSONField(default=list, blank=True, help_text="Empty: all")
    at_charge = models.CharField(max_length=6, choices=AT_CHARGE, default="queue")
    source = models.CharField(max_length=200)

    class Meta:
        ordering = ["award_id", "-from_day"]
        constraints = [models.UniqueConstraint(fields=["award", "from_day"], name="award_term_once_a_day")]

    def __str__(self) -> str:
        return f"{self.award} from {self.from_day}"


class HeldCharge(VersionedModel):
    """A charge that the fund or award meant for it may not take: it stands in suspense until finance says who pays."""

    STATES = [("waiting", "Waiting"), ("settled", "Settled"), ("gone", "Taken back before it was settled")]
    source_kind = models.CharField(max_length=30)
    source_id = models.UUIDField()
    revision = models.PositiveSmallIntegerField()
    fund = models.ForeignKey(Fund, on_delete=models.PROTECT, related_name="held_charges", help_text="That was meant")
    award = models.ForeignKey(Award, on_delete=models.PROTECT, null=True, related_name="held_charges")
    order = models.ForeignKey("workorders.WorkOrder", on_delete=models.PROTECT, null=True, related_name="+")
    person = models.ForeignKey("crews.Person", on_delete=models.PROTECT, null=True, related_name="+")
    category = models.CharField(max_length=10, choices=CATEGORIES)
    work_date = models.DateField()
    amount_cents = models.BigIntegerField()
    code = models.CharField(max_length=30, help_text="Why: outside-period, not-allowed, over-ceiling…")
    message = models.CharField(max_length=300)
    state = models.CharField(max_length=8, choices=STATES, default="waiting")
    raised_at = models.DateTimeField()
    settled_fund = models.ForeignKey(Fund, on_delete=models.PROTECT, null=True, related_name="+")
    settled_award = models.ForeignKey(Award, on_delete=models.PROTECT, null=True, related_name="+")
    settled_by = models.ForeignKey("common.User", on_delete=models.PROTECT, null=True, related_name="+")
    settled_at = models.DateTimeField(null=True)
    reason = models.CharField(max_length=300, blank=True)

    class Meta:
        ordering = ["id"]
        constraints = [
            models.UniqueConstraint(
                "source_kind", "source_id", "revision", "fund", Coalesce("award", 0), name="held_charge_once"
            )
        ]

    def __str__(self) -> str:
        return f"{self.category} {self.amount_cents} of {self.work_date}"


class MatchRate(PublicIdModel):
    """What an hour of somebody who costs nothing is worth to an award: by role, for volunteers and loaned staff."""

    KINDS = [("volunteer", "Volunteer"), ("loaned", "Loaned staff")]
    person_type = models.CharField(max_length=12, choices=KINDS)
    role = models.ForeignKey("crews.LaborRole", on_delete=models.PROTECT, related_name="+")
    from_day = models.DateField()
    rate_e4 = models.PositiveBigIntegerField(help_text="1/10,000 dollars an hour")
    fringe_e4 = models.PositiveIntegerField(default=0, help_text="1/10,000 of the rate")
    source = models.CharField(max_length=200)

    class Meta:
        ordering = ["person_type", "role_id", "-from_day"]
        constraints = [
            models.UniqueConstraint(fields=["person_type", "role", "from_day"], name="match_rate_once_a_day")
        ]

    def __str__(self) -> str:
        return f"{self.person_type} {self.role} from {self.from_day}"
