"""Seasons, what is asked for in them, plans and visits, to look at; funds and rules of chains to edit."""

from typing import Any

from django.contrib import admin
from django.http import HttpRequest

from orders.common.admin import LookOnlyAdmin, RecordedAdmin, admin_stamp
from orders.planning.chain_rules import EDITABLE as RULE_FIELDS
from orders.planning.chain_rules import chain_rule_add, chain_rule_edit
from orders.planning.funds import EDITABLE as FUND_FIELDS
from orders.planning.funds import season_fund_add, season_fund_edit
from orders.planning.models import ChainRule, ChoiceBatch, PlanRun, Prescription, Season, SeasonFund, Visit


@admin.register(Season)
class SeasonAdmin(LookOnlyAdmin):
    list_display = ("name", "first_day", "last_day", "budget_cents", "budget_level")


@admin.register(SeasonFund)
class SeasonFundAdmin(RecordedAdmin):
    """What a fund may pay in a season; an edit gives out anew what it pays for."""

    list_display = ("code", "name", "season", "budget_cents", "first_day", "last_day")
    list_filter = ("season",)
    list_select_related = ("season",)
    filter_horizontal = ("sites",)

    def get_readonly_fields(self, request: HttpRequest, obj: Any = None) -> tuple[str, ...]:
        return () if obj is None else ("season", "code")

    def save_model(self, request: HttpRequest, obj: SeasonFund, form: Any, change: bool) -> None:
        values = {name: form.cleaned_data[name] for name in FUND_FIELDS}
        if change:
            kept = SeasonFund.objects.get(pk=obj.pk)
            expected = form.cleaned_data["opened_version"]
            season_fund_edit(fund=kept, values=values, expected=expected, stamp=admin_stamp(request))
        else:
            kept = season_fund_add(season=obj.season, code=obj.code, **values, stamp=admin_stamp(request))
        obj.pk, obj.version = kept.pk, kept.version


@admin.register(ChainRule)
class ChainRuleAdmin(RecordedAdmin):
    """What comes after a method. Prescriptions that a rule made stay as they are when it is edited."""

    list_display = (
        "code",
        "after",
        "after_purpose",
        "species",
        "purpose",
        "method",
        "least_days",
        "most_days",
        "share",
    )
    list_filter = ("is_active", "purpose", "after")
    list_select_related = ("after", "method")
    search_fields = ("code", "source")

    def get_readonly_fields(self, request: HttpRequest, obj: Any = None) -> tuple[str, ...]:
        return ("is_active",) if obj is None else ("code",)

    def save_model(self, request: HttpRequest, obj: ChainRule, form: Any, change: bool) -> None:
        values = {name: form.cleaned_data[name] for name in RULE_FIELDS if name in form.cleaned_data}
        if change:
            kept = ChainRule.objects.get(pk=obj.pk)
            expected = form.cleaned_data["opened_version"]
            chain_rule_edit(rule=kept, values=values, expected=expected, stamp=admin_stamp(request))
        else:
            kept = chain_rule_add(code=obj.code, **values, stamp=admin_stamp(request))
        obj.pk, obj.version = kept.pk, kept.version


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
