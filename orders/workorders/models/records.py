"""Application records, and the dated rules that say what they must hold, by when, and how long they are kept."""

from django.db import models
from django.db.models import F, Q

from orders.common.models import PublicIdModel, VersionedModel
from orders.workorders.models.facts import FieldFact
from orders.workorders.models.mixes import MixBatch


class RecordProfile(VersionedModel):
    """A jurisdiction's rules on records and on who may mix and apply, from a day on. `jurisdiction` is its code; empty:
    the program's own, where no other is known. A licensed person reviews it."""

    COUNTS = [
        ("same_day", "The day of the use"),
        ("business_days", "Business days: Monday to Friday less federal holidays"),
        ("days", "Days of the calendar"),
    ]
    jurisdiction = models.CharField(max_length=10, blank=True)
    first_day = models.DateField(help_text="For uses from this day on.")
    last_day = models.DateField(null=True, blank=True)
    scope = models.CharField(max_length=200, blank=True, help_text="Whom and what it binds.")
    counts = models.CharField(max_length=14, choices=COUNTS, help_text="The term counts from the end of the use.")
    days = models.PositiveSmallIntegerField(default=0)
    keep_years = models.PositiveSmallIntegerField()
    required = models.JSONField(default=list, help_text="Codes of the fields that a record must hold.")
    if_applicable = models.JSONField(default=list, blank=True, help_text="Codes of fields to be held where they apply.")
    produce = models.CharField(max_length=200, blank=True, help_text="To whom a copy is owed, and how soon.")
    must_carry_order = models.BooleanField(
        default=False, help_text="An applicator who is not certified carries the printed work order."
    )
    volunteers_may_apply = models.BooleanField(default=False, help_text="Trained ones, within their permit.")
    volunteer_signal_words = models.JSONField(default=list, blank=True)
    least_age = models.PositiveSmallIntegerField(default=18)
    source = models.CharField(max_length=300)
    not_found = models.CharField(max_length=300, blank=True, help_text="What the source read does not tell.")
    reviewed_by = models.CharField(max_length=120, blank=True)
    reviewed_on = models.DateField(null=True, blank=True)

    class Meta:
        ordering = ["jurisdiction", "first_day"]
        constraints = [
            models.UniqueConstraint(fields=["jurisdiction", "first_day"], name="record_profile_once_a_day"),
            models.CheckConstraint(
                condition=Q(last_day__isnull=True) | Q(last_day__gte=F("first_day")), name="record_profile_in_order"
            ),
        ]

    def __str__(self) -> str:
        return f"{self.jurisdiction or 'elsewhere'} from {self.first_day}"


class ApplicationRecord(FieldFact):
    """One for each mix, place, day and responsible applicator, whatever becomes of the orders. Revision 1 is what was
    signed first; a later one amends the one it points at. `at` is when it was signed."""

    batch = models.ForeignKey(MixBatch, on_delete=models.PROTECT, related_name="records")
    site = models.ForeignKey("sites.Site", on_delete=models.PROTECT, related_name="application_records")
    work_date = models.DateField()
    responsible = models.ForeignKey("crews.Person", on_delete=models.PROTECT, related_name="application_records")
    revision = models.PositiveSmallIntegerField()
    amends = models.OneToOneField("self", on_delete=models.PROTECT, null=True, related_name="amended_by")
    reason = models.CharField(max_length=300, blank=True)
    profile = models.ForeignKey(RecordProfile, on_delete=models.PROTECT, related_name="records")
    started_at = models.DateTimeField()
    ended_at = models.DateTimeField(help_text="End of the application: the deadline counts from here.")
    due_on = models.DateField()
    values = models.JSONField(help_text="By field code, versioned, as signed.")
    missing = models.JSONField(default=list, help_text="Codes of required fields that it does not hold.")
    signed_by = models.CharField(max_length=120)
    retain_until = models.DateField()

    class Meta:
        ordering = ["work_date", "site_id", "id"]
        constraints = [
            models.UniqueConstraint(
                fields=["batch", "site", "work_date", "responsible", "revision"], name="application_record_once"
            ),
            models.CheckConstraint(condition=Q(ended_at__gte=F("started_at")), name="application_record_in_order"),
            models.CheckConstraint(
                condition=Q(revision=1, amends__isnull=True) | Q(revision__gt=1, amends__isnull=False),
                name="application_record_amends_from_two",
            ),
        ]

    def __str__(self) -> str:
        return f"Record of {self.work_date} at {self.site}"


class RecordHold(PublicIdModel):
    """Why a record must be kept beyond its term: an audit, a claim. Held until somebody lifts it."""

    record = models.ForeignKey(ApplicationRecord, on_delete=models.PROTECT, related_name="holds")
    why = models.CharField(max_length=300)
    placed_by = models.ForeignKey("common.User", on_delete=models.PROTECT, related_name="+")
    placed_at = models.DateTimeField()
    lifted_by = models.ForeignKey("common.User", on_delete=models.PROTECT, null=True, related_name="+")
    lifted_at = models.DateTimeField(null=True)

    class Meta:
        ordering = ["record_id", "id"]

    def __str__(self) -> str:
        return f"{self.record} held: {self.why}"
