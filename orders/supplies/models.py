"""Registered products and their labels, stock by lot, prices."""

from django.db import models
from django.db.models import Q

from orders.common.models import AppendOnlyModel, PublicIdModel, VersionedModel

LIMIT_KINDS = [
    ("label-mandatory", "Label, mandatory"),
    ("label-advisory", "Label, advisory"),
    ("program-policy", "Program policy"),
]
# As estimating's order of mixing knows them.
FORMULATIONS = [
    ("conditioner", "Water conditioner"),
    ("dry", "Dry product"),
    ("suspension", "Suspension"),
    ("emulsion", "Emulsifiable concentrate"),
    ("solution", "Solution"),
    ("surfactant", "Surfactant"),
    ("dye", "Marker dye"),
    ("oil", "Oil"),
]


class Product(VersionedModel):
    """One registered product, one version of its label. The label is the law; this is a reviewed copy of its facts."""

    code = models.CharField(max_length=30, unique=True)
    name = models.CharField(max_length=120)
    registration_number = models.CharField(max_length=30, blank=True)
    label_version = models.CharField(max_length=40, blank=True)
    label_reference = models.CharField(max_length=200, blank=True)
    reviewed_on = models.DateField(null=True, blank=True)
    reviewed_by = models.CharField(max_length=120, blank=True)
    is_herbicide = models.BooleanField(default=True)
    formulation = models.CharField(
        max_length=12,
        choices=FORMULATIONS,
        blank=True,
        help_text="When it goes into the tank; empty: as is usual for its part of the mix.",
    )
    signal_word = models.CharField(max_length=12, blank=True)
    states = models.JSONField(default=list, blank=True, help_text="Jurisdiction codes where it is registered.")
    soil_active = models.BooleanField(default=False)
    aquatic = models.BooleanField(default=False)
    no_annual_cap = models.JSONField(
        default=list, blank=True, help_text="Ingredients for which the label says that it sets none."
    )
    least_water_distance_m = models.FloatField(default=0, help_text="The label's own buffer.")
    rain_free_hours = models.FloatField(null=True, blank=True)
    entry_rule = models.CharField(
        max_length=200, blank=True, help_text="Where the worker-protection rules do not apply: the label's own words."
    )
    restricted_entry_hours = models.PositiveSmallIntegerField(
        null=True, blank=True, help_text="Where the worker-protection rules apply."
    )
    protective_equipment = models.TextField(blank=True)
    cautions = models.TextField(blank=True)
    storage_note = models.TextField(blank=True)
    is_active = models.BooleanField(default=True)

    class Meta:
        ordering = ["code"]

    def __str__(self) -> str:
        return self.name

    @property
    def uses(self) -> list[str]:
        """Codes of the methods that the label allows."""
        return [use.method for use in self.label_uses.all()]


class ProductIngredient(models.Model):
    product = models.ForeignKey(Product, on_delete=models.CASCADE, related_name="ingredients")
    ingredient = models.CharField(max_length=60)
    ae_g_per_l = models.FloatField(help_text="Acid equivalent (or active ingredient where none is stated), g/L.")

    class Meta:
        ordering = ["product_id", "ingredient"]
        constraints = [models.UniqueConstraint(fields=["product", "ingredient"], name="ingredient_once_a_product")]

    def __str__(self) -> str:
        return f"{self.ingredient} {self.ae_g_per_l} g/L"


class LabelUse(models.Model):
    """A method that the label allows, with the strength and the rate that it gives for that use alone."""

    product = models.ForeignKey(Product, on_delete=models.CASCADE, related_name="label_uses")
    method = models.CharField(max_length=20, help_text="Method code.")
    max_percent_vv = models.FloatField(null=True, blank=True, help_text="Percent of the mix by volume.")
    max_l_per_ha = models.FloatField(
        null=True, blank=True, help_text="Liters of product on each treated hectare in one application."
    )
    least_days_between = models.PositiveSmallIntegerField(
        null=True, blank=True, help_text="Days from one use on the same ground to the next."
    )
    most_uses_a_year = models.PositiveSmallIntegerField(
        null=True, blank=True, help_text="Applications on the same ground in a calendar year."
    )
    reference = models.CharField(max_length=200, blank=True)

    class Meta:
        ordering = ["product_id", "method"]
        constraints = [
            models.UniqueConstraint(fields=["product", "method"], name="label_use_once_a_product"),
            models.CheckConstraint(
                condition=Q(most_uses_a_year__isnull=True) | Q(most_uses_a_year__gt=0),
                name="label_use_once_a_year_at_least",
            ),
            models.CheckConstraint(
                condition=Q(max_percent_vv__isnull=True) | Q(max_percent_vv__gt=0, max_percent_vv__lte=100),
                name="label_use_is_percent",
            ),
            models.CheckConstraint(
                condition=Q(max_l_per_ha__isnull=True) | Q(max_l_per_ha__gt=0), name="label_use_rate_is_positive"
            ),
        ]

    def __str__(self) -> str:
        return f"{self.method} with {self.product}"


class LabelWeather(models.Model):
    """A range of wind or temperature for the use, and by whose authority."""

    MEASURES = [("wind_m_s", "Wind, m/s"), ("temperature_c", "Air temperature, °C")]
    product = models.ForeignKey(Product, on_delete=models.CASCADE, related_name="label_weather")
    measure = models.CharField(max_length=16, choices=MEASURES)
    low = models.FloatField(null=True, blank=True)
    high = models.FloatField(null=True, blank=True)
    kind = models.CharField(max_length=16, choices=LIMIT_KINDS)
    reference = models.CharField(max_length=200)

    class Meta:
        ordering = ["product_id", "measure", "id"]
        verbose_name_plural = "label weather"
        constraints = [
            models.CheckConstraint(
                condition=Q(low__isnull=False) | Q(high__isnull=False), name="label_weather_has_a_limit"
            ),
        ]

    def __str__(self) -> str:
        return f"{self.get_measure_display()} from {self.low} to {self.high}"


class LabelCap(models.Model):
    """The most that may be applied, on which acres and in which year, and by whose authority."""

    AREAS = [("treated", "treated"), ("infested", "infested"), ("gross", "gross")]
    YEARS = [("calendar", "calendar year"), ("12 months", "any 12 months"), ("season", "season of the program")]

    product = models.ForeignKey(Product, on_delete=models.CASCADE, related_name="caps")
    ingredient = models.CharField(max_length=60)
    kg_ae_per_ha = models.FloatField()
    period = models.CharField(max_length=12, choices=[("application", "application"), ("year", "year")])
    area_basis = models.CharField(max_length=10, choices=AREAS)
    year_basis = models.CharField(max_length=10, choices=YEARS)
    method = models.CharField(max_length=20, blank=True, help_text="For one use of the label; empty: for all of them.")
    kind = models.CharField(max_length=16, choices=LIMIT_KINDS)
    reference = models.CharField(max_length=200)

    class Meta:
        ordering = ["product_id", "ingredient", "period"]

    def __str__(self) -> str:
        return f"{self.ingredient} {self.kg_ae_per_ha} kg/ha each {self.period}"


class Mix(VersionedModel):
    """A way to mix: what goes into the tank, at which strength, for which method."""

    code = models.CharField(max_length=30, unique=True)
    name = models.CharField(max_length=120)
    carrier_l_per_ha = models.FloatField(null=True, blank=True)
    stem_dose_ml_per_cm = models.FloatField(null=True, blank=True)
    area_basis = models.CharField(max_length=8, choices=[("infested", "infested"), ("canopy", "canopy")])
    tank_l = models.FloatField()
    is_active = models.BooleanField(default=True)

    class Meta:
        ordering = ["code"]
        verbose_name_plural = "mixes"
        constraints = [
            models.CheckConstraint(
                condition=Q(carrier_l_per_ha__isnull=False, stem_dose_ml_per_cm__isnull=True)
                | Q(carrier_l_per_ha__isnull=True, stem_dose_ml_per_cm__isnull=False),
                name="mix_by_area_or_by_stem",
            )
        ]

    def __str__(self) -> str:
        return self.name


class MixPart(models.Model):
    mix = models.ForeignKey(Mix, on_delete=models.CASCADE, related_name="parts")
    product = models.ForeignKey(Product, on_delete=models.PROTECT, related_name="mix_parts")
    percent_vv = models.FloatField(null=True, blank=True)
    rate_l_per_ha = models.FloatField(null=True, blank=True)
    part = models.CharField(
        max_length=10,
        choices=[("herbicide", "herbicide"), ("adjuvant", "adjuvant"), ("dye", "dye"), ("oil", "oil")],
    )

    class Meta:
        ordering = ["mix_id", "id"]
        constraints = [
            models.CheckConstraint(
                condition=Q(percent_vv__isnull=False, rate_l_per_ha__isnull=True)
                | Q(percent_vv__isnull=True, rate_l_per_ha__isnull=False),
                name="mix_part_by_percent_or_by_rate",
            )
        ]

    def __str__(self) -> str:
        return f"{self.product} in {self.mix}"


class Equipment(VersionedModel):
    """A kind of thing that crews share, such as sprayers or saws, and how many of it there are."""

    code = models.SlugField(unique=True)
    name = models.CharField(max_length=80)
    count = models.PositiveSmallIntegerField(help_text="In working order; what is in repair does not count.")
    notes = models.CharField(max_length=200, blank=True)

    class Meta:
        ordering = ["code"]
        verbose_name_plural = "equipment"

    def __str__(self) -> str:
        return self.name


class Price(PublicIdModel):
    """A price from a day on: a product or fuel a liter, a bag, a blade, a mile, an hour of equipment, a contractor's
    hectare by a method. 1/10,000 dollars a unit."""

    KINDS = [
        ("product", "Product"),
        ("bag", "Bag"),
        ("mileage", "Mileage"),
        ("equipment", "Equipment"),
        ("fuel", "Fuel"),
        ("blade", "Blade"),
        ("contract", "Contract"),
    ]
    UNITS = [("L", "L"), ("each", "each"), ("mile", "mile"), ("hour", "hour"), ("ha", "ha")]
    kind = models.CharField(max_length=10, choices=KINDS)
    code = models.CharField(
        max_length=30, help_text="Product code, method code for equipment and contracts, or the kind itself."
    )
    unit = models.CharField(max_length=10, choices=UNITS)
    from_day = models.DateField()
    price_e4 = models.PositiveBigIntegerField()
    minimum_e4 = models.PositiveBigIntegerField(
        null=True, blank=True, help_text="The least that a contractor asks for a job, in 1/10,000 dollars."
    )
    source = models.CharField(max_length=200)

    class Meta:
        ordering = ["kind", "code", "-from_day"]
        constraints = [
            models.UniqueConstraint(fields=["kind", "code", "from_day"], name="price_once_a_day"),
            models.CheckConstraint(
                condition=Q(kind="contract") | Q(minimum_e4__isnull=True), name="price_minimum_of_a_contract"
            ),
        ]

    def __str__(self) -> str:
        return f"{self.kind} {self.code} from {self.from_day}"


class StockLot(PublicIdModel):
    """What came in together: one product, one lot number, one price. Amounts count microliters or milligrams."""

    product = models.ForeignKey(Product, on_delete=models.PROTECT, related_name="lots")
    lot_number = models.CharField(max_length=40)
    unit = models.CharField(max_length=2, choices=[("uL", "microliters"), ("mg", "milligrams")], default="uL")
    price_e4 = models.PositiveBigIntegerField(help_text="1/10,000 dollars a liter or kilogram")
    received_on = models.DateField()

    class Meta:
        ordering = ["product_id", "received_on", "id"]
        constraints = [models.UniqueConstraint(fields=["product", "lot_number"], name="lot_number_once_a_product")]

    def __str__(self) -> str:
        return f"{self.product} lot {self.lot_number}"


class StockMovement(AppendOnlyModel, PublicIdModel):
    """Append-only: receipts add, uses take, counts correct. The stock of a lot is the sum, and may go below zero (facts
    from the field are stored and flagged, not refused)."""

    KINDS = [
        ("receipt", "Receipt"),
        ("use", "Use"),
        ("return", "Return"),
        ("count", "Count"),
        ("write_off", "Write-off"),
    ]
    lot = models.ForeignKey(StockLot, on_delete=models.PROTECT, related_name="movements")
    kind = models.CharField(max_length=10, choices=KINDS)
    amount = models.BigIntegerField(help_text="Signed, in the lot's unit")
    entered_value = models.DecimalField(max_digits=14, decimal_places=4)
    entered_unit = models.CharField(max_length=10)
    on = models.DateField()
    at = models.DateTimeField()
    by = models.ForeignKey("common.User", on_delete=models.PROTECT, null=True, related_name="+")
    source_kind = models.CharField(max_length=30, blank=True)
    source_id = models.UUIDField(null=True)
    reason = models.CharField(max_length=200, blank=True)

    class Meta:
        ordering = ["id"]
        constraints = [
            models.UniqueConstraint(
                fields=["source_kind", "source_id", "kind"], condition=Q(source_id__isnull=False), name="movement_once"
            )
        ]

    def __str__(self) -> str:
        return f"{self.kind} {self.amount} {self.lot}"


class ProductDocument(PublicIdModel):
    """The label or the safety data sheet of a product, whole, as crews carry it offline. The newest one counts."""

    KINDS = [("label", "Label"), ("sds", "Safety data sheet")]
    product = models.ForeignKey(Product, on_delete=models.PROTECT, related_name="documents")
    kind = models.CharField(max_length=5, choices=KINDS)
    language = models.CharField(max_length=5, default="en")
    file_name = models.CharField(max_length=120)
    content_type = models.CharField(max_length=40)
    size_bytes = models.PositiveIntegerField()
    sha256 = models.CharField(max_length=64)
    file_bytes = models.BinaryField()
    added_at = models.DateTimeField()
    added_by = models.ForeignKey("common.User", on_delete=models.PROTECT, null=True, related_name="+")

    class Meta:
        ordering = ["product_id", "kind", "-id"]

    def __str__(self) -> str:
        return f"{self.get_kind_display()} of {self.product}"


class VolunteerPermit(VersionedModel):
    """A trained volunteer may apply these products on this land until a day, and never mixes."""

    person = models.ForeignKey("crews.Person", on_delete=models.PROTECT, related_name="volunteer_permits")
    products = models.ManyToManyField(Product, related_name="volunteer_permits")
    sites = models.ManyToManyField("sites.Site", related_name="volunteer_permits")
    certificate = models.CharField(max_length=40, blank=True)
    trained_by = models.CharField(max_length=120)
    trained_on = models.DateField()
    first_day = models.DateField()
    last_day = models.DateField(help_text="The end of that calendar year at the latest.")

    class Meta:
        ordering = ["person_id", "-last_day"]
        constraints = [
            models.CheckConstraint(condition=Q(last_day__gte=models.F("first_day")), name="volunteer_permit_in_order"),
            models.CheckConstraint(
                condition=Q(last_day__year=models.F("first_day__year")), name="volunteer_permit_within_a_year"
            ),
        ]

    def __str__(self) -> str:
        return f"{self.person} to {self.last_day}"
