"""Uses and weather limits become rows of their own; two words for bases of caps are said as labels say them."""

from typing import Any

from django.db import migrations

WORDS = {"area_basis": {"site": "gross"}, "year_basis": {"rolling": "12 months"}}


def fill(apps: Any, schema_editor: Any) -> None:
    for product in apps.get_model("supplies", "Product").objects.order_by("pk"):
        _fill_uses(apps.get_model("supplies", "LabelUse").objects, product)
        _fill_weather(apps.get_model("supplies", "LabelWeather").objects, product)
    caps = apps.get_model("supplies", "LabelCap").objects
    for column, words in WORDS.items():
        for old, new in words.items():
            caps.filter(**{column: old}).update(**{column: new})


def _fill_uses(rows: Any, product: Any) -> None:
    for method in dict.fromkeys(product.uses):
        percent = product.max_percent_vv.get(method)
        rows.create(product=product, method=method, max_percent_vv=percent, reference=product.label_reference)


def _fill_weather(rows: Any, product: Any) -> None:
    """They were read as advice of the label, and stay so."""
    limits = {
        "temperature_c": (product.min_temp_c, product.max_temp_c),
        "wind_m_s": (None, product.max_wind_m_s),
    }
    for measure, (low, high) in limits.items():
        if low is not None or high is not None:
            rows.create(
                product=product,
                measure=measure,
                low=low,
                high=high,
                kind="label-advisory",
                reference=product.label_reference or "not stated",
            )


def take_back(apps: Any, schema_editor: Any) -> None:
    for product in apps.get_model("supplies", "Product").objects.order_by("pk"):
        uses = list(product.label_uses.order_by("method"))
        product.uses = [use.method for use in uses]
        product.max_percent_vv = {use.method: use.max_percent_vv for use in uses if use.max_percent_vv is not None}
        for limit in product.label_weather.order_by("-pk"):
            if limit.measure == "wind_m_s":
                product.max_wind_m_s = limit.high
            else:
                product.min_temp_c, product.max_temp_c = limit.low, limit.high
        product.save()
        product.label_uses.all().delete()
        product.label_weather.all().delete()
    caps = apps.get_model("supplies", "LabelCap").objects
    for column, words in WORDS.items():
        for old, new in words.items():
            caps.filter(**{column: new}).update(**{column: old})


class Migration(migrations.Migration):
    dependencies = [("supplies", "0002_add_label_uses_weather_and_contract_prices")]

    operations = [migrations.RunPython(fill, take_back)]
