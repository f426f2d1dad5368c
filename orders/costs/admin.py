"""Funds, awards and pay for finance; what was planned and posted to look at."""

from typing import Any

from django.conf import settings
from django.contrib import admin
from django.http import HttpRequest

from orders.common.admin import AddOnlyAdmin, LookOnlyAdmin, RecordedAdmin, admin_stamp
from orders.common.models.user import ADMINISTRATOR, FINANCE
from orders.common.transactions import writing
from orders.costs.models import (
    Award,
    Bill,
    BillLine,
    Commitment,
    CompTimeAgreement,
    EffortStatement,
    EquipmentHours,
    Fund,
    LedgerEntry,
    MatchRate,
    OrderFunding,
    OvertimeRule,
    PaidPunch,
    PayPeriod,
    PayPeriodLine,
    PayPolicy,
    PayRate,
    PayrollImport,
    PayrollImportLine,
    PurchaseLine,
    PurchaseOrder,
    StockPolicy,
    StockValue,
    Trip,
    Vendor,
)
from orders.costs.services.pay_rates import UNRECORDED
from orders.costs.services.reposting import labor_repost

MONEY = frozenset({FINANCE, ADMINISTRATOR})
DIMENSIONS = ("order_number", "site_code", "patch_code", "method_code", "crew_name", "fund", "award")


@admin.register(Fund)
class FundAdmin(RecordedAdmin):
    roles = MONEY
    list_display = ("name", "code", "budget_cents", "is_suspense")


@admin.register(Award)
class AwardAdmin(RecordedAdmin):
    roles = MONEY
    list_display = ("name", "code", "fund", "first_day", "last_day", "ceiling_cents")
    list_select_related = ("fund",)


@admin.register(PayRate)
class PayRateAdmin(AddOnlyAdmin):
    """The record of changes is read by more people than may know a person's pay: it leaves the rate out. A rate that is
    figured from a wage is set at the desk."""

    roles = MONEY
    unrecorded = UNRECORDED
    fields = ("person", "role", "from_day", "rate_e4")
    list_display = ("person", "role", "from_day", "wage_e4", "rate_e4")
    list_select_related = ("person", "role")
    search_fields = ("person__name",)

    def save_model(self, request: HttpRequest, obj: PayRate, form: Any, change: bool) -> None:
        """Days that are posted already follow, as they do at the desk."""
        stamp = admin_stamp(request)
        with writing():
            super().save_model(request, obj, form, change)
            today = stamp.local_date(settings.PROGRAM_TIME_ZONE)
            labor_repost(person=obj.person, from_day=obj.from_day, posted_on=today, stamp=stamp)


@admin.register(PayPolicy)
class PayPolicyAdmin(LookOnlyAdmin):
    roles = MONEY
    list_display = ("from_day", "overtime_method", "rounding", "spread", "punch_minutes", "comp_time", "source")


@admin.register(OvertimeRule)
class OvertimeRuleAdmin(LookOnlyAdmin):
    """Set at the desk, where the federal limit is held."""

    roles = MONEY
    list_display = (
        "id",
        "jurisdiction",
        "from_day",
        "week_minutes",
        "day_minutes",
        "day_double_minutes",
        "reviewed_by",
    )
    list_select_related = ("jurisdiction",)


@admin.register(CompTimeAgreement)
class CompTimeAgreementAdmin(LookOnlyAdmin):
    roles = MONEY
    list_display = ("person", "first_day", "last_day", "reference")
    list_select_related = ("person",)
    search_fields = ("person__name",)


@admin.register(MatchRate)
class MatchRateAdmin(LookOnlyAdmin):
    roles = MONEY
    list_display = ("person_type", "role", "from_day", "rate_e4", "fringe_e4", "source")
    list_select_related = ("role",)


@admin.register(OrderFunding)
class OrderFundingAdmin(LookOnlyAdmin):
    roles = MONEY
    list_display = ("order", "fund", "award", "share_e4")
    list_select_related = ("order", "fund", "award")


@admin.register(Commitment)
class CommitmentAdmin(LookOnlyAdmin):
    roles = MONEY
    list_display = ("id", "posting_month", "category", "amount_cents", *DIMENSIONS, "is_reversal")
    list_filter = ("category", "fund", "site_code", "is_reversal")
    search_fields = ("order_number", "posting_key")
    list_select_related = ("fund", "award")
    date_hierarchy = "posting_month"
    show_full_result_count = False


@admin.register(LedgerEntry)
class LedgerEntryAdmin(LookOnlyAdmin):
    roles = MONEY
    list_display = ("id", "posting_month", "work_date", "category", "amount_cents", *DIMENSIONS, "reverses")
    list_filter = ("category", "fund", "site_code", "rate_origin")
    search_fields = ("order_number", "posting_key")
    list_select_related = ("fund", "award", "reverses")
    date_hierarchy = "posting_month"
    show_full_result_count = False


@admin.register(PayPeriod)
class PayPeriodAdmin(LookOnlyAdmin):
    roles = MONEY
    list_display = ("first_day", "last_day", "state", "exported_at", "exported_by")
    list_select_related = ("exported_by",)


@admin.register(PayPeriodLine)
class PayPeriodLineAdmin(LookOnlyAdmin):
    roles = MONEY
    list_display = ("period", "person", "work_date", "code", "minutes", "is_adjustment")
    list_filter = ("code", "is_adjustment")
    list_select_related = ("period", "person")
    search_fields = ("person_name",)
    show_full_result_count = False


@admin.register(PaidPunch)
class PaidPunchAdmin(LookOnlyAdmin):
    roles = MONEY
    list_display = ("span", "rule_minutes", "rounded_start", "rounded_end", "true_minutes", "rounded_minutes")
    list_select_related = ("span__person",)
    show_full_result_count = False


@admin.register(PayrollImport)
class PayrollImportAdmin(LookOnlyAdmin):
    roles = MONEY
    list_display = ("period", "revision", "file_name", "total_cents", "ledger_cents", "at", "by")
    list_select_related = ("period", "by")


@admin.register(PayrollImportLine)
class PayrollImportLineAdmin(LookOnlyAdmin):
    roles = MONEY
    list_display = ("loaded", "person", "gross_cents", "employer_cents", "ledger_cents")
    list_select_related = ("loaded__period", "person")


@admin.register(EffortStatement)
class EffortStatementAdmin(LookOnlyAdmin):
    roles = MONEY
    list_display = ("person", "first_day", "last_day", "revision", "state", "minutes", "confirmed_name")
    list_filter = ("state",)
    list_select_related = ("person",)


@admin.register(Vendor)
class VendorAdmin(RecordedAdmin):
    roles = MONEY
    list_display = ("name", "kind", "contact", "is_active")
    search_fields = ("name",)


@admin.register(PurchaseOrder)
class PurchaseOrderAdmin(LookOnlyAdmin):
    roles = MONEY
    list_display = ("number", "vendor", "state", "ordered_on", "wanted_by", "approved_by")
    list_filter = ("state", "vendor")
    list_select_related = ("vendor", "approved_by")


@admin.register(PurchaseLine)
class PurchaseLineAdmin(LookOnlyAdmin):
    roles = MONEY
    list_display = ("order", "number", "category", "description", "fund", "award", "amount_cents")
    list_select_related = ("order", "fund", "award")


@admin.register(Bill)
class BillAdmin(LookOnlyAdmin):
    roles = MONEY
    list_display = ("number", "vendor", "state", "billed_on", "worked_on", "total_cents", "paid_on")
    list_filter = ("state", "vendor")
    list_select_related = ("vendor",)


@admin.register(BillLine)
class BillLineAdmin(LookOnlyAdmin):
    roles = MONEY
    list_display = ("bill", "number", "category", "description", "lot", "fund", "award", "amount_cents")
    list_select_related = ("bill__vendor", "lot__product", "fund", "award")


@admin.register(EquipmentHours)
class EquipmentHoursAdmin(LookOnlyAdmin):
    roles = MONEY
    list_display = ("equipment", "order", "work_date", "operating_minutes", "standby_minutes", "revision", "replaces")
    list_select_related = ("equipment", "order", "replaces__equipment")


@admin.register(Trip)
class TripAdmin(LookOnlyAdmin):
    roles = MONEY
    list_display = ("vehicle", "order", "work_date", "miles_tenths", "person", "revision", "replaces")
    list_select_related = ("order", "person", "replaces")


@admin.register(StockPolicy)
class StockPolicyAdmin(LookOnlyAdmin):
    roles = MONEY
    list_display = ("from_day", "valuation", "source")


@admin.register(StockValue)
class StockValueAdmin(LookOnlyAdmin):
    roles = MONEY
    list_display = ("movement", "product", "amount", "value_cents", "valuation")
    list_filter = ("valuation",)
    list_select_related = ("movement__lot__product", "product")
    show_full_result_count = False
