"""Methods, rate books and estimates, to look at: a rate book is made as a draft and put in force by its own verbs.
What equipment methods need may be edited."""

from typing import Any

from django.contrib import admin
from django.http import HttpRequest

from orders.common.admin import LookOnlyAdmin, RecordedAdmin, admin_stamp
from orders.estimates.models import Estimate, Method, MethodEquipment, Rate, RateBook
from orders.estimates.services import method_equipment_set


@admin.register(Method)
class MethodAdmin(LookOnlyAdmin):
    list_display = ("name", "code", "uses_herbicide", "qualification", "default_mix")
    list_select_related = ("qualification", "default_mix")


@admin.register(MethodEquipment)
class MethodEquipmentAdmin(RecordedAdmin):
    list_display = ("method", "equipment", "units_per_crew")
    list_filter = ("equipment",)
    list_select_related = ("method", "equipment")

    def get_readonly_fields(self, request: HttpRequest, obj: Any = None) -> tuple[str, ...]:
        return () if obj is None else ("method", "equipment")

    def save_model(self, request: HttpRequest, obj: MethodEquipment, form: Any, change: bool) -> None:
        held = {row.equipment: row.units_per_crew for row in obj.method.equipment_needs.select_related("equipment")}
        units = {**held, obj.equipment: obj.units_per_crew}
        method_equipment_set(method=obj.method, units=units, stamp=admin_stamp(request))
        obj.pk = obj.method.equipment_needs.get(equipment=obj.equipment).pk


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
