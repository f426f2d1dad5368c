"""What closed orders teach about the rates: background runs with the evidence that they looked at, frozen."""

from django.db import models

from orders.common.models import Run
from orders.estimates.models import RateBook


class CalibrationRun(Run):
    """One look at a season's closed orders. `rate_book` is the book that they were estimated with."""

    kind = "calibration"

    season = models.ForeignKey("planning.Season", on_delete=models.PROTECT, related_name="calibration_runs")
    crew_kind = models.CharField(max_length=10, choices=RateBook.CREW_KINDS, default="staff")
    rate_book = models.ForeignKey(
        "estimates.RateBook", on_delete=models.PROTECT, null=True, related_name="calibration_runs"
    )
    evidence = models.JSONField(default=list, help_text="The orders that were looked at, as they stood.")
    left_out = models.JSONField(default=list, help_text="Closed orders that could not be used, each with the reason.")
    result = models.JSONField(null=True, help_text="Ratios, intervals, weights and spreads.")
    draft = models.ForeignKey(
        "estimates.RateBook", on_delete=models.SET_NULL, null=True, related_name="drafted_by_calibration"
    )

    class Meta(Run.Meta):
        abstract = False
