"""What a request says of a product and its label, of a mix, and of a price."""

from typing import Any

from rest_framework import serializers

from orders.bodies.base import Body, many
from orders.bodies.fields import Choice, Day, Flag, Number, Text, Whole
from orders.common.errors import FieldError, Invalid
from orders.supplies.labels import CapFacts, LabelFacts, UseFacts, WeatherFacts
from orders.supplies.models import FORMULATIONS, LIMIT_KINDS, LabelCap, LabelWeather, Price

MOST_PARTS = 60
MOST_DAYS = 3_650
PARTS = ["herbicide", "adjuvant", "dye", "oil"]
BLANK: dict[str, Any] = {"allow_blank": True, "default": ""}


def _amount(most: float, **more: Any) -> Number:
    return Number(min_value=0, max_value=most, **more)


def _maybe(most: float) -> Number:
    return _amount(most, allow_null=True, default=None)


class IngredientIn(Body):
    ingredient = Text(max_length=60)
    ae_g_per_l = _amount(2_000, help_text="Acid equivalent; active ingredient where the label states none.")


class UseIn(Body):
    method = Text(max_length=20)
    max_percent_vv = _maybe(100)
    max_l_per_ha = _maybe(10_000)
    least_days_between = Whole(max_value=MOST_DAYS, allow_null=True, default=None)
    most_uses_a_year = Whole(min_value=1, max_value=366, allow_null=True, default=None)
    reference = Text(max_length=200, **BLANK)


class CapIn(Body):
    ingredient = Text(max_length=60)
    kg_ae_per_ha = _amount(10_000)
    period = Choice([("application", "application"), ("year", "year")])
    area_basis = Choice(LabelCap.AREAS)
    year_basis = Choice(LabelCap.YEARS)
    method = Text(max_length=20, **BLANK)
    kind = Choice(LIMIT_KINDS)
    reference = Text(max_length=200)


class LabelWeatherIn(Body):
    measure = Choice(LabelWeather.MEASURES)
    low = Number(min_value=-100, max_value=100, allow_null=True, default=None)
    high = Number(min_value=-100, max_value=100, allow_null=True, default=None)
    kind = Choice(LIMIT_KINDS)
    reference = Text(max_length=200)


def _words(most: int, **more: Any) -> serializers.ListField:
    return serializers.ListField(child=Text(max_length=most), max_length=MOST_PARTS, default=list, **more)


class ProductPut(Body):
    """Everything that is kept of a product and its label. What is left out is nothing, not what stood there before."""

    name = Text(max_length=120)
    registration_number = Text(max_length=30, **BLANK)
    is_herbicide = Flag(default=True)
    label_version = Text(max_length=40, **BLANK)
    label_reference = Text(max_length=200, **BLANK)
    reviewed_on = Day(allow_null=True, default=None)
    reviewed_by = Text(max_length=120, **BLANK)
    formulation = Choice(FORMULATIONS, **BLANK)
    signal_word = Text(max_length=12, **BLANK)
    states = _words(10, help_text="Codes of jurisdictions.")
    uses = many(UseIn, most=MOST_PARTS, default=list)
    soil_active = Flag(default=False)
    aquatic = Flag(default=False)
    no_annual_cap = _words(60)
    least_water_distance_m = _amount(100_000, default=0)
    weather = many(LabelWeatherIn, most=MOST_PARTS, default=list)
    rain_free_hours = _maybe(1_000)
    entry_rule = Text(max_length=200, **BLANK)
    restricted_entry_hours = Whole(max_value=10_000, allow_null=True, default=None)
    protective_equipment = Text(max_length=4000, **BLANK)
    cautions = Text(max_length=4000, **BLANK)
    storage_note = Text(max_length=4000, **BLANK)
    ingredients = many(IngredientIn, most=MOST_PARTS, default=list)
    caps = many(CapIn, most=MOST_PARTS, default=list)


class ProductIn(ProductPut):
    code = Text(max_length=30)


STAYS = "Whether it is offered; it stays as it is where this is left out."


class ProductReplace(ProductPut):
    is_active = Flag(required=False, help_text=STAYS)


class ReviewIn(Body):
    reviewed_on = Day()
    reviewed_by = Text(max_length=120, help_text="The pesticide supervisor, or another licensed person.")
    version = Whole(min_value=1, help_text="Of the product as it was compared with the label.")


OWN = ("code", "name", "registration_number", "is_herbicide", "is_active")


def label_read(body: dict[str, Any]) -> tuple[dict[str, Any], LabelFacts]:
    """What is the product's own, and the facts of its label."""
    own = {name: body[name] for name in OWN if name in body}
    facts = {name: value for name, value in body.items() if name not in OWN}
    facts["ingredients"] = ingredients_read([(row["ingredient"], row["ae_g_per_l"]) for row in facts["ingredients"]])
    facts |= {name: tuple(facts[name]) for name in ("states", "no_annual_cap")}
    kinds: dict[str, type[Any]] = {"uses": UseFacts, "caps": CapFacts, "weather": WeatherFacts}
    facts |= {name: tuple(kind(**row) for row in facts[name]) for name, kind in kinds.items()}
    return own, LabelFacts(**facts)


def ingredients_read(rows: list[tuple[str, float]]) -> dict[str, float]:
    """Grams a liter by ingredient; one that is named twice is refused, since only one figure could be kept."""
    found: dict[str, float] = {}
    for number, (name, amount) in enumerate(rows, start=1):
        if name in found:
            errors = [FieldError("ingredients", f"{name} stands here twice.", row=number, code="unique")]
            raise Invalid("The label was not kept.", errors)
        found[name] = amount
    return found


class MixPartIn(Body):
    product = Text(max_length=30, help_text="Its code.")
    part = Choice(PARTS)
    percent_vv = _maybe(100)
    rate_l_per_ha = _maybe(10_000)


class MixPut(Body):
    """All of a mix: by carrier volume over an area, or by dose to a stem."""

    name = Text(max_length=120)
    tank_l = _amount(100_000)
    area_basis = Choice(["infested", "canopy"])
    carrier_l_per_ha = _maybe(100_000)
    stem_dose_ml_per_cm = _maybe(10_000)
    parts = many(MixPartIn, most=MOST_PARTS)


class MixReplace(MixPut):
    is_active = Flag(required=False, help_text=STAYS)


class MixIn(MixPut):
    code = Text(max_length=30)


class PriceIn(Body):
    kind = Choice(Price.KINDS)
    code = Text(max_length=30, help_text="Of the product; of the method for equipment and contracts; else the kind.")
    from_day = Day()
    price_e4 = Whole(max_value=10**9, help_text="1/10,000 dollars a unit.")
    minimum_e4 = Whole(max_value=10**9, allow_null=True, default=None)
    source = Text(max_length=200)  # type: ignore[assignment]  # the metaclass takes it off again
