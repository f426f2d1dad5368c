"""What it cost. Ledger rows are added, never changed; a correction is a reversing row. Each row moves an amount from
one account (credit) to another (debit), so that no half of a posting can exist."""

from django.db import models
from django.db.models import F, Q
from django.db.models.functions import Coalesce

from orders.common.models import AppendOnlyModel, PublicIdModel, VersionedModel
from orders.costs.models.funds import Award, Fund
from orders.costs.models.vocabulary import ACCOUNTS, BOOKS, CATEGORIES


class CostRow(AppendOnlyModel, PublicIdModel):
    """What planned and actual rows share. Dimensions are copied when posted: a later change alters no history."""

    posting_key = models.CharField(
        max_length=250, unique=True, help_text="Says what this row posts; nothing posts twice"
    )
    category = models.CharField(max_length=10, choices=CATEGORIES)
    amount_cents = models.BigIntegerField()
    order = models.ForeignKey("workorders.WorkOrder", on_delete=models.PROTECT, null=True, related_name="+")
    visit = models.ForeignKey("planning.Visit", on_delete=models.PROTECT, null=True, related_name="+")
    prescription = models.ForeignKey("planning.Prescription", on_delete=models.PROTECT, null=True, related_name="+")
    order_number = models.PositiveIntegerField(null=True)
    site_code = models.CharField(max_length=20, blank=True)
    patch_code = models.CharField(max_length=40, blank=True)
    species_code = models.CharField(max_length=20, blank=True)
    method_code = models.CharField(max_length=20, blank=True)
    crew_name = models.CharField(max_length=80, blank=True)
    fund = models.ForeignKey(Fund, on_delete=models.PROTECT, related_name="+")
    award = models.ForeignKey(Award, on_delete=models.PROTECT, null=True, related_name="+")
    work_date = models.DateField()
    posting_month = models.DateField(help_text="First day of the posting period")
    posted_at = models.DateTimeField()
    posted_by = models.ForeignKey("common.User", on_delete=models.PROTECT, null=True, related_name="+")

    class Meta:
        abstract = True


class Commitment(CostRow):
    """What an issued order was planned to cost; a void posts the opposite."""

    minutes = models.BigIntegerField(default=0)
    purchase_line = models.ForeignKey(
        "costs.PurchaseLine", on_delete=models.PROTECT, null=True, related_name="commitments"
    )
    is_reversal = models.BooleanField(default=False)

    class Meta:
        ordering = ["id"]

    def __str__(self) -> str:
        return f"{self.order_number} {self.category} {self.amount_cents}"


class LedgerEntry(CostRow):
    """What it cost. Unique on its source and revision: a repeated close cannot post twice."""

    book = models.CharField(
        max_length=8, choices=BOOKS, default="cost", help_text="Reports of cost sum the book of costs alone"
    )
    debit = models.CharField(max_length=20, choices=ACCOUNTS, default="cost-labor")
    credit = models.CharField(max_length=20, choices=ACCOUNTS, default="clear-payroll")
    work_code = models.CharField(max_length=10, blank=True, help_text="Of paid time that is no order")
    person = models.ForeignKey("crews.Person", on_delete=models.PROTECT, null=True, related_name="+")
    person_type = models.CharField(max_length=12, blank=True)
    quantity = models.BigIntegerField(help_text="Minutes, microliters, milligrams or tenths of a mile; signed")
    unit = models.CharField(max_length=6)
    rate_e4 = models.BigIntegerField(help_text="1/10,000 dollars an hour, liter, kilogram or mile")
    rate_origin = models.CharField(
        max_length=10, choices=[("pay", "Pay"), ("standard", "Standard"), ("price", "Price"), ("amount", "Amount")]
    )
    source_kind = models.CharField(max_length=30)
    source_id = models.UUIDField()
    revision = models.PositiveSmallIntegerField()
    reverses = models.OneToOneField("self", on_delete=models.PROTECT, null=True, related_name="reversed_by")
    reason = models.CharField(max_length=300, blank=True)

    class Meta:
        ordering = ["id"]
        verbose_name_plural = "ledger entries"
        constraints = [models.CheckConstraint(condition=~Q(debit=F("credit")), name="ledger_two_accounts")]
        indexes = [
            models.Index(fields=["posting_month", "fund"], name="ledger_month_fund"),
            models.Index(fields=["source_kind", "source_id"], name="ledger_source"),
            models.Index(fields=["person", "work_date"], name="ledger_person_day"),
        ]

    def __str__(self) -> str:
        return f"{self.order_number} {self.category} {self.amount_cents}"


class Period(VersionedModel):
    """A posting month. One without a row is open. While it is closed nothing is posted to it."""

    STATES = [
        ("open", "Open"),
        ("closing", "Asked to be closed"),
        ("closed", "Closed"),
        ("reopening", "Asked to be reopened"),
    ]
    first_day = models.DateField(unique=True)
    state = models.CharField(max_length=10, choices=STATES, default="open")
    balances = models.JSONField(default=dict, help_text="By account, in cents, as it was closed")
    rows_count = models.PositiveIntegerField(default=0)
    rows_sha256 = models.CharField(max_length=64, blank=True, help_text="Over its ledger rows, as it was closed")
    closed_at = models.DateTimeField(null=True)

    class Meta:
        ordering = ["-first_day"]
        constraints = [models.CheckConstraint(condition=Q(first_day__day=1), name="period_is_a_month")]

    def __str__(self) -> str:
        return f"{self.first_day:%B %Y}"


class PeriodStep(AppendOnlyModel, PublicIdModel):
    """Who asked, and who agreed: two people. Where a program has one desk, the second is named: somebody outside it."""

    KINDS = [
        ("ask_close", "Asked to close"),
        ("close", "Closed"),
        ("ask_reopen", "Asked to reopen"),
        ("reopen", "Reopened"),
        ("withdraw", "Withdrawn"),
    ]
    period = models.ForeignKey(Period, on_delete=models.PROTECT, related_name="steps")
    kind = models.CharField(max_length=10, choices=KINDS)
    by = models.ForeignKey("common.User", on_delete=models.PROTECT, null=True, related_name="+")
    outside_name = models.CharField(max_length=120, blank=True)
    outside_organization = models.CharField(max_length=120, blank=True)
    outside_how = models.CharField(max_length=200, blank=True, help_text="How they agreed: a letter, a call, a meeting")
    at = models.DateTimeField()
    reason = models.CharField(max_length=300, blank=True)

    class Meta:
        ordering = ["id"]

    def __str__(self) -> str:
        return f"{self.period}: {self.kind}"


class Proof(AppendOnlyModel, PublicIdModel):
    """One night's proof of the ledger, kept. `checks`: code, words, good or not, and what was found."""

    ran_at = models.DateTimeField()
    ran_by = models.ForeignKey("common.User", on_delete=models.PROTECT, null=True, related_name="+")
    is_good = models.BooleanField()
    checks = models.JSONField(default=list)
    rows_count = models.PositiveIntegerField()
    last_row = models.BigIntegerField(default=0, help_text="The newest ledger row that was looked at")
    rows_sha256 = models.CharField(max_length=64)

    class Meta:
        ordering = ["-id"]

    def __str__(self) -> str:
        return f"Proof of {self.ran_at:%Y-%m-%d %H:%M}"


class AccountMapping(VersionedModel):
    """Our account in somebody else's chart of accounts. An empty field fits everything; the fullest row counts."""

    account = models.CharField(max_length=20, choices=ACCOUNTS)
    fund = models.ForeignKey(Fund, on_delete=models.PROTECT, null=True, blank=True, related_name="+")
    award = models.ForeignKey(Award, on_delete=models.PROTECT, null=True, blank=True, related_name="+")
    category = models.CharField(max_length=10, choices=CATEGORIES, blank=True)
    outer_code = models.CharField(max_length=60)
    outer_name = models.CharField(max_length=120, blank=True)

    class Meta:
        ordering = ["account", "fund_id", "award_id", "category"]
        constraints = [
            models.UniqueConstraint(
                "account", Coalesce("fund", 0), Coalesce("award", 0), "category", name="account_mapping_once"
            )
        ]

    def __str__(self) -> str:
        return f"{self.account} is {self.outer_code}"


class JournalBatch(AppendOnlyModel, PublicIdModel):
    """The ledger rows that one journal export handed over: after the last batch's, up to `last_row`."""

    number = models.PositiveIntegerField(unique=True)
    after_row = models.BigIntegerField()
    last_row = models.BigIntegerField()
    rows_count = models.PositiveIntegerField()
    total_cents = models.BigIntegerField(help_text="Of the debits, which equal the credits")
    codes = models.JSONField(default=list, help_text="The outer codes as they were, so that the file stays the same")
    file_sha256 = models.CharField(max_length=64)
    made_at = models.DateTimeField()
    made_by = models.ForeignKey("common.User", on_delete=models.PROTECT, null=True, related_name="+")

    class Meta:
        ordering = ["-number"]
        verbose_name_plural = "journal batches"

    def __str__(self) -> str:
        return f"Journal {self.number}"
