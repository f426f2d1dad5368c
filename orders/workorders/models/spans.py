"""Time as it was measured or typed outside, before anybody closes an order or a day with it."""

from django.db import models
from django.db.models import Q

from orders.workorders.models.facts import FieldFact
from orders.workorders.models.orders import WorkOrder

TIME_CODES = [
    ("work", "Work on an order"),
    ("drive", "Drive"),
    ("shop", "Shop"),
    ("training", "Training"),
    ("rain", "Rain standby"),
    ("leave", "Leave"),
    ("repair", "Repair"),
]


class TimedSpan(FieldFact):
    """Minutes of one person between two moments, breaks taken out. A correction replaces the span it names and says
    why; `at` is when it was saved."""

    ORIGINS = [("timer", "Timer"), ("typed", "Typed")]
    crew = models.ForeignKey("crews.Crew", on_delete=models.PROTECT, related_name="timed_spans")
    person = models.ForeignKey("crews.Person", on_delete=models.PROTECT, related_name="timed_spans")
    work_date = models.DateField()
    code = models.CharField(max_length=10, choices=TIME_CODES)
    order = models.ForeignKey(WorkOrder, on_delete=models.PROTECT, null=True, related_name="timed_spans")
    visit = models.ForeignKey("planning.Visit", on_delete=models.PROTECT, null=True, related_name="timed_spans")
    prescription = models.ForeignKey(
        "planning.Prescription", on_delete=models.PROTECT, null=True, related_name="timed_spans"
    )
    step = models.CharField(max_length=40, blank=True)
    started_at = models.DateTimeField(null=True)
    ended_at = models.DateTimeField(null=True)
    minutes = models.PositiveIntegerField(help_text="Paid, breaks taken out; 0 strikes the span that it replaces.")
    origin = models.CharField(max_length=6, choices=ORIGINS)
    replaces = models.OneToOneField("self", on_delete=models.PROTECT, null=True, related_name="replaced_by")
    why = models.CharField(max_length=200, blank=True)

    class Meta:
        ordering = ["work_date", "person_id", "started_at", "id"]
        constraints = [
            models.CheckConstraint(
                condition=Q(minutes__gt=0) | Q(replaces__isnull=False), name="timed_span_has_minutes"
            )
        ]

    def __str__(self) -> str:
        return f"{self.person} {self.code} {self.minutes} min on {self.work_date}"
