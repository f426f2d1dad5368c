"""Sprayer calibration and mixing arithmetic in the units of labels and extension sheets (US customary).

These serve the mix card and the calibration page; the estimate itself computes in SI (see `materials.py`).
"""

from estimating.errors import InvalidFact
from estimating.units import (
    MILLILITRES_PER_US_FLUID_OUNCE,
    SQUARE_FEET_PER_ACRE,
    US_FLUID_OUNCES_PER_US_GALLON,
)

# Ounces caught over 1/128 acre read directly as gallons per acre, since a gallon has 128 fluid ounces.
PLOT_128_SQUARE_FEET = SQUARE_FEET_PER_ACRE / US_FLUID_OUNCES_PER_US_GALLON

# 43,560 ft2/ac x 12 in/ft / 88 (ft/min per mph).
GPM_TO_GPA = 5940.0
FEET_PER_MINUTE_PER_MPH = 88.0
FEET_PER_MILE = 5280.0


def _positive(name: str, value: float) -> float:
    if not value > 0:
        raise InvalidFact("must be above 0", name)
    return value


def gpa_128(caught_fl_oz: float, plot_square_feet: float = PLOT_128_SQUARE_FEET) -> float:
    """Gallons per acre from the ounces used on a test plot: oz/128 over plot/43,560.

    On a plot of 1/128 acre the ounces are the answer. Source of the method: University of Missouri Extension G1270a.
    """
    _positive("plot_square_feet", plot_square_feet)
    return caught_fl_oz * PLOT_128_SQUARE_FEET / plot_square_feet


def course_length_ft(spray_width_ft: float) -> float:
    """Length of a 1/128-acre test course for a spray width."""
    return PLOT_128_SQUARE_FEET / _positive("spray_width_ft", spray_width_ft)


def gpa(gallons_per_minute: float, miles_per_hour: float, width_in: float) -> float:
    """GPA = 5940 x GPM / (mph x width in inches), width a nozzle. Source: University of Missouri Extension G1270a."""
    _positive("miles_per_hour", miles_per_hour)
    return GPM_TO_GPA * gallons_per_minute / (miles_per_hour * _positive("width_in", width_in))


def oz_per_gallon(product_oz_per_acre: float, carrier_gpa: float) -> float:
    """Ounces of product in each gallon of mix = ounces per acre / gallons per acre."""
    return product_oz_per_acre / _positive("carrier_gpa", carrier_gpa)


def product_oz_in_load(product_oz_per_acre: float, carrier_gpa: float, load_gallons: float) -> float:
    """Ounces of product for a load of `load_gallons`."""
    return product_oz_per_acre * load_gallons / _positive("carrier_gpa", carrier_gpa)


def product_fl_oz(percent_vv: float, load_gallons: float) -> float:
    """Fluid ounces of product in a load mixed to a percent by volume of the whole mix: 1.28 x percent a gallon."""
    if not 0 <= percent_vv <= 100:
        raise InvalidFact("must be from 0 to 100", "percent_vv")
    return percent_vv / 100 * load_gallons * US_FLUID_OUNCES_PER_US_GALLON


def percent_vv(product_volume: float, total_volume: float) -> float:
    """Percent by volume of the whole mix, both volumes in the same unit."""
    return 100 * product_volume / _positive("total_volume", total_volume)


def square_feet_per_gallon(carrier_gpa: float) -> float:
    """Ground that one gallon of mix covers."""
    return SQUARE_FEET_PER_ACRE / _positive("carrier_gpa", carrier_gpa)


def product_mass(active_mass: float, active_fraction: float) -> float:
    """Mass of a dry product that holds `active_mass` of active ingredient."""
    return active_mass / _positive("active_fraction", active_fraction)


def product_for_tank(tank_volume: float, mix_fraction: float, product_fraction: float) -> float:
    """Volume of a concentrate for a tank wanted at `mix_fraction` of active ingredient."""
    return tank_volume * mix_fraction / _positive("product_fraction", product_fraction)


def band_rate(broadcast_rate: float, band_width: float, row_spacing: float) -> float:
    """Rate per area of whole ground when only a band is treated: the broadcast rate x the treated share."""
    return broadcast_rate * band_width / _positive("row_spacing", row_spacing)


def acid_equivalent_lb(product_fl_oz_used: float, lb_ae_per_gallon: float) -> float:
    """Pounds of acid equivalent in a volume of product."""
    return product_fl_oz_used / US_FLUID_OUNCES_PER_US_GALLON * lb_ae_per_gallon


def nozzle_l_per_minute(carrier_l_per_ha: float, speed_km_h: float, width_cm: float) -> float:
    """Metric nozzle flow: q = Q x V x W / 60,000."""
    return carrier_l_per_ha * speed_km_h * width_cm / 60_000


def hours_per_acre(width_ft: float, miles_per_hour: float) -> float:
    """Hours to cover an acre: 43,560 / width ft of travel, at a speed (DOT roadside vegetation guide, p. 76)."""
    travel_miles = SQUARE_FEET_PER_ACRE / _positive("width_ft", width_ft) / FEET_PER_MILE
    return travel_miles / _positive("miles_per_hour", miles_per_hour)


def millilitres(volume_fl_oz: float) -> float:
    """US fluid ounces to millilitres."""
    return volume_fl_oz * MILLILITRES_PER_US_FLUID_OUNCE
