"""Mixing arithmetic of labels and extension sheets (US customary, metric at the end); acid equivalent is in acid.py.

    by area      product in a load = rate per acre x load gal / GPA; a load covers load gal / GPA acres
    by volume    % v/v is of the whole mix: fl oz = percent / 100 x gal x 128 (1.28 fl oz a gallon for each percent)
    of water     percent of the water added, where a sheet says so: the mix is then larger than the water
    by mass      product = active / share of active; ppm is mg in a kilogram (in water: in a liter)
    dilution     concentration 1 x volume 1 = concentration 2 x volume 2

`load` is the mix in the tank, product and carrier together. Amounts without a unit in their name come out in the unit
they went in. Every function refuses what cannot be with `InvalidFact`. Sources of examples: tests/published.
"""

from estimating.errors import InvalidFact
from estimating.scalars import fraction, not_negative, percent, positive
from estimating.units import (
    MILLILITRES_PER_US_FLUID_OUNCE,
    SQUARE_FEET_PER_ACRE,
    US_FLUID_OUNCES_PER_US_GALLON,
)

# US measures in fluid ounces, exact.
FLUID_OUNCES = {"gal": 128.0, "qt": 32.0, "pt": 16.0, "cup": 8.0, "fl oz": 1.0, "tbsp": 0.5, "tsp": 1 / 6}
POUNDS_PER_GALLON_OF_WATER = 8.34  # from memory; sheets round it from 8.33 to 8.345
POUNDS_PER_CUBIC_FOOT_OF_WATER = 62.4  # from memory
PARTS_PER_MILLION = 1e-6


def fluid_ounces_of(amount: float, unit: str) -> float:
    """An amount in one of `FLUID_OUNCES` (gal, qt, pt, cup, fl oz, tbsp, tsp) in US fluid ounces."""
    if unit not in FLUID_OUNCES:
        raise InvalidFact(f"must be one of {', '.join(FLUID_OUNCES)}", "unit")
    return not_negative("amount", amount) * FLUID_OUNCES[unit]


def millilitres(volume_fl_oz: float) -> float:
    """US fluid ounces to milliliters: x 29.5735."""
    return volume_fl_oz * MILLILITRES_PER_US_FLUID_OUNCE


# By area


def oz_per_gallon(product_oz_per_acre: float, carrier_gpa: float) -> float:
    """Ounces (fluid, or of a dry product) in each gallon of mix = ounces per acre / GPA."""
    return not_negative("product_oz_per_acre", product_oz_per_acre) / positive("carrier_gpa", carrier_gpa)


def product_in_load(product_per_acre: float, carrier_gpa: float, load_gal: float) -> float:
    """Product for a load = rate per acre x load gal / GPA, in the unit of the rate."""
    return oz_per_gallon(product_per_acre, carrier_gpa) * not_negative("load_gal", load_gal)


def acres_per_load(load_gal: float, carrier_gpa: float) -> float:
    """Ground that a load covers = gal / GPA."""
    return not_negative("load_gal", load_gal) / positive("carrier_gpa", carrier_gpa)


def square_feet_per_gallon(carrier_gpa: float) -> float:
    """Ground that one gallon of mix covers = 43,560 / GPA."""
    return SQUARE_FEET_PER_ACRE / positive("carrier_gpa", carrier_gpa)


def gallons_for_area(area_acres: float, carrier_gpa: float) -> float:
    """Mix for an area = acres x GPA."""
    return not_negative("area_acres", area_acres) * not_negative("carrier_gpa", carrier_gpa)


def per_1000_square_feet(per_acre: float) -> float:
    """A rate per acre on 1,000 ft2: / 43.56."""
    return not_negative("per_acre", per_acre) * 1000 / SQUARE_FEET_PER_ACRE


def per_acre(per_1000_ft2: float) -> float:
    """A rate on 1,000 ft2 per acre: x 43.56."""
    return not_negative("per_1000_ft2", per_1000_ft2) * SQUARE_FEET_PER_ACRE / 1000


def band_rate(broadcast_rate: float, band_width: float, row_spacing: float) -> float:
    """Rate per area of whole ground where only a band is treated: the broadcast rate x band / row."""
    treated = fraction("band_width", positive("band_width", band_width) / positive("row_spacing", row_spacing))
    return not_negative("broadcast_rate", broadcast_rate) * treated


def broadcast_rate(band_rate_of_whole_ground: float, band_width: float, row_spacing: float) -> float:
    """Rate on the treated ground from the rate over the whole ground: / (band / row). Labels count treated ground."""
    treated = fraction("band_width", positive("band_width", band_width) / positive("row_spacing", row_spacing))
    return not_negative("band_rate_of_whole_ground", band_rate_of_whole_ground) / treated


# By volume


def product_fl_oz(percent_vv: float, load_gal: float) -> float:
    """Fluid ounces in a load mixed to a percent by volume of the whole mix: percent / 100 x gal x 128."""
    return percent("percent_vv", percent_vv) / 100 * not_negative("load_gal", load_gal) * US_FLUID_OUNCES_PER_US_GALLON


def product_fl_oz_for_water(percent_of_water: float, water_gal: float) -> float:
    """Fluid ounces to add to some water, where the percent is of the water and not of the mix."""
    return product_fl_oz(percent_of_water, water_gal)


def water_gal(percent_vv: float, load_gal: float) -> float:
    """Water (or oil) in a load mixed to a percent of the whole mix: gal x (1 - percent / 100)."""
    return not_negative("load_gal", load_gal) * (1 - percent("percent_vv", percent_vv) / 100)


def percent_vv(product_volume: float, total_volume: float) -> float:
    """Percent by volume of the whole mix, both volumes in the same unit."""
    return percent(
        "product_volume", 100 * not_negative("product_volume", product_volume) / positive("total_volume", total_volume)
    )


def percent_of_water(product_volume: float, water_volume: float) -> float:
    """Percent of the water added: product / water x 100. Larger than the percent of the whole mix."""
    return 100 * not_negative("product_volume", product_volume) / positive("water_volume", water_volume)


def percent_vv_from_water(percent_of_the_water: float) -> float:
    """Percent of the whole mix from the percent of the water added: p / (100 + p) x 100."""
    added = not_negative("percent_of_the_water", percent_of_the_water)
    return 100 * added / (100 + added)


def percent_of_water_from_vv(percent_by_volume: float) -> float:
    """Percent of the water added from the percent of the whole mix: p / (100 - p) x 100."""
    share = percent("percent_by_volume", percent_by_volume)
    return 100 * share / positive("percent_by_volume", 100 - share)


def percent_vv_from_parts(product_parts: float, carrier_parts: float) -> float:
    """Percent of the whole mix from parts, such as 1 part to 3: product / (product + carrier) x 100."""
    product = not_negative("product_parts", product_parts)
    return percent_vv(product, product + not_negative("carrier_parts", carrier_parts))


def percent_vv_from_oz_per_gallon(fl_oz_per_gallon: float) -> float:
    """Percent of the whole mix from the fluid ounces in each gallon of mix: / 1.28."""
    return percent_vv(fl_oz_per_gallon, US_FLUID_OUNCES_PER_US_GALLON)


def percent_vv_of_area_rate(product_fl_oz_per_acre: float, carrier_gpa: float) -> float:
    """Percent of the whole mix that a rate per acre is, at a calibrated volume."""
    return percent_vv_from_oz_per_gallon(oz_per_gallon(product_fl_oz_per_acre, carrier_gpa))


def fl_oz_per_acre_of_mix(percent_by_volume: float, carrier_gpa: float) -> float:
    """Product on an acre from a percent of the whole mix, at a calibrated volume."""
    return product_fl_oz(percent_by_volume, carrier_gpa)


def in_load_per_100_gallons(amount_per_100_gal: float, load_gal: float) -> float:
    """Product for a load of a rate told by 100 gallons of mix (adjuvants, as a rule)."""
    return not_negative("amount_per_100_gal", amount_per_100_gal) * not_negative("load_gal", load_gal) / 100


# By mass, and dry products


def product_mass(active_mass: float, active_fraction: float) -> float:
    """Mass of a dry product that holds `active_mass` of active ingredient: active / share."""
    return not_negative("active_mass", active_mass) / fraction("active_fraction", active_fraction)


def active_mass(product_mass_used: float, active_fraction: float) -> float:
    """Active ingredient in a mass of dry product: product x share."""
    return not_negative("product_mass_used", product_mass_used) * fraction("active_fraction", active_fraction)


def product_gallons(active_lb: float, lb_active_per_gallon: float) -> float:
    """Volume of a liquid product that holds some pounds of active ingredient: lb / (lb a gallon)."""
    return not_negative("active_lb", active_lb) / positive("lb_active_per_gallon", lb_active_per_gallon)


def product_lb_for_ppm(ppm: float, mix_gal: float, active_fraction: float = 1.0) -> float:
    """Pounds of product for parts per million of active by weight: ppm x 10^-6 x gal x 8.34 / share of active."""
    water_lb = not_negative("mix_gal", mix_gal) * POUNDS_PER_GALLON_OF_WATER
    return product_mass(not_negative("ppm", ppm) * PARTS_PER_MILLION * water_lb, active_fraction)


def product_gallons_for_ppm(ppm: float, mix_gal: float, lb_active_per_gallon: float) -> float:
    """Gallons of a liquid product for parts per million of active by weight."""
    return product_gallons(product_lb_for_ppm(ppm, mix_gal), lb_active_per_gallon)


def ppm_in_gallons(active_lb: float, mix_gal: float) -> float:
    """Parts per million by weight of some pounds of active in gallons of mix."""
    return (
        not_negative("active_lb", active_lb)
        / (positive("mix_gal", mix_gal) * POUNDS_PER_GALLON_OF_WATER)
        / PARTS_PER_MILLION
    )


def active_lb_for_ppm_in_acre_feet(ppm: float, acre_feet: float) -> float:
    """Pounds of active for parts per million in standing water: ppm x acre-feet x 2.72 (43,560 x 62.4 lb / 10^6)."""
    water_lb = not_negative("acre_feet", acre_feet) * SQUARE_FEET_PER_ACRE * POUNDS_PER_CUBIC_FOOT_OF_WATER
    return not_negative("ppm", ppm) * PARTS_PER_MILLION * water_lb


# Dilution


def concentrate_volume(wanted: float, mix_volume: float, concentrate: float) -> float:
    """Volume of a concentrate for a mix: V1 = C2 x V2 / C1; both concentrations in one unit, of active."""
    strength = positive("concentrate", concentrate)
    if not_negative("wanted", wanted) > strength:
        raise InvalidFact("must not be stronger than the concentrate", "wanted")
    return wanted * not_negative("mix_volume", mix_volume) / strength


def mix_volume_from(concentrate: float, volume: float, wanted: float) -> float:
    """How much mix a volume of concentrate makes: V2 = C1 x V1 / C2."""
    strength = not_negative("concentrate", concentrate)
    if positive("wanted", wanted) > strength:
        raise InvalidFact("must not be stronger than the concentrate", "wanted")
    return strength * not_negative("volume", volume) / wanted


def mixed_concentration(concentrate: float, volume: float, mix_volume: float) -> float:
    """How strong a mix is: C2 = C1 x V1 / V2."""
    share = not_negative("volume", volume) / positive("mix_volume", mix_volume)
    if share > 1:
        raise InvalidFact("must not be more than the mix", "volume")
    return not_negative("concentrate", concentrate) * share


def product_for_tank(tank_volume: float, mix_fraction: float, product_fraction: float) -> float:
    """Volume of a concentrate for a tank wanted at `mix_fraction` of active ingredient; both as shares 0..1."""
    return concentrate_volume(mix_fraction, tank_volume, fraction("product_fraction", product_fraction))


# Metric


def product_ml(percent_by_volume: float, load_l: float) -> float:
    """Milliliters in a load mixed to a percent of the whole mix: percent x 10 x l."""
    return 10 * percent("percent_by_volume", percent_by_volume) * not_negative("load_l", load_l)


def product_in_load_metric(product_per_ha: float, carrier_l_per_ha: float, load_l: float) -> float:
    """Product for a load = rate per hectare x load l / (l/ha), in the unit of the rate."""
    rate = not_negative("product_per_ha", product_per_ha)
    return rate * not_negative("load_l", load_l) / positive("carrier_l_per_ha", carrier_l_per_ha)


def hectares_per_load(load_l: float, carrier_l_per_ha: float) -> float:
    """Ground that a load covers = l / (l/ha)."""
    return not_negative("load_l", load_l) / positive("carrier_l_per_ha", carrier_l_per_ha)


def active_g_for_ppm(ppm: float, water_l: float) -> float:
    """Grams of active for parts per million in water: ppm x l / 1000 (1 l of water taken as 1 kg)."""
    return not_negative("ppm", ppm) * not_negative("water_l", water_l) / 1000
