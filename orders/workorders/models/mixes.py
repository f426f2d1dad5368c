"""What was mixed, where it went, and the weather it was used in. Rows from the field are facts: added, not changed."""

from django.db import models
from django.db.models import F, Q

from orders.common.models import AppendOnlyModel
from orders.workorders.models.facts import FieldFact
from orders.workorders.models.orders import WorkOrder


class MixBatch(FieldFact):
    """What was mixed once. Applications draw from it; mixed = applied + carried over + disposed."""

    crew = models.ForeignKey("crews.Crew", on_delete=models.PROTECT, related_name="batches")
    site = models.ForeignKey("sites.Site", on_delete=models.PROTECT, related_name="batches")
    work_date = models.DateField(help_text="Site-local.")
    mix = models.ForeignKey("supplies.Mix", on_delete=models.PROTECT, null=True, related_name="batches")
    mixed_by = models.ForeignKey("crews.Person", on_delete=models.PROTECT, related_name="batches_mixed")
    supervised_by = models.ForeignKey("crews.Person", on_delete=models.PROTECT, null=True, related_name="+")
    carrier_ul = models.PositiveBigIntegerField(help_text="Water or oil, microliters.")
    volume_ul = models.PositiveBigIntegerField(help_text="Of the whole mix, microliters.")
    container = models.CharField(max_length=60, blank=True, help_text="As its service container is labeled.")
    notes = models.CharField(max_length=400, blank=True)

    class Meta:
        ordering = ["work_date", "at", "id"]
        verbose_name_plural = "mix batches"
        constraints = [models.CheckConstraint(condition=Q(volume_ul__gt=0), name="batch_has_volume")]

    def __str__(self) -> str:
        return f"Batch {self.container or self.public_id} of {self.work_date}"


class BatchPart(AppendOnlyModel):
    """Product as packaged that went in, by lot; `lot_text` where the program does not know the lot."""

    batch = models.ForeignKey(MixBatch, on_delete=models.PROTECT, related_name="parts")
    product = models.ForeignKey("supplies.Product", on_delete=models.PROTECT, related_name="batch_parts")
    lot = models.ForeignKey("supplies.StockLot", on_delete=models.PROTECT, null=True, related_name="batch_parts")
    lot_text = models.CharField(max_length=40, blank=True)
    amount = models.PositiveBigIntegerField(help_text="Microliters or milligrams.")
    entered_value = models.DecimalField(max_digits=14, decimal_places=4)
    entered_unit = models.CharField(max_length=10)

    class Meta:
        ordering = ["batch_id", "id"]
        constraints = [models.CheckConstraint(condition=Q(amount__gt=0), name="batch_part_has_amount")]

    def __str__(self) -> str:
        return f"{self.entered_value} {self.entered_unit} of {self.product}"


class Application(FieldFact):
    """Mix from one batch put on one patch. `at` is the end, from which entry rules and deadlines count."""

    batch = models.ForeignKey(MixBatch, on_delete=models.PROTECT, related_name="applications")
    order = models.ForeignKey(WorkOrder, on_delete=models.PROTECT, related_name="applications")
    visit = models.ForeignKey("planning.Visit", on_delete=models.PROTECT, null=True, related_name="applications")
    prescription = models.ForeignKey(
        "planning.Prescription", on_delete=models.PROTECT, null=True, related_name="applications"
    )
    site = models.ForeignKey("sites.Site", on_delete=models.PROTECT, related_name="applications")
    work_date = models.DateField(help_text="Site-local.")
    responsible = models.ForeignKey(
        "crews.Person", on_delete=models.PROTECT, related_name="applications_answered_for", help_text="Applicator."
    )
    started_at = models.DateTimeField()
    volume_ul = models.PositiveBigIntegerField(help_text="Of the mix, microliters.")
    area_m2 = models.FloatField(null=True, help_text="Treated.")
    equipment = models.CharField(max_length=80, blank=True)
    minutes_from_cut = models.PositiveSmallIntegerField(null=True, help_text="Of stems that were cut first.")
    replaces = models.OneToOneField("self", on_delete=models.PROTECT, null=True, related_name="replaced_by")

    class Meta:
        ordering = ["work_date", "started_at", "id"]
        constraints = [
            models.CheckConstraint(condition=Q(at__gte=F("started_at")), name="application_in_order"),
        ]

    def __str__(self) -> str:
        return f"{self.batch} on {self.order}"


class ApplicationPerson(AppendOnlyModel):
    """Who held the sprayer or the brush."""

    application = models.ForeignKey(Application, on_delete=models.PROTECT, related_name="people")
    person = models.ForeignKey("crews.Person", on_delete=models.PROTECT, related_name="applications")

    class Meta:
        ordering = ["application_id", "id"]
        constraints = [models.UniqueConstraint(fields=["application", "person"], name="application_person_once")]

    def __str__(self) -> str:
        return f"{self.person}: {self.application}"


class MixDayEnd(FieldFact):
    """What is left of a batch at the end of a day: carried over in a labeled container, or disposed of."""

    batch = models.ForeignKey(MixBatch, on_delete=models.PROTECT, related_name="day_ends")
    work_date = models.DateField()
    carried_over_ul = models.PositiveBigIntegerField(default=0)
    disposed_ul = models.PositiveBigIntegerField(default=0)
    container = models.CharField(max_length=60, blank=True, help_text="Of what is carried over.")
    how_disposed = models.CharField(max_length=200, blank=True)
    rinsate = models.CharField(max_length=200, blank=True, help_text="Where it went.")
    empties = models.PositiveSmallIntegerField(default=0, help_text="Containers emptied.")
    empties_note = models.CharField(max_length=200, blank=True)
    replaces = models.OneToOneField("self", on_delete=models.PROTECT, null=True, related_name="replaced_by")

    class Meta:
        ordering = ["batch_id", "work_date", "id"]

    def __str__(self) -> str:
        return f"{self.batch}, end of {self.work_date}"


class WeatherCheck(FieldFact):
    """Weather measured on site, and what the limits say of it. What a named person let pass is named; a mandatory limit
    cannot be let pass, and work outside it is a deviation."""

    PURPOSES = [("start", "Start"), ("during", "During"), ("end", "End")]
    VERDICTS = [("go", "Go"), ("advised_against", "Advised against"), ("no_go", "No go")]
    site = models.ForeignKey("sites.Site", on_delete=models.PROTECT, related_name="weather_checks")
    order = models.ForeignKey(WorkOrder, on_delete=models.PROTECT, null=True, related_name="weather_checks")
    batch = models.ForeignKey(MixBatch, on_delete=models.PROTECT, null=True, related_name="weather_checks")
    work_date = models.DateField()
    purpose = models.CharField(max_length=8, choices=PURPOSES)
    air_temperature_c = models.FloatField(null=True)
    relative_humidity_percent = models.FloatField(null=True)
    wind_m_s = models.FloatField(null=True)
    gust_m_s = models.FloatField(null=True)
    wind_from_deg = models.FloatField(null=True)
    sky = models.CharField(max_length=60, blank=True)
    inversion_signs = models.BooleanField(null=True)
    rain_expected_hours = models.FloatField(null=True, help_text="Hours until rain is expected.")
    verdict = models.CharField(max_length=16, choices=VERDICTS)
    findings = models.JSONField(default=list, help_text="Each limit that stands against it: kind, words, product.")
    passed_by = models.CharField(max_length=120, blank=True)
    passed_reason = models.CharField(max_length=300, blank=True)

    class Meta:
        ordering = ["at", "id"]
        constraints = [
            models.CheckConstraint(
                condition=Q(passed_by="") | (~Q(passed_reason="") & ~Q(verdict="no_go")),
                name="weather_pass_has_reason_and_is_never_mandatory",
            )
        ]

    def __str__(self) -> str:
        return f"{self.purpose} at {self.site}: {self.verdict}"
