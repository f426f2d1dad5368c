"""Deadlines and notices to look at, the schedule of steps to edit."""

from django.contrib import admin

from orders.common.admin import LookOnlyAdmin, RecordedAdmin
from orders.reminders.models import Deadline, Notice, ReminderStep


@admin.register(Deadline)
class DeadlineAdmin(LookOnlyAdmin):
    list_display = ("patch", "species", "growth_form", "year", "due_on", "state", "done_on")
    list_filter = ("state", "year", "patch__site")
    search_fields = ("patch__code", "patch__site__name", "species__common_name")
    list_select_related = ("patch__site", "species", "growth_form")
    date_hierarchy = "due_on"


@admin.register(Notice)
class NoticeAdmin(LookOnlyAdmin):
    list_display = ("subject", "user", "step", "made_at", "handed_over_at", "acknowledged_at")
    list_filter = ("step", "made_at")
    search_fields = ("subject", "user__username")
    list_select_related = ("user", "step")


@admin.register(ReminderStep)
class ReminderStepAdmin(RecordedAdmin):
    """A step is switched off, not deleted: notices point at it."""

    list_display = ("code", "counts_from", "days_before", "local_time", "audience", "text", "is_active")
    list_filter = ("audience", "is_active")
