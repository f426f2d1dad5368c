"""Funds, awards and pay for finance; what was planned and posted to look at."""

from django.contrib import admin

from orders.common.admin import AddOnlyAdmin, LookOnlyAdmin, RecordedAdmin
from orders.common.models.user import ADMINISTRATOR, FINANCE
from orders.costs.models import Award, Commitment, Fund, LedgerEntry, OrderFunding, PayRate

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
    """The record of changes is read by more people than may know a person's pay: it leaves the rate out."""

    roles = MONEY
    unrecorded = frozenset({"rate_e4"})
    list_display = ("person", "from_day", "rate_e4")
    list_select_related = ("person",)
    search_fields = ("person__name",)


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
