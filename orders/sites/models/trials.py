"""What a dry run saw of each row, for the people who look at it before a file is taken."""

from django.db import models

from orders.sites.models.surveys import SurveyImport

NEW, KNOWN, BAD, LEFT_OUT = "new", "known", "bad", "left_out"
OUTCOMES = [
    (NEW, "Would be added"),
    (KNOWN, "Known already"),
    (BAD, "Cannot be taken"),
    (LEFT_OUT, "Stays out with another row of its survey"),
]


class TrialRow(models.Model):
    """One row of a file as its dry run saw it: what would become of it, where it lies, and what it said itself. A row
    goes with its trial: when the file is tried again, or was not taken for long."""

    imported = models.ForeignKey(SurveyImport, on_delete=models.CASCADE, related_name="trial_rows")
    number = models.PositiveIntegerField()
    line = models.PositiveIntegerField(null=True)
    outcome = models.CharField(max_length=8, choices=OUTCOMES)
    site_code = models.CharField(max_length=40, blank=True)
    patch_code = models.CharField(max_length=40, blank=True)
    day = models.CharField(max_length=40, blank=True, help_text="As the row says it.")
    new_patch = models.BooleanField(default=False)
    geometry = models.JSONField(null=True, help_text="GeoJSON, WGS 84, made simpler for the map.")
    cells = models.JSONField(default=dict, help_text="The row's own values, of rows that a person should look at.")

    class Meta:
        ordering = ["number"]
        constraints = [models.UniqueConstraint(fields=["imported", "number"], name="trial_row_once")]
        indexes = [models.Index(fields=["imported", "outcome", "number"], name="trial_row_by_outcome")]

    def __str__(self) -> str:
        return f"row {self.number}: {self.outcome}"
