"""Products and labels, mixes, prices; stock to look at."""

from django.contrib import admin

from orders.common.admin import AddOnlyAdmin, LookOnlyAdmin, PartsInline, RecordedAdmin
from orders.supplies.models import (
    Equipment,
    LabelCap,
    LabelUse,
    LabelWeather,
    Mix,
    MixPart,
    Price,
    Product,
    ProductIngredient,
    StockLot,
    StockMovement,
)


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


@admin.register(Mix)
class MixAdmin(RecordedAdmin):
    list_display = ("name", "code", "carrier_l_per_ha", "stem_dose_ml_per_cm", "area_basis", "tank_l")
    inlines = (MixPartInline,)


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
