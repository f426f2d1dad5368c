"""Seasons, what is asked for in them, plans and visits, to look at."""

from django.contrib import admin

from orders.common.admin import LookOnlyAdmin
from orders.planning.models import ChoiceBatch, PlanRun, Prescription, Season, Visit


@admin.register(Season)
class SeasonAdmin(LookOnlyAdmin):
    list_display = ("name", "first_day", "last_day", "budget_cents")


@admin.register(Prescription)
class PrescriptionAdmin(LookOnlyAdmin):
    list_display = ("patch", "method", "state", "origin", "first_day", "last_day", "share_left", "is_own_choice")
    list_filter = ("state", "origin", "method", "season", "patch__site")
    search_fields = ("patch__code", "patch__site__name")
    list_select_related = ("patch__site", "method")


@admin.register(ChoiceBatch)
class ChoiceBatchAdmin(LookOnlyAdmin):
    list_display = ("season", "method", "asked", "state", "made_by", "made_at", "undone_at")
    list_filter = ("state", "season")
    list_select_related = ("season", "method", "made_by")


@admin.register(PlanRun)
class PlanRunAdmin(LookOnlyAdmin):
    list_display = ("public_id", "season", "state", "attempt", "asked_by", "asked_at", "finished_at", "accepted_at")
    list_filter = ("state", "season")
    list_select_related = ("season", "asked_by")


@admin.register(Visit)
class VisitAdmin(LookOnlyAdmin):
    list_display = ("day", "crew", "site", "state", "not_done_reason")
    list_filter = ("state", "crew", "site", "season")
    list_select_related = ("crew", "site")
    date_hierarchy = "day"
