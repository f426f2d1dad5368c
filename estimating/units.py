"""Exact unit constants and small converters. Inside, everything is SI; these are for labels, reports and input.

All values are exact by definition (international yard and pound, 1959; US gallon = 231 cubic inches). The acre is the
international acre; the US survey acre is about 4 parts in a million larger and is not used.
"""

METRES_PER_INCH = 0.0254
METRES_PER_FOOT = 0.3048
METRES_PER_MILE = 1609.344
SQUARE_METRES_PER_SQUARE_FOOT = 0.09290304
SQUARE_METRES_PER_ACRE = 4046.8564224
SQUARE_METRES_PER_HECTARE = 10_000.0
SQUARE_FEET_PER_ACRE = 43_560.0
LITRES_PER_US_GALLON = 3.785411784
MILLILITRES_PER_US_FLUID_OUNCE = 29.5735295625
US_FLUID_OUNCES_PER_US_GALLON = 128.0
KILOGRAMS_PER_POUND = 0.45359237
MINUTES_PER_HOUR = 60.0
SECONDS_PER_HOUR = 3600

ACRES_PER_HECTARE = SQUARE_METRES_PER_HECTARE / SQUARE_METRES_PER_ACRE
KG_PER_HA_PER_LB_PER_ACRE = KILOGRAMS_PER_POUND * ACRES_PER_HECTARE
LITRES_PER_HA_PER_GALLON_PER_ACRE = LITRES_PER_US_GALLON * ACRES_PER_HECTARE
GRAMS_PER_LITRE_PER_LB_PER_GALLON = 1000.0 * KILOGRAMS_PER_POUND / LITRES_PER_US_GALLON


def acres(area_m2: float) -> float:
    """Square metres to international acres."""
    return area_m2 / SQUARE_METRES_PER_ACRE


def area_m2_from_acres(area_acres: float) -> float:
    """International acres to square metres."""
    return area_acres * SQUARE_METRES_PER_ACRE


def gallons(volume_l: float) -> float:
    """Litres to US gallons."""
    return volume_l / LITRES_PER_US_GALLON


def litres_from_gallons(volume_gal: float) -> float:
    """US gallons to litres."""
    return volume_gal * LITRES_PER_US_GALLON


def fluid_ounces(volume_l: float) -> float:
    """Litres to US fluid ounces."""
    return 1000.0 * volume_l / MILLILITRES_PER_US_FLUID_OUNCE


def litres_from_fluid_ounces(volume_fl_oz: float) -> float:
    """US fluid ounces to litres."""
    return volume_fl_oz * MILLILITRES_PER_US_FLUID_OUNCE / 1000.0


def gallons_per_acre(volume_l_per_ha: float) -> float:
    """Carrier volume L/ha to US gallons per acre."""
    return volume_l_per_ha / LITRES_PER_HA_PER_GALLON_PER_ACRE


def pounds_per_acre(mass_kg_per_ha: float) -> float:
    """Rate kg/ha to lb per acre."""
    return mass_kg_per_ha / KG_PER_HA_PER_LB_PER_ACRE


def celsius(temperature_f: float) -> float:
    """Degrees Fahrenheit to Celsius."""
    return (temperature_f - 32.0) * 5.0 / 9.0


def fahrenheit(temperature_c: float) -> float:
    """Degrees Celsius to Fahrenheit."""
    return temperature_c * 9.0 / 5.0 + 32.0


def miles_an_hour(speed_m_s: float) -> float:
    """Metres per second to miles per hour."""
    return speed_m_s * SECONDS_PER_HOUR / METRES_PER_MILE


def metres_a_second(speed_mph: float) -> float:
    """Miles per hour to metres per second."""
    return speed_mph * METRES_PER_MILE / SECONDS_PER_HOUR
