"""Who works: people, what they may do, their crews, when they are away, and the standard rates of their roles."""

from django.db import models
from django.db.models import F, Q

from orders.common.models import PublicIdModel, VersionedModel

PERSON_TYPES = [
    ("staff", "Staff"),
    ("seasonal", "Seasonal"),
    ("volunteer", "Volunteer"),
    ("contractor", "Contractor"),
    ("loaned", "Loaned by another employer"),
]


class LaborRole(PublicIdModel):
    """What a person is on the crew; it prices an estimate (what a person is paid stays with finance)."""

    code = models.SlugField(unique=True)
    name = models.CharField(max_length=60)

    class Meta:
        ordering = ["code"]

    def __str__(self) -> str:
        return self.name


class StandardRate(PublicIdModel):
    """Fully burdened rate by role from a day on, in 1/10,000 dollars an hour."""

    role = models.ForeignKey(LaborRole, on_delete=models.PROTECT, related_name="rates")
    from_day = models.DateField()
    rate_e4 = models.PositiveBigIntegerField(help_text="1/10,000 dollars an hour")
    source = models.CharField(max_length=200)

    class Meta:
        ordering = ["role_id", "-from_day"]
        constraints = [models.UniqueConstraint(fields=["role", "from_day"], name="standard_rate_once_a_day")]

    def __str__(self) -> str:
        return f"{self.role} from {self.from_day}"


class Person(VersionedModel):
    name = models.CharField(max_length=120)
    person_type = models.CharField(max_length=12, choices=PERSON_TYPES)
    role = models.ForeignKey(LaborRole, on_delete=models.PROTECT, related_name="people")
    user = models.OneToOneField("common.User", on_delete=models.PROTECT, null=True, blank=True, related_name="person")
    born_on = models.DateField(null=True, blank=True)
    email = models.EmailField(blank=True)
    is_active = models.BooleanField(default=True)

    class Meta:
        ordering = ["name", "id"]
        verbose_name_plural = "people"

    def __str__(self) -> str:
        return self.name


class QualificationKind(PublicIdModel):
    code = models.SlugField(unique=True)
    name = models.CharField(max_length=80)
    is_license = models.BooleanField(default=False)

    class Meta:
        ordering = ["code"]

    def __str__(self) -> str:
        return self.name


class Qualification(VersionedModel):
    person = models.ForeignKey(Person, on_delete=models.PROTECT, related_name="qualifications")
    kind = models.ForeignKey(QualificationKind, on_delete=models.PROTECT, related_name="holders")
    jurisdiction = models.ForeignKey("sites.Jurisdiction", on_delete=models.PROTECT, null=True, blank=True)
    number = models.CharField(max_length=40, blank=True)
    category = models.CharField(max_length=40, blank=True)
    supervised_by = models.ForeignKey(
        Person, on_delete=models.PROTECT, null=True, blank=True, related_name="supervises"
    )
    first_day = models.DateField()
    last_day = models.DateField()

    class Meta:
        ordering = ["person_id", "kind_id", "-last_day"]
        constraints = [models.CheckConstraint(condition=Q(last_day__gte=F("first_day")), name="qualification_in_order")]

    def __str__(self) -> str:
        return f"{self.person}: {self.kind} to {self.last_day}"


class Crew(VersionedModel):
    name = models.CharField(max_length=80, unique=True)
    is_active = models.BooleanField(default=True)
    hours_a_day = models.DecimalField(max_digits=4, decimal_places=2, default=8)
    works_weekdays = models.CharField(max_length=7, default="1111100", help_text="Monday first: 1 works, 0 does not.")

    class Meta:
        ordering = ["name"]

    def __str__(self) -> str:
        return self.name


class CrewMembership(PublicIdModel):
    """Dated: who was on the crew on a day can be told for any day."""

    crew = models.ForeignKey(Crew, on_delete=models.PROTECT, related_name="memberships")
    person = models.ForeignKey(Person, on_delete=models.PROTECT, related_name="memberships")
    is_lead = models.BooleanField(default=False)
    first_day = models.DateField()
    last_day = models.DateField(null=True, blank=True)

    class Meta:
        ordering = ["crew_id", "-is_lead", "person_id", "first_day"]
        constraints = [
            models.CheckConstraint(
                condition=Q(last_day__isnull=True) | Q(last_day__gte=F("first_day")), name="membership_in_order"
            )
        ]

    def __str__(self) -> str:
        return f"{self.person} on {self.crew}"


class Absence(PublicIdModel):
    """A person's days off; without a person, the whole crew's (a holiday, a training day)."""

    crew = models.ForeignKey(Crew, on_delete=models.PROTECT, related_name="absences", null=True, blank=True)
    person = models.ForeignKey(Person, on_delete=models.PROTECT, related_name="absences", null=True, blank=True)
    first_day = models.DateField()
    last_day = models.DateField()
    why = models.CharField(max_length=120)

    class Meta:
        ordering = ["first_day", "id"]
        constraints = [
            models.CheckConstraint(condition=Q(last_day__gte=F("first_day")), name="absence_in_order"),
            models.CheckConstraint(
                condition=Q(crew__isnull=False, person__isnull=True) | Q(crew__isnull=True, person__isnull=False),
                name="absence_of_one",
            ),
        ]

    def __str__(self) -> str:
        return f"{self.person or self.crew} {self.first_day} to {self.last_day}"
