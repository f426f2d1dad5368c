"""Rows of products as the label data that estimating's guard reads."""

from collections.abc import Iterable

from estimating.labels import Cap, LimitKind, ProductLabel, WeatherLimit
from orders.supplies.models import Product


def product_label(product: Product) -> ProductLabel:
    return ProductLabel(
        code=product.code,
        name=product.name,
        registration_number=product.registration_number,
        label_version=product.label_version,
        label_reference=product.label_reference,
        reviewed_on=product.reviewed_on,
        states=frozenset(product.states),
        uses=frozenset(product.uses),
        ingredients={row.ingredient: row.ae_g_per_l for row in product.ingredients.all()},
        caps=tuple(
            Cap(
                ingredient=cap.ingredient,
                kg_ae_per_ha=cap.kg_ae_per_ha,
                period=cap.period,
                area=cap.area_basis,
                year=cap.year_basis,
                kind=LimitKind(cap.kind),
                reference=cap.reference,
            )
            for cap in product.caps.all()
        ),
        no_annual_cap=frozenset(product.no_annual_cap),
        soil_active=product.soil_active,
        aquatic=product.aquatic,
        least_water_distance_m=product.least_water_distance_m,
        max_percent_vv=product.max_percent_vv,
        weather=tuple(_weather(product)),
        signal_word=product.signal_word,
    )


def _weather(product: Product) -> Iterable[WeatherLimit]:
    """The label's temperatures and its highest wind, as advice unless a cap of the label says more."""
    if product.min_temp_c is not None or product.max_temp_c is not None:
        yield WeatherLimit(
            measure="temperature_c",
            low=float("-inf") if product.min_temp_c is None else product.min_temp_c,
            high=float("inf") if product.max_temp_c is None else product.max_temp_c,
            reference=product.label_reference,
        )
    if product.max_wind_m_s is not None:
        yield WeatherLimit(measure="wind_m_s", high=product.max_wind_m_s, reference=product.label_reference)


def product_labels() -> dict[str, ProductLabel]:
    """Label data of every herbicide, by product code; adjuvants, dyes and oils have no label of their own to guard."""
    products = Product.objects.filter(is_herbicide=True).prefetch_related("ingredients", "caps").order_by("code")
    return {product.code: product_label(product) for product in products}
