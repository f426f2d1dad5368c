"""Calibration runs, to look at."""

from django.contrib import admin

from orders.calibration.models import CalibrationRun
from orders.common.admin import LookOnlyAdmin


@admin.register(CalibrationRun)
class CalibrationRunAdmin(LookOnlyAdmin):
    list_display = ("public_id", "season", "crew_kind", "rate_book", "state", "draft", "asked_by", "asked_at")
    list_filter = ("state", "crew_kind", "season")
    list_select_related = ("season", "rate_book", "draft", "asked_by")
