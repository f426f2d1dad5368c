"""Acid equivalent (ae): the part of a salt or ester that acts. Limits of labels and rates of trials are told in it.

    strength   lb ae/gal = lb ai/gal x ratio; ratio = ae / ai as the label prints both, or acid weight / salt weight
    by mass    lb ae/gal = percent ae by weight / 100 x lb of product in a gallon
    in use     lb ae/ac = fl oz an acre / 128 x lb ae/gal; of a mix: percent / 100 x GPA x lb ae/gal
    metric     kg ae/ha = l/ha x g ae/l / 1000

ai is active ingredient, the whole salt or ester. One active comes at many strengths: the figure comes from the label of
the registered product and never from the name of the active. Where a label counts active ingredient, give that.
Every function refuses what cannot be with `InvalidFact`. The formulas follow from the units; the ratio by molecular
weights is common practice.
"""

from collections.abc import Mapping

from estimating.mixing import POUNDS_PER_GALLON_OF_WATER
from estimating.scalars import fraction, not_negative, percent, positive
from estimating.units import GRAMS_PER_LITRE_PER_LB_PER_GALLON, US_FLUID_OUNCES_PER_US_GALLON


def g_per_l(lb_per_gallon: float) -> float:
    """Pounds a gallon to grams a liter: x 119.83."""
    return not_negative("lb_per_gallon", lb_per_gallon) * GRAMS_PER_LITRE_PER_LB_PER_GALLON


def lb_per_gallon(grams_per_litre: float) -> float:
    """Grams a liter to pounds a gallon: / 119.83."""
    return not_negative("grams_per_litre", grams_per_litre) / GRAMS_PER_LITRE_PER_LB_PER_GALLON


def ae_ratio(acid_equivalent: float, active_ingredient: float) -> float:
    """Share of the active ingredient that is acid: both as the label prints them, in the same unit."""
    return fraction(
        "acid_equivalent",
        not_negative("acid_equivalent", acid_equivalent) / positive("active_ingredient", active_ingredient),
    )


def ae_ratio_by_weights(acid_weight: float, salt_weight: float, *, less_hydrogen: bool = False) -> float:
    """Share by molecular weights: acid / salt or ester. `less_hydrogen`: some sheets take 1 off the acid."""
    counted = positive("acid_weight", acid_weight) - (1 if less_hydrogen else 0)
    return fraction("acid_weight", counted / positive("salt_weight", salt_weight))


def lb_ae_per_gallon(lb_ai_per_gallon: float, ratio: float) -> float:
    """Strength in acid from the strength in active ingredient: lb ai/gal x ratio."""
    return not_negative("lb_ai_per_gallon", lb_ai_per_gallon) * fraction("ratio", ratio)


def g_ae_per_l(g_ai_per_l: float, ratio: float) -> float:
    """The same in grams a liter."""
    return not_negative("g_ai_per_l", g_ai_per_l) * fraction("ratio", ratio)


def lb_per_gallon_from_percent(percent_by_weight: float, product_lb_per_gallon: float) -> float:
    """Pounds (of ae or ai) in a gallon of product from the label's percent by weight and the weight of a gallon."""
    share = percent("percent_by_weight", percent_by_weight) / 100
    return share * positive("product_lb_per_gallon", product_lb_per_gallon)


def product_lb_per_gallon(specific_gravity: float) -> float:
    """Weight of a gallon from the specific gravity of a safety data sheet: x 8.34."""
    return positive("specific_gravity", specific_gravity) * POUNDS_PER_GALLON_OF_WATER


def acid_equivalent_lb(product_fl_oz: float, lb_ae_per_gallon: float) -> float:
    """Pounds of acid equivalent in a volume of product: fl oz / 128 x lb ae/gal. An acre's ounces give lb ae/ac."""
    volume_gal = not_negative("product_fl_oz", product_fl_oz) / US_FLUID_OUNCES_PER_US_GALLON
    return volume_gal * not_negative("lb_ae_per_gallon", lb_ae_per_gallon)


def lb_ae_per_gallon_of_mix(percent_vv: float, lb_ae_per_gallon: float) -> float:
    """Acid in each gallon of a mix by percent of the whole mix: percent / 100 x lb ae/gal."""
    return percent("percent_vv", percent_vv) / 100 * not_negative("lb_ae_per_gallon", lb_ae_per_gallon)


def lb_ae_per_acre_of_mix(percent_vv: float, lb_ae_per_gallon: float, carrier_gpa: float) -> float:
    """Acid on an acre of a mix by percent, at a calibrated volume: percent / 100 x lb ae/gal x GPA."""
    return lb_ae_per_gallon_of_mix(percent_vv, lb_ae_per_gallon) * not_negative("carrier_gpa", carrier_gpa)


def fl_oz_for_acid(lb_ae: float, lb_ae_per_gallon: float) -> float:
    """Product for a wanted mass of acid (an acre's gives fl oz/ac): lb ae x 128 / lb ae/gal."""
    volume_gal = not_negative("lb_ae", lb_ae) / positive("lb_ae_per_gallon", lb_ae_per_gallon)
    return volume_gal * US_FLUID_OUNCES_PER_US_GALLON


def same_acid_volume(product_volume: float, from_lb_ae_per_gallon: float, to_lb_ae_per_gallon: float) -> float:
    """Volume of another product with the same acid, in the unit of the first: volume x from / to."""
    strength = positive("to_lb_ae_per_gallon", to_lb_ae_per_gallon)
    return (
        not_negative("product_volume", product_volume)
        * not_negative("from_lb_ae_per_gallon", from_lb_ae_per_gallon)
        / strength
    )


def acid_equivalents_lb(product_fl_oz: float, lb_ae_per_gallon: Mapping[str, float]) -> dict[str, float]:
    """Pounds of each acid in a volume of a premix, by ingredient."""
    return {name: acid_equivalent_lb(product_fl_oz, strength) for name, strength in lb_ae_per_gallon.items()}


def kg_ae_per_ha(product_l_per_ha: float, grams_ae_per_litre: float) -> float:
    """Acid on a hectare: l/ha x g ae/l / 1000."""
    return (
        not_negative("product_l_per_ha", product_l_per_ha)
        * not_negative("grams_ae_per_litre", grams_ae_per_litre)
        / 1000
    )


def l_per_ha_for_acid(kg_ae_per_hectare: float, grams_ae_per_litre: float) -> float:
    """Product for a wanted mass of acid on a hectare: kg ae/ha x 1000 / g ae/l."""
    return (
        1000 * not_negative("kg_ae_per_hectare", kg_ae_per_hectare) / positive("grams_ae_per_litre", grams_ae_per_litre)
    )
