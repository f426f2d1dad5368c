"""Sprayer calibration in metric units; the US forms and their sources are in sprayer.py.

    boom     l/ha = 60,000 x l/min / (km/h x width cm) = 600 x l/min / (km/h x width m)
    plot     l/ha = ml used / plot m2 x 10; over 100 m2 a tenth of the milliliters
    speed    km/h = 3.6 x m / s

Source of the boom formula: q = Q V W / 60,000 (a CRAN manual); the rest follows from the units.
"""

from math import sqrt

from estimating.scalars import not_negative, positive

LITRE_PER_MINUTE_CM_TO_L_PER_HA = 60_000.0
CENTIMETRES_PER_METRE = 100.0
# 1 ml on 100 m2 is 100 ml on a hectare.
L_PER_HA_PER_ML_PER_100_M2 = 0.1


def carrier_l_per_ha(l_per_minute: float, km_per_hour: float, width_cm: float) -> float:
    """l/ha = 60,000 x l/min of a nozzle / (km/h x width cm)."""
    speed, width = positive("km_per_hour", km_per_hour), positive("width_cm", width_cm)
    return LITRE_PER_MINUTE_CM_TO_L_PER_HA * not_negative("l_per_minute", l_per_minute) / (speed * width)


def carrier_l_per_ha_by_metres(l_per_minute: float, km_per_hour: float, width_m: float) -> float:
    """l/ha = 600 x l/min / (km/h x width m): one wide nozzle, or a boom's whole flow over its whole width."""
    return carrier_l_per_ha(l_per_minute, km_per_hour, positive("width_m", width_m) * CENTIMETRES_PER_METRE)


def nozzle_l_per_minute(carrier: float, km_per_hour: float, width_cm: float) -> float:
    """Flow of a nozzle for a wanted l/ha: l/min = l/ha x km/h x width cm / 60,000."""
    speed, width = positive("km_per_hour", km_per_hour), positive("width_cm", width_cm)
    return not_negative("carrier", carrier) * speed * width / LITRE_PER_MINUTE_CM_TO_L_PER_HA


def speed_km_per_hour(carrier: float, l_per_minute: float, width_cm: float) -> float:
    """Speed for a wanted l/ha: km/h = 60,000 x l/min / (l/ha x width cm)."""
    rate, width = positive("carrier", carrier), positive("width_cm", width_cm)
    return LITRE_PER_MINUTE_CM_TO_L_PER_HA * not_negative("l_per_minute", l_per_minute) / (rate * width)


def spray_width_cm(carrier: float, l_per_minute: float, km_per_hour: float) -> float:
    """Width that a nozzle may cover for a wanted l/ha: cm = 60,000 x l/min / (l/ha x km/h)."""
    return speed_km_per_hour(carrier, l_per_minute, positive("km_per_hour", km_per_hour))


def carrier_l_per_ha_from_plot(used_ml: float, plot_m2: float) -> float:
    """l/ha from the milliliters that a test plot takes: ml / m2 x 10."""
    return not_negative("used_ml", used_ml) * 10 / positive("plot_m2", plot_m2)


def ml_per_100_m2(l_per_ha: float) -> float:
    """l/ha to ml on 100 m2: x 10."""
    return not_negative("l_per_ha", l_per_ha) / L_PER_HA_PER_ML_PER_100_M2


def l_per_ha(ml_per_100_m2: float) -> float:
    """ml on 100 m2 to l/ha: x 0.1."""
    return not_negative("ml_per_100_m2", ml_per_100_m2) * L_PER_HA_PER_ML_PER_100_M2


def l_per_minute_from_catch(caught_ml: float, catch_seconds: float) -> float:
    """Flow from a timed catch: l/min = ml / 1000 x 60 / s."""
    return not_negative("caught_ml", caught_ml) * 60 / (1000 * positive("catch_seconds", catch_seconds))


def km_per_hour(distance_m: float, seconds: float) -> float:
    """Speed from a timed course: km/h = 3.6 x m / s."""
    return 3.6 * positive("distance_m", distance_m) / positive("seconds", seconds)


def l_per_minute_at_pressure(l_per_minute_1: float, bar_1: float, bar_2: float) -> float:
    """Flow at another pressure: q2 = q1 x sqrt(bar2 / bar1)."""
    return not_negative("l_per_minute_1", l_per_minute_1) * sqrt(
        not_negative("bar_2", bar_2) / positive("bar_1", bar_1)
    )


def hectares_per_hour(width_m: float, km_per_hour: float) -> float:
    """Hectares in an hour = width m x km/h / 10, without turns and refills."""
    return positive("width_m", width_m) * positive("km_per_hour", km_per_hour) / 10
