"""Sprayer calibration in the units of labels and extension sheets (US customary); metric forms: sprayer_metric.py.

    plot     GPA = fluid ounces / 128 x 43,560 / plot ft2; on 1/128 acre (340.3 ft2) the ounces are the GPA
    boom     GPA = 5940 x GPM / (mph x width in) = 495 x GPM / (mph x width ft) = 46.4 x oz a minute / (mph x width in)
    speed    mph = ft x 60 / (seconds x 88)
    flow     GPM2 = GPM1 x sqrt(psi2 / psi1)

GPA gallons per acre, GPM gallons per minute, mph miles per hour; fluid ounces and gallons are US. `width` is what
one nozzle covers: the spacing on a boom, the band or the swath of a single nozzle, the row where several nozzles spray
one row (then GPM is their sum). Every function refuses what cannot be with `InvalidFact` and the name of the figure.

Sources of the method: 5940, 1/128 acre: University of Missouri Extension G1270a; 340.3 ft2: Utah State University
Extension; 495: Mesa County, Colorado, stationary calibration method; 46.4: Albany County, Wyoming. 5940 = 43,560 x 12 /
88, 495 = 5940 / 12 and 46.40625 = 5940 / 128 are exact. The rest follows from the units, or says where it comes from.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from math import sqrt

from estimating.errors import InvalidFact
from estimating.scalars import fraction, not_negative, positive
from estimating.units import SQUARE_FEET_PER_ACRE, US_FLUID_OUNCES_PER_US_GALLON

# Ounces caught over 1/128 acre read directly as gallons per acre, since a gallon has 128 fluid ounces.
PLOT_128_SQUARE_FEET = SQUARE_FEET_PER_ACRE / US_FLUID_OUNCES_PER_US_GALLON

FEET_PER_MINUTE_PER_MPH = 88.0
FEET_PER_MILE = 5280.0
INCHES_PER_FOOT = 12.0
GPM_IN_TO_GPA = SQUARE_FEET_PER_ACRE * INCHES_PER_FOOT / FEET_PER_MINUTE_PER_MPH  # 5940
GPM_FT_TO_GPA = GPM_IN_TO_GPA / INCHES_PER_FOOT  # 495
OUNCES_IN_TO_GPA = GPM_IN_TO_GPA / US_FLUID_OUNCES_PER_US_GALLON  # 46.40625

# A nozzle further from the mean of the boom is cleaned or replaced (common practice).
NOZZLE_TOLERANCE = 0.10


# Test plots and courses


def gpa_128(caught_fl_oz: float, plot_square_feet: float = PLOT_128_SQUARE_FEET) -> float:
    """Gallons per acre from the fluid ounces that a test plot takes: oz / 128 x 43,560 / plot ft2.

    Stationary: spray the plot, time it, then catch the spray for the same time. On 1/128 acre
    the ounces are the answer.
    """
    return (
        not_negative("caught_fl_oz", caught_fl_oz)
        * PLOT_128_SQUARE_FEET
        / positive("plot_square_feet", plot_square_feet)
    )


def gpa_from_gallons(used_gal: float, plot_square_feet: float) -> float:
    """Gallons per acre from the gallons that a test plot takes (refill method): gal x 43,560 / plot ft2."""
    return gpa_128(not_negative("used_gal", used_gal) * US_FLUID_OUNCES_PER_US_GALLON, plot_square_feet)


def course_length_ft(spray_width_ft: float, plot_square_feet: float = PLOT_128_SQUARE_FEET) -> float:
    """Length of a test course for a spray width: plot ft2 / width ft; 1/128 acre unless told."""
    return positive("plot_square_feet", plot_square_feet) / positive("spray_width_ft", spray_width_ft)


def course_length_ft_by_inches(width_in: float, plot_square_feet: float = PLOT_128_SQUARE_FEET) -> float:
    """Length of a test course for a nozzle spacing, row or band in inches: plot ft2 x 12 / width in."""
    return course_length_ft(positive("width_in", width_in) / INCHES_PER_FOOT, plot_square_feet)


def spacings_on_course(course_ft: float, spacing_ft: float) -> float:
    """How many plants or posts a course is long, if they stand `spacing_ft` apart; round as the sheet says."""
    return positive("course_ft", course_ft) / positive("spacing_ft", spacing_ft)


def catch_in_course_time(caught_fl_oz: float, catch_seconds: float, course_seconds: float) -> float:
    """Fluid ounces in the time of the course, from a catch of another length: oz x course s / catch s."""
    share = positive("course_seconds", course_seconds) / positive("catch_seconds", catch_seconds)
    return not_negative("caught_fl_oz", caught_fl_oz) * share


def gpa_moving(
    caught_fl_oz: float,
    course_ft: float,
    width_ft: float,
    *,
    course_seconds: float = 1.0,
    catch_seconds: float | None = None,
    nozzles: int = 1,
) -> float:
    """Gallons per acre from a timed course: the mean catch of a nozzle over the ground that a nozzle covers.

    `caught_fl_oz` is the sum over `nozzles` nozzles, each covering `width_ft`. Without `catch_seconds` the catch lasted
    as long as the course. Where several nozzles spray one row, count them as one and give the row's width.
    """
    if nozzles < 1:
        raise InvalidFact("must be 1 or more", "nozzles")
    catch_seconds = course_seconds if catch_seconds is None else catch_seconds
    in_course_time = catch_in_course_time(caught_fl_oz, catch_seconds, course_seconds)
    return gpa_128(in_course_time / nozzles, positive("course_ft", course_ft) * positive("width_ft", width_ft))


def gpa_stationary(
    caught_fl_oz: float, catch_seconds: float, miles_per_hour: float, width_in: float, nozzles: int = 1
) -> float:
    """Gallons per acre from a catch at rest and a known speed: 5940 x GPM of a nozzle / (mph x width in)."""
    if nozzles < 1:
        raise InvalidFact("must be 1 or more", "nozzles")
    return gpa(flow_gpm_from_catch(caught_fl_oz, catch_seconds) / nozzles, miles_per_hour, width_in)


# GPA, GPM, speed and width: each solved for, with the width in inches and in feet


def gpa(gallons_per_minute: float, miles_per_hour: float, width_in: float) -> float:
    """GPA = 5940 x GPM / (mph x width in)."""
    speed, width = positive("miles_per_hour", miles_per_hour), positive("width_in", width_in)
    return GPM_IN_TO_GPA * not_negative("gallons_per_minute", gallons_per_minute) / (speed * width)


def flow_gpm(carrier_gpa: float, miles_per_hour: float, width_in: float) -> float:
    """GPM of a nozzle = GPA x mph x width in / 5940."""
    speed, width = positive("miles_per_hour", miles_per_hour), positive("width_in", width_in)
    return not_negative("carrier_gpa", carrier_gpa) * speed * width / GPM_IN_TO_GPA


def speed_mph(carrier_gpa: float, gallons_per_minute: float, width_in: float) -> float:
    """Speed for a wanted rate: mph = 5940 x GPM / (GPA x width in)."""
    rate, width = positive("carrier_gpa", carrier_gpa), positive("width_in", width_in)
    return GPM_IN_TO_GPA * not_negative("gallons_per_minute", gallons_per_minute) / (rate * width)


def spray_width_in(carrier_gpa: float, gallons_per_minute: float, miles_per_hour: float) -> float:
    """Width in inches that a nozzle may cover: 5940 x GPM / (GPA x mph)."""
    rate, speed = positive("carrier_gpa", carrier_gpa), positive("miles_per_hour", miles_per_hour)
    return GPM_IN_TO_GPA * not_negative("gallons_per_minute", gallons_per_minute) / (rate * speed)


def gpa_by_feet(gallons_per_minute: float, miles_per_hour: float, width_ft: float) -> float:
    """GPA = 495 x GPM / (mph x width ft): boomless nozzles, or a boom's whole flow over its whole width."""
    speed, width = positive("miles_per_hour", miles_per_hour), positive("width_ft", width_ft)
    return GPM_FT_TO_GPA * not_negative("gallons_per_minute", gallons_per_minute) / (speed * width)


def flow_gpm_by_feet(carrier_gpa: float, miles_per_hour: float, width_ft: float) -> float:
    """GPM = GPA x mph x width ft / 495."""
    speed, width = positive("miles_per_hour", miles_per_hour), positive("width_ft", width_ft)
    return not_negative("carrier_gpa", carrier_gpa) * speed * width / GPM_FT_TO_GPA


def speed_mph_by_feet(carrier_gpa: float, gallons_per_minute: float, width_ft: float) -> float:
    """mph = 495 x GPM / (GPA x width ft)."""
    return speed_mph(carrier_gpa, gallons_per_minute, positive("width_ft", width_ft) * INCHES_PER_FOOT)


def spray_width_ft(carrier_gpa: float, gallons_per_minute: float, miles_per_hour: float) -> float:
    """Width in feet = 495 x GPM / (GPA x mph)."""
    return spray_width_in(carrier_gpa, gallons_per_minute, miles_per_hour) / INCHES_PER_FOOT


def gpa_from_ounces(fl_oz_per_minute: float, miles_per_hour: float, width_in: float) -> float:
    """GPA = 46.4 x fluid ounces a minute of a nozzle / (mph x width in); the factor is 5940 / 128 unrounded."""
    return gpa(
        not_negative("fl_oz_per_minute", fl_oz_per_minute) / US_FLUID_OUNCES_PER_US_GALLON, miles_per_hour, width_in
    )


def flow_fl_oz_per_minute(carrier_gpa: float, miles_per_hour: float, width_in: float) -> float:
    """Fluid ounces a minute to look for under a nozzle: GPA x mph x width in / 46.4."""
    return flow_gpm(carrier_gpa, miles_per_hour, width_in) * US_FLUID_OUNCES_PER_US_GALLON


# Flow, pressure, speed


def flow_gpm_from_catch(caught_fl_oz: float, catch_seconds: float) -> float:
    """Flow from a timed catch: GPM = oz / 128 / (seconds / 60)."""
    return catch_in_course_time(caught_fl_oz, catch_seconds, 60) / US_FLUID_OUNCES_PER_US_GALLON


def flow_gpm_at_pressure(gpm_1: float, psi_1: float, psi_2: float) -> float:
    """Flow at another pressure: GPM2 = GPM1 x sqrt(psi2 / psi1). Within the nozzle's own range (nozzle sheets)."""
    return not_negative("gpm_1", gpm_1) * sqrt(not_negative("psi_2", psi_2) / positive("psi_1", psi_1))


def pressure_psi_for_flow(gpm_1: float, psi_1: float, gpm_2: float) -> float:
    """Pressure for a wanted flow: psi2 = psi1 x (GPM2 / GPM1)^2; twice the flow takes four times the pressure."""
    return positive("psi_1", psi_1) * (not_negative("gpm_2", gpm_2) / positive("gpm_1", gpm_1)) ** 2


def gpa_at_pressure(gpa_1: float, psi_1: float, psi_2: float) -> float:
    """Rate at another pressure and the same speed: GPA2 = GPA1 x sqrt(psi2 / psi1)."""
    return flow_gpm_at_pressure(not_negative("gpa_1", gpa_1), psi_1, psi_2)


def gpa_at_speed(gpa_1: float, mph_1: float, mph_2: float) -> float:
    """Rate at another speed and the same flow: GPA2 = GPA1 x mph1 / mph2."""
    return not_negative("gpa_1", gpa_1) * positive("mph_1", mph_1) / positive("mph_2", mph_2)


def water_gpm_for_flow(mix_gpm: float, specific_gravity: float) -> float:
    """Flow of water to pick a nozzle by, for a mix of another density: GPM x sqrt(specific gravity) (nozzle sheets)."""
    return not_negative("mix_gpm", mix_gpm) * sqrt(positive("specific_gravity", specific_gravity))


def miles_per_hour(distance_ft: float, seconds: float) -> float:
    """Speed from a timed course: mph = ft x 60 / (seconds x 88)."""
    return positive("distance_ft", distance_ft) * 60 / (positive("seconds", seconds) * FEET_PER_MINUTE_PER_MPH)


def course_seconds(distance_ft: float, speed_miles_per_hour: float) -> float:
    """Time of a course at a speed: seconds = ft x 60 / (mph x 88)."""
    speed = positive("speed_miles_per_hour", speed_miles_per_hour)
    return positive("distance_ft", distance_ft) * 60 / (speed * FEET_PER_MINUTE_PER_MPH)


def hours_per_acre(width_ft: float, miles_per_hour: float, field_efficiency: float = 1.0) -> float:
    """Hours for an acre: 43,560 / width ft of travel at a speed; turns and refills by `field_efficiency` (0..1].

    Source: DOT roadside vegetation guide p. 76.
    """
    travel_miles = SQUARE_FEET_PER_ACRE / positive("width_ft", width_ft) / FEET_PER_MILE
    return travel_miles / positive("miles_per_hour", miles_per_hour) / fraction("field_efficiency", field_efficiency)


def acres_per_hour(width_ft: float, miles_per_hour: float, field_efficiency: float = 1.0) -> float:
    """Acres in an hour = width ft x mph / 8.25 x field efficiency (8.25 = 43,560 / 5280)."""
    return 1 / hours_per_acre(width_ft, miles_per_hour, field_efficiency)


# Nozzles of a boom against each other


@dataclass(frozen=True)
class NozzleCheck:
    """`outside`: places (from 0) of the nozzles further from the mean than the tolerance, to be cleaned or replaced."""

    mean_fl_oz: float
    deviation: tuple[float, ...]
    outside: tuple[int, ...]


def nozzle_check(caught_fl_oz: Sequence[float], tolerance: float = NOZZLE_TOLERANCE) -> NozzleCheck:
    """Each nozzle's catch in the same time against their mean; `deviation` is a share of the mean, signed."""
    if not caught_fl_oz:
        raise InvalidFact("must hold the catch of one nozzle or more", "caught_fl_oz")
    fraction("tolerance", tolerance)
    mean = positive(
        "caught_fl_oz", sum(not_negative("caught_fl_oz", each) for each in caught_fl_oz) / len(caught_fl_oz)
    )
    deviation = tuple(each / mean - 1 for each in caught_fl_oz)
    # A catch at the very limit, such as 11 of 10, must not fall out by a rounding of the division.
    outside = tuple(place for place, share in enumerate(deviation) if abs(share) > tolerance * (1 + 1e-9))
    return NozzleCheck(mean, deviation, outside)
