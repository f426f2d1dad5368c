"""Rows of products as the label data that estimating's guard reads."""

import math

from estimating.labels import Cap, LimitKind, ProductLabel, WeatherLimit
from orders.supplies.models import LabelCap, LabelWeather, Product
from orders.supplies.selectors import products


def product_label(product: Product) -> ProductLabel:
    """A cap without a reference is handed on by its ingredient: the guard refuses the product, not the program."""
    caps = list(product.caps.all())
    uses = list(product.label_uses.all())
    return ProductLabel(
        code=product.code,
        name=product.name,
        registration_number=product.registration_number,
        label_version=product.label_version,
        label_reference=product.label_reference,
        reviewed_on=product.reviewed_on,
        states=frozenset(product.states),
        uses=frozenset(use.method for use in uses),
        ingredients={row.ingredient: row.ae_g_per_l for row in product.ingredients.all()},
        caps=tuple(_cap(cap) for cap in caps if cap.reference.strip()),
        caps_without_reference=frozenset(cap.ingredient for cap in caps if not cap.reference.strip()),
        no_annual_cap=frozenset(product.no_annual_cap),
        soil_active=product.soil_active,
        aquatic=product.aquatic,
        least_water_distance_m=product.least_water_distance_m,
        max_percent_vv={use.method: use.max_percent_vv for use in uses if use.max_percent_vv is not None},
        max_l_per_ha={use.method: use.max_l_per_ha for use in uses if use.max_l_per_ha is not None},
        weather=tuple(_weather(limit) for limit in product.label_weather.all()),
        signal_word=product.signal_word,
    )


def _cap(cap: LabelCap) -> Cap:
    return Cap(
        ingredient=cap.ingredient,
        kg_ae_per_ha=cap.kg_ae_per_ha,
        period=cap.period,
        area=cap.area_basis,
        year=cap.year_basis,
        kind=LimitKind(cap.kind),
        reference=cap.reference,
        method=cap.method,
    )


def _weather(limit: LabelWeather) -> WeatherLimit:
    return WeatherLimit(
        measure=limit.measure,
        low=-math.inf if limit.low is None else limit.low,
        high=math.inf if limit.high is None else limit.high,
        kind=LimitKind(limit.kind),
        reference=limit.reference,
    )


def product_labels() -> dict[str, ProductLabel]:
    """Label data of every herbicide, by product code; adjuvants, dyes and oils have no label of their own to guard."""
    return {product.code: product_label(product) for product in products().filter(is_herbicide=True)}
