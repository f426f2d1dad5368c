"""The schedule: rows that a program may edit."""

from datetime import time

from django.db import models
from django.db.models import Q
from django.utils.formats import time_format

from orders.common.models import VersionedModel
from orders.reminders.models.deadlines import KINDS

FROM_DUE, FROM_FRUIT, FROM_KNOWN = "due", "fruit", "known"
HIGHEST_RUNG = 3


class ReminderStep(VersionedModel):
    """One step of the schedule: a moment, and to whom. One step a moment, so that the latest is never two.

    A rung is a stretch of the ladder: ahead of the day (1), from the day on (2), told to who answers for it (3).
    """

    COUNTS_FROM = [
        (FROM_DUE, "The due day"),
        (FROM_FRUIT, "Fruit was seen: at once"),
        (FROM_KNOWN, "It became known: at once"),
    ]
    kind = models.CharField(max_length=10, choices=KINDS, default="seed")
    code = models.SlugField()
    counts_from = models.CharField(max_length=10, choices=COUNTS_FROM, default=FROM_DUE)
    days_before = models.SmallIntegerField(default=0, help_text="Days before the due day; negative: after it.")
    local_time = models.TimeField(default=time(8), help_text="By the site's clock; without a site, the program's.")
    rung = models.PositiveSmallIntegerField(
        default=1, help_text="1 ahead of the day, 2 from the day on, 3 escalated to who answers for it."
    )
    to_coordinators = models.BooleanField(default=False)
    to_leads = models.BooleanField(default=False, help_text="Leads of crews with an issued order there.")
    to_supervisors = models.BooleanField(default=False, help_text="Pesticide supervisors.")
    to_person = models.BooleanField(default=False, help_text="The person whose license or training it is.")
    until_acknowledged = models.BooleanField(
        default=False, help_text="Not sent to who acknowledged an earlier step of the same rung."
    )
    escalates = models.BooleanField(
        default=False, help_text="Sent only where nobody acknowledged a step of the rung below."
    )
    bypasses_quiet = models.BooleanField(default=False, help_text="Somebody may be hurt: mailed in quiet hours too.")
    text = models.CharField(max_length=200)
    source = models.CharField(max_length=300, blank=True)
    is_active = models.BooleanField(default=True)

    class Meta:
        ordering = ["kind", "counts_from", "-days_before", "local_time"]
        constraints = [
            models.UniqueConstraint(fields=["kind", "code"], name="reminder_step_code_once"),
            models.UniqueConstraint(
                fields=["kind", "counts_from", "days_before", "local_time"],
                condition=Q(is_active=True),
                name="reminder_step_moment_once",
            ),
            models.CheckConstraint(
                condition=Q(to_coordinators=True) | Q(to_leads=True) | Q(to_supervisors=True) | Q(to_person=True),
                name="reminder_step_tells_somebody",
            ),
            models.CheckConstraint(condition=Q(rung__gte=1, rung__lte=HIGHEST_RUNG), name="reminder_step_rung"),
        ]

    def __str__(self) -> str:
        return self.code

    @property
    def audience_words(self) -> list[str]:
        told = (
            (self.to_coordinators, "coordinators"),
            (self.to_leads, "crew leads"),
            (self.to_supervisors, "pesticide supervisors"),
            (self.to_person, "the person"),
        )
        return [words for is_told, words in told if is_told]

    @property
    def moment_words(self) -> str:
        if self.counts_from != FROM_DUE:
            return "at once"
        at = time_format(self.local_time, "P")
        if self.days_before == 0:
            return f"on the due day at {at}"
        days = abs(self.days_before)
        return f"{days} day{'' if days == 1 else 's'} {'before' if self.days_before > 0 else 'after'}, at {at}"
