"""What the work on a patch would take: methods, dated rate books, and estimates with their frozen inputs."""

from django.db import models
from django.db.models import Q

from orders.common.models import AppendOnlyModel, PublicIdModel, Run, VersionedModel


class Method(VersionedModel):
    code = models.CharField(max_length=20, unique=True)
    name = models.CharField(max_length=60)
    facts = models.JSONField(help_text="The row that estimating reads: licenses, seasons, growth forms.")
    uses_herbicide = models.BooleanField()
    qualification = models.ForeignKey(
        "crews.QualificationKind", on_delete=models.PROTECT, null=True, blank=True, related_name="methods"
    )
    default_mix = models.ForeignKey("supplies.Mix", on_delete=models.PROTECT, null=True, blank=True, related_name="+")
    is_active = models.BooleanField(default=True)

    class Meta:
        ordering = ["code"]

    def __str__(self) -> str:
        return self.name


class MethodEquipment(models.Model):
    """What a crew has with it on a day of a method, of what crews share."""

    method = models.ForeignKey(Method, on_delete=models.CASCADE, related_name="equipment_needs")
    equipment = models.ForeignKey("supplies.Equipment", on_delete=models.PROTECT, related_name="method_needs")
    units_per_crew = models.PositiveSmallIntegerField()

    class Meta:
        ordering = ["method_id", "equipment_id"]
        verbose_name_plural = "method equipment"
        constraints = [
            models.UniqueConstraint(fields=["method", "equipment"], name="method_equipment_once"),
            models.CheckConstraint(condition=Q(units_per_crew__gte=1), name="method_equipment_is_some"),
        ]

    def __str__(self) -> str:
        return f"{self.units_per_crew} {self.equipment} for {self.method}"


class RateBook(VersionedModel):
    """A dated version of all rates, allowances and spreads. Of each kind of crew one is in force; an estimate keeps the
    one it used. `in_force_until` is the last day on which a retired book held."""

    STATES = [("draft", "Draft"), ("in_force", "In force"), ("retired", "Retired")]
    CREW_KINDS = [("staff", "Staff crews"), ("volunteers", "Volunteers")]
    name = models.CharField(max_length=80)
    edition = models.PositiveIntegerField()
    crew_kind = models.CharField(max_length=10, choices=CREW_KINDS, default="staff")
    state = models.CharField(max_length=10, choices=STATES, default="draft")
    in_force_from = models.DateField(null=True, blank=True)
    in_force_until = models.DateField(null=True, blank=True)
    standard_crew = models.JSONField(help_text="People by labor role, for estimates made before a crew is known.")
    skill_roles = models.JSONField(help_text="Which labor role does the work of each skill that the rates name.")
    notes = models.TextField(blank=True)

    class Meta:
        ordering = ["-edition"]
        constraints = [
            models.UniqueConstraint(fields=["name", "edition"], name="rate_book_edition_once"),
            models.UniqueConstraint(
                fields=["crew_kind"], condition=Q(state="in_force"), name="rate_book_one_in_force_a_crew_kind"
            ),
        ]

    def __str__(self) -> str:
        return f"{self.name} {self.edition}"


class Rate(models.Model):
    """One row of a rate book, in the columns that estimating reads; changed only while its book is a draft."""

    book = models.ForeignKey(RateBook, on_delete=models.CASCADE, related_name="rates")
    line = models.PositiveIntegerField()
    kind = models.CharField(max_length=20)
    method = models.CharField(max_length=20, blank=True)
    step = models.CharField(max_length=40, blank=True)
    growth_form = models.CharField(max_length=20, blank=True)
    driver = models.CharField(max_length=40, blank=True)
    from_value = models.CharField(max_length=20, blank=True)
    value = models.CharField(max_length=20)
    unit = models.CharField(max_length=40, blank=True)
    cover_exponent = models.CharField(max_length=10, blank=True)
    skill = models.CharField(max_length=20, blank=True)
    shared_spread = models.CharField(max_length=10, blank=True)
    own_spread = models.CharField(max_length=10, blank=True)
    source = models.CharField(max_length=300)

    class Meta:
        ordering = ["book_id", "line"]
        constraints = [models.UniqueConstraint(fields=["book", "line"], name="rate_line_once_a_book")]

    def __str__(self) -> str:
        return f"{self.kind} {self.method} {self.step} {self.value}"


class Estimate(AppendOnlyModel, PublicIdModel):
    """One patch by one method, from one survey and one rate book. Inputs and result are frozen; `fingerprint` is of the
    inputs, so that what has gone stale can be told and made again."""

    survey = models.ForeignKey("sites.Survey", on_delete=models.PROTECT, related_name="estimates")
    method = models.ForeignKey(Method, on_delete=models.PROTECT, related_name="estimates")
    rate_book = models.ForeignKey(RateBook, on_delete=models.PROTECT, related_name="estimates")
    mix = models.ForeignKey("supplies.Mix", on_delete=models.PROTECT, null=True, related_name="estimates")
    repeat_year = models.PositiveSmallIntegerField(default=1)
    fingerprint = models.CharField(max_length=64)
    inputs = models.JSONField()
    result = models.JSONField(help_text="The explanation: every step, quantity, rate and sum, versioned.")
    main_species_code = models.CharField(max_length=20)
    treated_area_m2 = models.FloatField()
    spray_volume_l = models.FloatField()
    products_ul = models.JSONField(help_text="Microliters of each product, by its code.")
    person_hours = models.FloatField(help_text="In the field")
    paid_person_hours = models.FloatField(help_text="With drive, walk-in, breaks and allowances")
    crew_hours = models.FloatField()
    crew_days = models.FloatField()
    hours_low = models.FloatField()
    hours_likely = models.FloatField()
    hours_high = models.FloatField()
    hours_mean = models.FloatField()
    own_log_sd = models.FloatField()
    shared_log_sd = models.FloatField()
    survey_log_sd = models.FloatField(null=True, help_text="The survey's part of the estimate's own log spread.")
    form_shares = models.JSONField(null=True, help_text="Shares of its hours by growth form, as the steps name them.")
    labor_cents = models.BigIntegerField()
    material_cents = models.BigIntegerField()
    equipment_cents = models.BigIntegerField()
    mileage_cents = models.BigIntegerField()
    total_cents = models.BigIntegerField()
    cost_low_cents = models.BigIntegerField()
    cost_high_cents = models.BigIntegerField()
    contingency_cents = models.BigIntegerField(
        null=True, help_text="From the likely cost up to the rate book's chosen level of the range."
    )
    contract_cents = models.BigIntegerField(null=True, help_text="What a contractor asks, where the price list has it.")
    at = models.DateTimeField()
    by = models.ForeignKey("common.User", on_delete=models.PROTECT, null=True, related_name="+")

    class Meta:
        ordering = ["-id"]
        constraints = [models.UniqueConstraint(fields=["fingerprint"], name="estimate_once_per_input")]
        indexes = [
            models.Index(fields=["survey", "method", "-id"], name="estimate_newest"),
            # What the list is sorted by.
            models.Index(fields=["hours_likely"], name="estimate_by_hours"),
            models.Index(fields=["crew_days"], name="estimate_by_days"),
            models.Index(fields=["total_cents"], name="estimate_by_cost"),
        ]

    def __str__(self) -> str:
        return f"{self.survey} by {self.method}"


class EstimateRun(Run):
    """A background run that estimates the newest survey of every patch, some patches at a time; what was estimated
    stays, whatever becomes of the rest."""

    kind = "estimates"

    crew_kind = models.CharField(max_length=10, choices=RateBook.CREW_KINDS, default="staff")
    on_day = models.DateField(help_text="The day whose rate book and prices count.")
    surveys_count = models.PositiveIntegerField(default=0)
    made_count = models.PositiveIntegerField(default=0, help_text="Estimates that were not there before.")
    standing_count = models.PositiveIntegerField(default=0, help_text="Estimates that stood already.")
    left_out = models.JSONField(default=list, help_text="Methods that could not be priced, with how many patches.")

    class Meta(Run.Meta):
        abstract = False
