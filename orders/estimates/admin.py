"""Methods, rate books and estimates, to look at: a rate book is made as a draft and put in force by its own verbs."""

from django.contrib import admin

from orders.common.admin import LookOnlyAdmin
from orders.estimates.models import Estimate, Method, Rate, RateBook


@admin.register(Method)
class MethodAdmin(LookOnlyAdmin):
    list_display = ("name", "code", "uses_herbicide", "qualification", "default_mix")
    list_select_related = ("qualification", "default_mix")


@admin.register(RateBook)
class RateBookAdmin(LookOnlyAdmin):
    list_display = ("name", "edition", "crew_kind", "state", "in_force_from", "in_force_until")
    list_filter = ("state", "crew_kind", "name")


@admin.register(Rate)
class RateAdmin(LookOnlyAdmin):
    list_display = ("line", "kind", "method", "step", "growth_form", "driver", "value", "unit", "source", "book")
    list_filter = ("book", "kind", "method")
    search_fields = ("step", "source")
    list_select_related = ("book",)


@admin.register(Estimate)
class EstimateAdmin(LookOnlyAdmin):
    list_display = ("survey", "method", "hours_low", "hours_likely", "hours_high", "total_cents", "rate_book", "at")
    list_filter = ("method", "rate_book", "survey__patch__site")
    search_fields = ("survey__patch__code",)
    list_select_related = ("survey__patch__site", "method", "rate_book")
    show_full_result_count = False
