"""Views that people keep, files made in the background, and reports that are mailed on their own days."""

from django.db import models

from orders.common.models import PublicIdModel, Run, VersionedModel


class SavedView(VersionedModel):
    """A report as somebody asked for it, to be asked again: its filters, cuts and order."""

    owner = models.ForeignKey("common.User", on_delete=models.PROTECT, related_name="+")
    name = models.CharField(max_length=80)
    report = models.CharField(max_length=30)
    query = models.JSONField(default=dict, blank=True)
    is_shared = models.BooleanField(default=False, help_text="For everybody who may see the report")

    class Meta:
        ordering = ["name", "id"]
        constraints = [models.UniqueConstraint(fields=["owner", "name"], name="saved_view_once_a_name")]

    def __str__(self) -> str:
        return self.name


class ExportRun(Run):
    """One file of one report, or the hand-over of a month; `folder_name` holds it below the program's data."""

    kind = "report_export"
    FORMATS = [("csv", "CSV"), ("xlsx", "XLSX"), ("pdf", "PDF"), ("zip", "ZIP")]

    report = models.CharField(max_length=30)
    query = models.JSONField(default=dict, blank=True)
    file_format = models.CharField(max_length=4, choices=FORMATS)
    file_name = models.CharField(max_length=160, blank=True)
    file_path = models.CharField(max_length=200, blank=True, help_text="Below the program's data")
    size_bytes = models.PositiveBigIntegerField(default=0)
    sha256 = models.CharField(max_length=64, blank=True)
    rows_count = models.PositiveIntegerField(default=0)

    class Meta(Run.Meta):
        abstract = False


class ReportSchedule(VersionedModel):
    """A report that is mailed: each day, on a weekday, or on a day of the month, at an hour of the program's clock."""

    EVERY = [("day", "Every day"), ("week", "Every week"), ("month", "Every month")]
    name = models.CharField(max_length=80)
    report = models.CharField(max_length=30)
    query = models.JSONField(default=dict, blank=True)
    file_format = models.CharField(max_length=4, choices=ExportRun.FORMATS)
    every = models.CharField(max_length=5, choices=EVERY)
    on_day = models.PositiveSmallIntegerField(default=1, help_text="Weekday, Monday is 1; or day of the month, to 28")
    at_hour = models.PositiveSmallIntegerField(default=7)
    time_zone = models.CharField(max_length=40, default="America/Kentucky/Louisville")
    recipients = models.ManyToManyField("common.User", related_name="+")
    next_at = models.DateTimeField()
    is_active = models.BooleanField(default=True)
    made_by = models.ForeignKey("common.User", on_delete=models.PROTECT, related_name="+")

    class Meta:
        ordering = ["name", "id"]
        constraints = [
            models.CheckConstraint(condition=models.Q(at_hour__lte=23), name="report_schedule_hour"),
            models.CheckConstraint(condition=models.Q(on_day__gte=1, on_day__lte=28), name="report_schedule_day"),
        ]

    def __str__(self) -> str:
        return self.name


class ReportMail(PublicIdModel):
    """One sending of a schedule to one person: made once with its file, sent once."""

    schedule = models.ForeignKey(ReportSchedule, on_delete=models.PROTECT, related_name="mails")
    due_at = models.DateTimeField()
    recipient = models.ForeignKey("common.User", on_delete=models.PROTECT, related_name="+")
    export = models.ForeignKey(ExportRun, on_delete=models.PROTECT, related_name="mails")
    sent_at = models.DateTimeField(null=True)
    claimed_at = models.DateTimeField(null=True, help_text="By the run that mails it now; an old claim lapses")
    mail_attempts = models.PositiveSmallIntegerField(default=0)
    error = models.CharField(max_length=300, blank=True)

    class Meta:
        ordering = ["-due_at", "id"]
        constraints = [models.UniqueConstraint(fields=["schedule", "due_at", "recipient"], name="report_mail_once")]

    def __str__(self) -> str:
        return f"{self.schedule} of {self.due_at:%Y-%m-%d}"
