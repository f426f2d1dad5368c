"""How soon the record of a pesticide use must be written, by whose rule, from which day on."""

from django.db import models
from django.db.models import F, Q

from orders.common.models import VersionedModel


class RecordRule(VersionedModel):
    """A dated rule. `jurisdiction` is its code; empty: where no rule is known, the program's own."""

    COUNTS = [
        ("same_day", "The day of the use"),
        ("business_days", "Business days: Monday to Friday less federal holidays"),
        ("days", "Days of the calendar"),
    ]
    jurisdiction = models.CharField(max_length=10, blank=True)
    counts = models.CharField(max_length=14, choices=COUNTS)
    days = models.PositiveSmallIntegerField(default=0)
    first_day = models.DateField(help_text="For uses from this day on.")
    last_day = models.DateField(null=True, blank=True)
    scope = models.CharField(max_length=200, blank=True, help_text="Whom and what it binds.")
    source = models.CharField(max_length=300)

    class Meta:
        ordering = ["jurisdiction", "first_day"]
        constraints = [
            models.UniqueConstraint(fields=["jurisdiction", "first_day"], name="record_rule_once_a_day"),
            models.CheckConstraint(
                condition=Q(last_day__isnull=True) | Q(last_day__gte=F("first_day")), name="record_rule_in_order"
            ),
        ]

    def __str__(self) -> str:
        return f"{self.jurisdiction or 'elsewhere'} from {self.first_day}"
