"""Deadlines and notices to look at, the schedule of steps to edit."""

from django.contrib import admin

from orders.common.admin import LookOnlyAdmin, RecordedAdmin
from orders.reminders.models import CalendarFeed, Deadline, Digest, Notice, ReminderPreference, ReminderStep


@admin.register(Deadline)
class DeadlineAdmin(LookOnlyAdmin):
    list_display = ("kind", "title", "site", "due_on", "state", "done_on")
    list_filter = ("kind", "state", "year", "site")
    search_fields = ("title", "site__name", "because")
    list_select_related = ("site",)
    date_hierarchy = "due_on"


@admin.register(Notice)
class NoticeAdmin(LookOnlyAdmin):
    list_display = ("subject", "user", "step", "made_at", "handed_over_at", "mail_attempts", "acknowledged_at")
    list_filter = ("step", "made_at")
    search_fields = ("subject", "user__username")
    list_select_related = ("user", "step")


@admin.register(ReminderStep)
class ReminderStepAdmin(RecordedAdmin):
    """A step is switched off, not deleted: notices point at it."""

    list_display = ("kind", "code", "counts_from", "days_before", "local_time", "rung", "text", "is_active")
    list_filter = ("kind", "is_active")


@admin.register(Digest)
class DigestAdmin(LookOnlyAdmin):
    list_display = ("user", "made_at", "handed_over_at", "mail_attempts")
    list_select_related = ("user",)


@admin.register(ReminderPreference)
class ReminderPreferenceAdmin(LookOnlyAdmin):
    list_display = ("user", "time_zone", "quiet_from", "quiet_until", "digest_above")
    list_select_related = ("user",)


@admin.register(CalendarFeed)
class CalendarFeedAdmin(LookOnlyAdmin):
    list_display = ("user", "made_at", "revoked_at")
    list_select_related = ("user",)
    exclude = ("secret_hash",)
