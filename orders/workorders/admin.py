"""Orders and what was stated of them, to look at: they change by their own verbs alone."""

from django.contrib import admin

from orders.common.admin import LookOnlyAdmin
from orders.workorders.models import (
    ApplicationRecord,
    CloseOut,
    LimitOverride,
    MaterialUse,
    RecordProfile,
    TimeEntry,
    WorkOrder,
)


@admin.register(WorkOrder)
class WorkOrderAdmin(LookOnlyAdmin):
    list_display = ("number", "state", "site", "crew", "first_day", "last_day", "closed_at")
    list_filter = ("state", "site", "crew", "season")
    search_fields = ("number",)
    list_select_related = ("site", "crew")
    date_hierarchy = "first_day"


@admin.register(CloseOut)
class CloseOutAdmin(LookOnlyAdmin):
    list_display = ("order", "revision", "work_date", "confirmed_by", "by", "received_at", "reason")
    list_filter = ("order__site", "order__crew")
    search_fields = ("order__number", "confirmed_by")
    list_select_related = ("order", "by")
    date_hierarchy = "work_date"


@admin.register(TimeEntry)
class TimeEntryAdmin(LookOnlyAdmin):
    list_display = ("person", "work_date", "minutes", "origin", "step", "close_out")
    list_filter = ("origin", "close_out__order__site")
    search_fields = ("person__name", "close_out__order__number")
    list_select_related = ("person", "close_out__order")
    date_hierarchy = "work_date"


@admin.register(MaterialUse)
class MaterialUseAdmin(LookOnlyAdmin):
    list_display = ("lot", "work_date", "entered_value", "entered_unit", "close_out")
    list_filter = ("lot__product", "close_out__order__site")
    search_fields = ("lot__product__name", "lot__lot_number", "close_out__order__number")
    list_select_related = ("lot__product", "close_out__order")
    date_hierarchy = "work_date"


@admin.register(LimitOverride)
class LimitOverrideAdmin(LookOnlyAdmin):
    list_display = ("order", "limit_kind", "limit", "by", "at", "reason")
    list_filter = ("limit_kind",)
    list_select_related = ("order", "by")


@admin.register(RecordProfile)
class RecordProfileAdmin(LookOnlyAdmin):
    """The pesticide supervisor changes them on the page of rules: a new one from a day on."""

    list_display = ("jurisdiction", "first_day", "last_day", "counts", "days", "keep_years", "reviewed_by", "source")
    list_filter = ("jurisdiction",)


@admin.register(ApplicationRecord)
class ApplicationRecordAdmin(LookOnlyAdmin):
    list_display = ("work_date", "site", "responsible", "revision", "signed_by", "due_on", "retain_until")
    list_filter = ("site", "profile__jurisdiction")
    search_fields = ("signed_by", "responsible__name", "batch__container")
    list_select_related = ("site", "responsible")
    date_hierarchy = "work_date"
