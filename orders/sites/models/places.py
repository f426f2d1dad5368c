"""The ground: species, managed property, mapped infestations, and what must be answered before work."""

from typing import ClassVar

from django.db import models
from django.db.models import Q

from orders.common.models import PublicIdModel, VersionedModel

YES_NO_UNKNOWN = [("yes", "Yes"), ("no", "No"), ("unknown", "Unknown")]
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
    is_active = models.BooleanField(default=True)

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
    flower_first_month = models.PositiveSmallIntegerField(null=True, blank=True)
    flower_first_day = models.PositiveSmallIntegerField(null=True, blank=True)
    flower_last_month = models.PositiveSmallIntegerField(null=True, blank=True)
    flower_last_day = models.PositiveSmallIntegerField(null=True, blank=True)
    flower_to_fruit_days = models.PositiveSmallIntegerField(
        null=True, blank=True, help_text="From open flowers to fruit that may be spread."
    )
    flower_source = models.CharField(max_length=300, blank=True, default="", help_text="Of flowering and its days.")
    leaf_drop_month = models.PositiveSmallIntegerField(null=True, blank=True)
    leaf_drop_day = models.PositiveSmallIntegerField(null=True, blank=True)
    leaf_drop_source = models.CharField(
        max_length=300, blank=True, default="", help_text="Where it holds its leaves after natives have dropped theirs."
    )
    is_active = models.BooleanField(default=True)

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
    medical_phone = models.CharField(max_length=40, blank=True)
    medical_address = models.CharField(max_length=200, blank=True)
    meeting_lon = models.FloatField(null=True, blank=True, help_text="Where an ambulance is met.")
    meeting_lat = models.FloatField(null=True, blank=True)
    emergency_access = models.TextField(blank=True, help_text="How an ambulance comes in; gates, keys, landing place.")
    radio_or_phone = models.CharField(max_length=120, blank=True, help_text="What works there.")
    worker_protection_rules = models.BooleanField(
        default=False,
        help_text="Nursery, commercial forest and the like: the restricted-entry interval applies, not the label's "
        "rule for other uses.",
    )

    class Meta:
        ordering = ["code"]

    def __str__(self) -> str:
        return self.name


class ChecklistQuestion(PublicIdModel):
    """What must be answered for a site before an order is issued there."""

    code = models.SlugField(unique=True)
    question = models.CharField(max_length=200)
    sort = models.PositiveSmallIntegerField()
    is_active = models.BooleanField(default=True)

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


class Patch(VersionedModel):
    """A mapped infestation. Its shape and terrain belong to its surveys; what is wanted of it stands here."""

    site = models.ForeignKey(Site, on_delete=models.PROTECT, related_name="patches")
    code = models.CharField(max_length=40)
    name = models.CharField(max_length=120, blank=True)
    target_cover = models.FloatField(default=0.05, help_text="Share of ground that the wood can live with, 0 to 1.")
    control_state = models.CharField(max_length=20, choices=CONTROL_STATES, default="untreated")
    ended_on = models.DateField(
        null=True, blank=True, help_text="From this day others stand in its place: it was split or merged."
    )

    class Meta:
        ordering = ["site_id", "code"]
        verbose_name_plural = "patches"
        constraints = [
            models.UniqueConstraint(fields=["site", "code"], name="patch_code_once_a_site"),
            models.CheckConstraint(condition=Q(target_cover__gte=0, target_cover__lte=1), name="patch_target_is_share"),
        ]

    def __str__(self) -> str:
        return f"{self.site.code} {self.code}"


class PatchSuccession(PublicIdModel):
    """A patch that ended and one that came of it. All rows of one split or merge share `event`; undone, they stay."""

    KINDS: ClassVar = [("split", "Split"), ("merge", "Merge")]
    event = models.UUIDField(db_index=True)
    kind = models.CharField(max_length=5, choices=KINDS)
    before = models.ForeignKey(Patch, on_delete=models.PROTECT, related_name="became")
    after = models.ForeignKey(Patch, on_delete=models.PROTECT, related_name="came_of")
    on = models.DateField()
    by = models.ForeignKey("common.User", on_delete=models.PROTECT, null=True, related_name="+")
    at = models.DateTimeField()
    reason = models.CharField(max_length=200, blank=True)
    undone_at = models.DateTimeField(null=True)

    class Meta:
        ordering = ["at", "id"]
        constraints = [
            models.UniqueConstraint(fields=["event", "before", "after"], name="patch_succession_once"),
            models.CheckConstraint(condition=Q(kind__in=["split", "merge"]), name="patch_succession_is_known_kind"),
        ]

    def __str__(self) -> str:
        return f"{self.before} became {self.after}"
