"""Managed property, what grows on it, and what was seen there when."""

from django.db import models
from django.db.models import F, Q

from orders.common.models import PublicIdModel, Run, VersionedModel

YES_NO_UNKNOWN = [("yes", "Yes"), ("no", "No"), ("unknown", "Unknown")]
GROUNDS = [
    ("even", "Even"),
    ("rough", "Rough: rocks, holes or down wood slow the feet"),
    ("obstructed", "Obstructed: hands and tools must work round rocks, trunks or wire"),
    ("unknown", "Unknown"),
]
# Where stems that climb are cut the second time: within a person's reach, standing on the ground or on a low step.
LOWEST_UPPER_CUT_M, HIGHEST_UPPER_CUT_M = 0.3, 6.0
CONTROL_STATES = [
    ("untreated", "Untreated"),
    ("under_treatment", "Under treatment"),
    ("maintenance", "Maintenance"),
    ("eradicated", "Eradicated"),
]


class GrowthForm(PublicIdModel):
    code = models.CharField(max_length=20, unique=True)
    name = models.CharField(max_length=40)
    fruits = models.BooleanField(help_text="Can this form fruit? An evergreen vine on the ground does not.")

    class Meta:
        ordering = ["code"]

    def __str__(self) -> str:
        return self.name


class Jurisdiction(PublicIdModel):
    """Whose rules apply at a site: a state, mostly."""

    code = models.CharField(max_length=10, unique=True)
    name = models.CharField(max_length=80)

    class Meta:
        ordering = ["code"]

    def __str__(self) -> str:
        return self.name


class Species(VersionedModel):
    code = models.CharField(max_length=20, unique=True)
    scientific_name = models.CharField(max_length=120, unique=True)
    common_name = models.CharField(max_length=120)
    evergreen = models.BooleanField(help_text="In leaf when natives are bare, so that it can be sprayed then.")
    resprouts = models.BooleanField(help_text="Cut stems come back unless treated.")
    pulled_stems_reroot = models.CharField(
        max_length=7,
        choices=YES_NO_UNKNOWN,
        default="unknown",
        help_text="Stems that are pulled or cut and left on the ground grow roots again: they must be hauled off.",
    )
    reroot_source = models.CharField(max_length=300, blank=True, default="", help_text="Where that answer comes from.")
    fruit_first_month = models.PositiveSmallIntegerField(null=True, blank=True)
    fruit_first_day = models.PositiveSmallIntegerField(null=True, blank=True)
    fruit_last_month = models.PositiveSmallIntegerField(null=True, blank=True)
    fruit_last_day = models.PositiveSmallIntegerField(null=True, blank=True)
    phenology_source = models.CharField(max_length=300, blank=True)

    class Meta:
        ordering = ["code"]
        verbose_name_plural = "species"
        constraints = [
            models.CheckConstraint(
                condition=Q(pulled_stems_reroot__in=[code for code, _ in YES_NO_UNKNOWN]),
                name="species_reroot_is_answer",
            )
        ]

    def __str__(self) -> str:
        return self.common_name


class Site(VersionedModel):
    code = models.CharField(max_length=20, unique=True)
    name = models.CharField(max_length=120)
    jurisdiction = models.ForeignKey(Jurisdiction, on_delete=models.PROTECT, related_name="sites")
    time_zone = models.CharField(max_length=60, help_text="An IANA name, such as America/New_York.")
    boundary = models.JSONField(help_text="GeoJSON geometry, WGS 84.")
    min_lon = models.FloatField()
    min_lat = models.FloatField()
    max_lon = models.FloatField()
    max_lat = models.FloatField()
    drive_minutes = models.PositiveSmallIntegerField(help_text="One way, from the shop.")
    drive_miles = models.DecimalField(max_digits=6, decimal_places=1, help_text="One way, from the shop.")
    access_notes = models.TextField(blank=True)
    nearest_medical_help = models.CharField(max_length=200, blank=True)

    class Meta:
        ordering = ["code"]

    def __str__(self) -> str:
        return self.name


class ChecklistQuestion(PublicIdModel):
    """What must be answered for a site before an order is issued there."""

    code = models.SlugField(unique=True)
    question = models.CharField(max_length=200)
    sort = models.PositiveSmallIntegerField()

    class Meta:
        ordering = ["sort", "code"]

    def __str__(self) -> str:
        return self.question


class ChecklistAnswer(PublicIdModel):
    """The newest answer counts; older ones stay. `stops_work` means: answered, and no work until it is settled."""

    site = models.ForeignKey(Site, on_delete=models.PROTECT, related_name="checklist_answers")
    question = models.ForeignKey(ChecklistQuestion, on_delete=models.PROTECT, related_name="answers")
    answer = models.TextField()
    stops_work = models.BooleanField(default=False)
    valid_until = models.DateField(null=True, blank=True)
    answered_by = models.ForeignKey("common.User", on_delete=models.PROTECT, related_name="+", null=True)
    answered_at = models.DateTimeField()

    class Meta:
        ordering = ["site_id", "question_id", "-id"]

    def __str__(self) -> str:
        return f"{self.site}: {self.question}"


class CalendarEvent(PublicIdModel):
    """One year's own record of the site's seasons: leaf-off, leaf-out, first spring flowers, first frost."""

    KINDS = [
        ("leaf_off", "Leaf-off"),
        ("ephemerals", "Spring ephemerals emerge"),
        ("leaf_out", "Leaf-out"),
        ("first_frost", "First fall frost"),
    ]
    site = models.ForeignKey(Site, on_delete=models.PROTECT, related_name="calendar")
    kind = models.CharField(max_length=20, choices=KINDS)
    year = models.PositiveSmallIntegerField()
    on = models.DateField()
    source = models.CharField(max_length=200)

    class Meta:
        ordering = ["site_id", "kind", "year"]
        constraints = [models.UniqueConstraint(fields=["site", "kind", "year"], name="calendar_event_once_a_year")]

    def __str__(self) -> str:
        return f"{self.site} {self.get_kind_display()} {self.on}"


class Closure(VersionedModel):
    """Days on which nobody works at the site, and why."""

    site = models.ForeignKey(Site, on_delete=models.PROTECT, related_name="closures")
    first_day = models.DateField()
    last_day = models.DateField()
    why = models.CharField(max_length=200)

    class Meta:
        ordering = ["site_id", "first_day"]
        constraints = [models.CheckConstraint(condition=Q(last_day__gte=F("first_day")), name="closure_in_order")]

    def __str__(self) -> str:
        return f"{self.site} closed {self.first_day} to {self.last_day}"


class Patch(VersionedModel):
    """A mapped infestation. Its shape and terrain belong to its surveys; what is wanted of it stands here."""

    site = models.ForeignKey(Site, on_delete=models.PROTECT, related_name="patches")
    code = models.CharField(max_length=40)
    name = models.CharField(max_length=120, blank=True)
    target_cover = models.FloatField(default=0.05, help_text="Share of ground that the wood can live with, 0 to 1.")
    control_state = models.CharField(max_length=20, choices=CONTROL_STATES, default="untreated")

    class Meta:
        ordering = ["site_id", "code"]
        verbose_name_plural = "patches"
        constraints = [
            models.UniqueConstraint(fields=["site", "code"], name="patch_code_once_a_site"),
            models.CheckConstraint(condition=Q(target_cover__gte=0, target_cover__lte=1), name="patch_target_is_share"),
        ]

    def __str__(self) -> str:
        return f"{self.site.code} {self.code}"


class SurveyImports(models.Manager["SurveyImport"]):
    """Leaves the file's bytes in the database until somebody reads them: lists and sweeps do not."""

    def get_queryset(self) -> models.QuerySet["SurveyImport"]:
        return super().get_queryset().defer("file_bytes")


class SurveyImport(Run):
    """One file handed in: what it was, how it was read, what came of each row.

    `errors` and `warnings` are lists of {row, line, field, code, message}; row is null for the file as a whole. Rows
    are counted as they stand in the file, of which several may make one survey. In a dry run the counts say what would
    have been added.
    """

    kind = "survey_import"

    file_name = models.CharField(max_length=200)
    file_sha256 = models.CharField(max_length=64)
    file_bytes = models.BinaryField()
    layer = models.CharField(max_length=120, blank=True)
    mapping = models.JSONField(null=True)
    dry_run = models.BooleanField(default=False)
    keep_good_rows = models.BooleanField(default=False, help_text="Take the good rows even where others are bad.")
    rows_read = models.PositiveIntegerField(default=0)
    rows_added = models.PositiveIntegerField(default=0)
    rows_known = models.PositiveIntegerField(default=0)
    surveys_added = models.PositiveIntegerField(default=0)
    patches_added = models.PositiveIntegerField(default=0)
    errors = models.JSONField(default=list)
    warnings = models.JSONField(default=list)
    refused = models.BooleanField(default=False)
    undone_at = models.DateTimeField(null=True)

    objects = SurveyImports()

    class Meta(Run.Meta):
        abstract = False
        base_manager_name = "objects"


class Survey(PublicIdModel):
    """What one person saw of one patch on one day. Never overwritten; undoing an import voids its rows."""

    patch = models.ForeignKey(Patch, on_delete=models.PROTECT, related_name="surveys")
    observed_on = models.DateField()
    observer = models.CharField(max_length=120)
    geometry = models.JSONField(help_text="GeoJSON geometry, WGS 84, 7 decimals.")
    min_lon = models.FloatField(db_index=True)
    min_lat = models.FloatField(db_index=True)
    max_lon = models.FloatField()
    max_lat = models.FloatField()
    gross_area_m2 = models.FloatField()
    slope_deg = models.FloatField(null=True, blank=True)
    ground = models.CharField(
        max_length=10,
        choices=GROUNDS,
        default="unknown",
        help_text="How the ground is underfoot; unknown counts as even.",
    )
    wet_ground = models.CharField(max_length=7, choices=YES_NO_UNKNOWN, default="unknown")
    distance_to_water_m = models.FloatField(null=True, blank=True)
    desirable_tree_roots = models.CharField(max_length=7, choices=YES_NO_UNKNOWN, default="unknown")
    evergreen_natives = models.CharField(max_length=7, choices=YES_NO_UNKNOWN, default="unknown")
    spring_ephemerals = models.CharField(max_length=7, choices=YES_NO_UNKNOWN, default="unknown")
    minutes_from_gate = models.FloatField(null=True, blank=True)
    notes = models.TextField(blank=True)
    patch_said = models.JSONField(
        default=dict,
        blank=True,
        help_text="What the row says of the patch itself: patch_name, target_cover_percent, control_state.",
    )
    fingerprint = models.CharField(max_length=64, help_text="Of the content: the same row read again is known by it.")
    source = models.ForeignKey(SurveyImport, on_delete=models.PROTECT, null=True, related_name="surveys")
    source_row = models.PositiveIntegerField(null=True)
    recorded_at = models.DateTimeField()
    voided_at = models.DateTimeField(null=True)
    void_reason = models.CharField(max_length=200, blank=True)

    class Meta:
        ordering = ["patch_id", "-observed_on", "-id"]
        constraints = [
            models.UniqueConstraint(
                fields=["fingerprint"], condition=Q(voided_at__isnull=True), name="survey_read_once"
            ),
            models.CheckConstraint(condition=Q(gross_area_m2__gt=0), name="survey_area_is_positive"),
            models.CheckConstraint(
                condition=Q(ground__in=[code for code, _ in GROUNDS]), name="survey_ground_is_known_word"
            ),
        ]

    def __str__(self) -> str:
        return f"{self.patch} on {self.observed_on}"


class SurveyComponent(PublicIdModel):
    """One species in one growth form within the patch: an infestation often holds several."""

    survey = models.ForeignKey(Survey, on_delete=models.PROTECT, related_name="components")
    species = models.ForeignKey(Species, on_delete=models.PROTECT, related_name="components")
    growth_form = models.ForeignKey(GrowthForm, on_delete=models.PROTECT, related_name="components")
    infested_area_m2 = models.FloatField()
    cover_low = models.FloatField()
    cover_likely = models.FloatField()
    cover_high = models.FloatField()
    cover_as_entered = models.CharField(max_length=60, blank=True, help_text="A percent, or the code of a class.")
    cover_is_class = models.BooleanField()
    cover_scheme = models.CharField(max_length=40, blank=True, help_text="Of the class that was entered.")
    stems_small = models.PositiveIntegerField(null=True, help_text="Under 2.5 cm")
    stems_medium = models.PositiveIntegerField(null=True, help_text="2.5 to 7.5 cm")
    stems_large = models.PositiveIntegerField(null=True, help_text="Over 7.5 cm")
    height_m = models.FloatField(null=True)
    cut_height_m = models.FloatField(null=True, help_text="Of the upper of the two cuts through a climbing stem.")
    host_trees = models.PositiveIntegerField(null=True)
    fertile = models.CharField(max_length=7, choices=YES_NO_UNKNOWN, default="unknown")

    class Meta:
        ordering = ["survey_id", "id"]
        constraints = [
            models.UniqueConstraint(fields=["survey", "species", "growth_form"], name="component_once"),
            models.CheckConstraint(
                condition=Q(cover_low__gte=0, cover_likely__gte=F("cover_low"), cover_high__gte=F("cover_likely"))
                & Q(cover_high__lte=1),
                name="component_cover_in_order",
            ),
            models.CheckConstraint(condition=Q(infested_area_m2__gte=0), name="component_area_not_negative"),
            models.CheckConstraint(
                condition=Q(cut_height_m__isnull=True)
                | Q(cut_height_m__gte=LOWEST_UPPER_CUT_M, cut_height_m__lte=HIGHEST_UPPER_CUT_M),
                name="component_cut_within_reach",
            ),
        ]

    def __str__(self) -> str:
        return f"{self.species.code} {self.growth_form.code}"
