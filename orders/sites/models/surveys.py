"""What was seen where and when, and the files that told it."""

from django.db import models
from django.db.models import F, Q

from orders.common.models import PublicIdModel, Run, VersionedModel
from orders.sites.models.places import YES_NO_UNKNOWN, GrowthForm, Patch, Species

GROUNDS = [
    ("even", "Even"),
    ("rough", "Rough: rocks, holes or down wood slow the feet"),
    ("obstructed", "Obstructed: hands and tools must work round rocks, trunks or wire"),
    ("unknown", "Unknown"),
]
REPRODUCTIVE_CONDITIONS = [
    ("unknown", "Unknown"),
    ("none", "Neither flowers nor fruit"),
    ("flowers", "Flowers"),
    ("fruit", "Fruit"),
]
# Where stems that climb are cut the second time: within a person's reach, standing on the ground or on a low step.
LOWEST_UPPER_CUT_M, HIGHEST_UPPER_CUT_M = 0.3, 6.0


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
    is_trial = models.BooleanField(default=False, help_text="A dry run of a file on its way in, shown with that file.")
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
    reproductive_condition = models.CharField(
        max_length=7,
        choices=REPRODUCTIVE_CONDITIONS,
        default="unknown",
        help_text="What was on the plant on the day (Darwin Core's reproductiveCondition).",
    )

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
            models.CheckConstraint(
                condition=Q(reproductive_condition__in=[code for code, _ in REPRODUCTIVE_CONDITIONS]),
                name="component_condition_is_known_word",
            ),
        ]

    def __str__(self) -> str:
        return f"{self.species.code} {self.growth_form.code}"


class PatchPhoto(PublicIdModel):
    """A picture that the office keeps of a patch, by the day on which it was taken. The bytes lie beside the database;
    a picture that was taken down stays on record."""

    patch = models.ForeignKey(Patch, on_delete=models.PROTECT, related_name="photos")
    survey = models.ForeignKey(Survey, on_delete=models.PROTECT, null=True, blank=True, related_name="photos")
    taken_on = models.DateField()
    caption = models.CharField(max_length=200, blank=True)
    content_type = models.CharField(max_length=40)
    size_bytes = models.PositiveIntegerField()
    sha256 = models.CharField(max_length=64)
    width_px = models.PositiveIntegerField()
    height_px = models.PositiveIntegerField()
    by = models.ForeignKey("common.User", on_delete=models.PROTECT, null=True, related_name="+")
    at = models.DateTimeField()
    removed_at = models.DateTimeField(null=True)

    class Meta:
        ordering = ["-taken_on", "-id"]
        constraints = [
            models.UniqueConstraint(
                fields=["patch", "sha256"], condition=Q(removed_at__isnull=True), name="patch_photo_once"
            )
        ]

    def __str__(self) -> str:
        return f"{self.patch} on {self.taken_on}"


class SurveyFiles(models.Manager["SurveyFile"]):
    """Leaves the file's bytes in the database until somebody reads them."""

    def get_queryset(self) -> models.QuerySet["SurveyFile"]:
        return super().get_queryset().defer("file_bytes")


class SurveyFile(PublicIdModel):
    """A file on its way in: looked into (`found` says its layers, columns and first rows), and not read as surveys yet.
    `trial` is the newest dry run of it, `taken` the import that took it."""

    file_name = models.CharField(max_length=200)
    file_sha256 = models.CharField(max_length=64)
    file_bytes = models.BinaryField()
    found = models.JSONField(default=dict)
    mapping = models.JSONField(null=True, help_text="How it may be read; a suggestion until `matched_at`.")
    matched_at = models.DateTimeField(null=True)
    layer = models.CharField(max_length=120, blank=True)
    added_by = models.ForeignKey("common.User", on_delete=models.PROTECT, related_name="+")
    added_at = models.DateTimeField()
    trial = models.ForeignKey(SurveyImport, on_delete=models.SET_NULL, null=True, related_name="+")
    taken = models.ForeignKey(SurveyImport, on_delete=models.SET_NULL, null=True, related_name="+")

    objects = SurveyFiles()

    class Meta:
        ordering = ["-id"]
        base_manager_name = "objects"

    def __str__(self) -> str:
        return self.file_name


class SurveyMapping(VersionedModel):
    """How the columns of one program's files are read, kept by name for the next file of the same kind."""

    name = models.CharField(max_length=120, unique=True)
    columns = models.JSONField(default=list, help_text="The columns of the file that it was made for.")
    mapping = models.JSONField()

    class Meta:
        ordering = ["name"]

    def __str__(self) -> str:
        return self.name
