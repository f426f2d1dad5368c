"""Products and labels, mixes, prices; stock to look at."""

from typing import Any

from django.contrib import admin
from django.db.models import QuerySet
from django.http import HttpRequest

from orders.common.admin import AddOnlyAdmin, LookOnlyAdmin, PartsInline, RecordedAdmin, admin_stamp
from orders.supplies.models import (
    Equipment,
    LabelCap,
    LabelUse,
    LabelWeather,
    Mix,
    MixPart,
    Price,
    Product,
    ProductDocument,
    ProductIngredient,
    StockLot,
    StockMovement,
    VolunteerPermit,
)
from orders.supplies.permits import permit_add


class IngredientInline(PartsInline):
    model = ProductIngredient


class CapInline(PartsInline):
    model = LabelCap


class UseInline(PartsInline):
    model = LabelUse


class WeatherInline(PartsInline):
    model = LabelWeather


class MixPartInline(PartsInline):
    model = MixPart


@admin.register(Product)
class ProductAdmin(RecordedAdmin):
    """A reviewed copy of a label's facts. The label on the container is the law."""

    list_display = ("name", "code", "registration_number", "label_version", "reviewed_on", "reviewed_by")
    list_filter = ("is_herbicide", "formulation", "soil_active", "aquatic")
    search_fields = ("name", "code", "registration_number")
    inlines = (IngredientInline, UseInline, CapInline, WeatherInline)
    readonly_fields = ("is_active",)  # the set-up page asks what still needs it


@admin.register(ProductDocument)
class ProductDocumentAdmin(LookOnlyAdmin):
    """Files come through the API or with a program's documents; the newest counts."""

    list_display = ("product", "kind", "language", "file_name", "size_bytes", "added_at", "added_by")
    list_filter = ("kind", "product")
    list_select_related = ("product", "added_by")
    exclude = ("file_bytes",)

    def get_queryset(self, request: HttpRequest) -> QuerySet[ProductDocument]:
        return super().get_queryset(request).defer("file_bytes")


@admin.register(Mix)
class MixAdmin(RecordedAdmin):
    list_display = ("name", "code", "carrier_l_per_ha", "stem_dose_ml_per_cm", "area_basis", "tank_l")
    inlines = (MixPartInline,)
    readonly_fields = ("is_active",)  # the set-up page asks what still needs it


@admin.register(Equipment)
class EquipmentAdmin(RecordedAdmin):
    list_display = ("name", "code", "count", "notes")
    search_fields = ("name", "code")


@admin.register(Price)
class PriceAdmin(AddOnlyAdmin):
    list_display = ("kind", "code", "unit", "price_e4", "minimum_e4", "from_day", "source")
    list_filter = ("kind",)
    search_fields = ("code",)


@admin.register(StockLot)
class StockLotAdmin(LookOnlyAdmin):
    list_display = ("product", "lot_number", "unit", "price_e4", "received_on")
    list_filter = ("product",)
    list_select_related = ("product",)
    search_fields = ("lot_number",)


@admin.register(StockMovement)
class StockMovementAdmin(LookOnlyAdmin):
    list_display = ("id", "lot", "kind", "amount", "entered_value", "entered_unit", "on", "by", "reason")
    list_filter = ("kind", "lot__product")
    list_select_related = ("lot__product", "by")
    search_fields = ("lot__lot_number",)
    date_hierarchy = "on"
    show_full_result_count = False


@admin.register(VolunteerPermit)
class VolunteerPermitAdmin(AddOnlyAdmin):
    """Other products or land need another permit, with its own training."""

    list_display = ("person", "first_day", "last_day", "certificate", "trained_by", "trained_on")
    list_filter = ("sites", "products")
    search_fields = ("person__name", "certificate")
    list_select_related = ("person",)
    filter_horizontal = ("products", "sites")

    def save_model(self, request: HttpRequest, obj: VolunteerPermit, form: Any, change: bool) -> None:
        told = {name: value for name, value in form.cleaned_data.items() if name != "opened_version"}
        obj.pk = permit_add(**told, stamp=admin_stamp(request)).pk
