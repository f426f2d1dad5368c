"""Sheets of sprayer calibration: on a plot (stationary catch), and along a course (moving, timed). See sprayer.py."""

from estimating import sprayer
from estimating.units import (
    LITRES_PER_HA_PER_GALLON_PER_ACRE,
    LITRES_PER_US_GALLON,
    METRES_PER_MILE,
    SQUARE_FEET_PER_ACRE,
)
from estimating.worksheet import Answer, Asked, Entry, Line, Sheet, carried, number, number_or, shown, typed

CAUTIONS = (
    "Calibrate with clean water. Wear gloves all the same: a used sprayer holds residue.",
    "Calibrate each sprayer with each person: pace and pressure make the rate. Again after a change of nozzle.",
    "The label is the law: its volume, nozzle, pressure and drift rules decide, and a licensed person with it.",
)
CATCH = Entry(
    name="caught_fl_oz", label="Caught", unit="fl oz", low=0.01, high=100_000, help="Measured in a cup with marks."
)
CATCH_SECONDS = Entry(
    name="catch_seconds",
    label="Caught for",
    unit="s",
    low=0.1,
    high=36_000,
    needed=False,
    help="Leave empty where you caught for exactly as long as it took to spray.",
)
PLOT_ENTRIES = (
    Entry(name="plot_length_ft", label="Length of the plot", unit="ft", low=0.1, high=10_000, usual=18.5),
    Entry(
        name="plot_width_ft",
        label="Width of the plot",
        unit="ft",
        low=0.1,
        high=10_000,
        usual=18.5,
        help="18.5 by 18.5 feet is 1/128 acre within 1 percent: there the ounces read as gallons per acre.",
    ),
    Entry(
        name="spray_seconds",
        label="Time to spray the plot",
        unit="s",
        low=0.1,
        high=36_000,
        needed=False,
        help="At your usual pace and coverage. Needed only where the catch was of another length.",
    ),
    CATCH,
    CATCH_SECONDS,
)
COURSE_ENTRIES = (
    Entry(name="course_ft", label="Length of the course", unit="ft", low=1, high=10_000),
    Entry(name="course_seconds", label="Time for the course", unit="s", low=0.1, high=36_000, help="Mean of two runs."),
    Entry(
        name="width_in",
        label="Width that one nozzle covers",
        unit="in",
        low=0.1,
        high=10_000,
        help="Nozzle spacing on a boom; the swath of a single nozzle; the row where several nozzles spray one row.",
    ),
    Entry(
        name="nozzles",
        label="Nozzles caught",
        low=1,
        high=500,
        whole=True,
        usual=1,
        help="Give their catch together. Several nozzles on one row count as one.",
    ),
    CATCH,
    CATCH_SECONDS,
)


def _carrier(rate_gpa: float) -> Answer:
    metric = rate_gpa * LITRES_PER_HA_PER_GALLON_PER_ACRE
    return Answer("carrier_gpa", "Spray volume", rate_gpa, "gal/acre", metric, "L/ha")


def plot_sheet(asked: Asked) -> Sheet:
    """Gallons per acre from a catch for the time that a plot took.

    Entries as in PLOT_ENTRIES. Errors: `InvalidFact` with the entry's name. Source: University of Missouri Extension
    G1270a; Utah State University Extension.
    """
    length_ft, width_ft = number(asked, "plot_length_ft"), number(asked, "plot_width_ft")
    plot = length_ft * width_ft
    caught, line = _in_spray_time(asked)
    rate = sprayer.gpa_128(caught, plot)
    working = (
        Line("Plot", "length × width", f"{typed(length_ft)} × {typed(width_ft)}", f"{shown(plot)} ft²"),
        *line,
        Line(
            "Gallons per acre",
            "fl oz ÷ 128 × 43,560 ÷ plot ft²",
            f"{carried(caught)} ÷ 128 × 43,560 ÷ {carried(plot)}",
            f"{shown(rate)} gal/acre",
        ),
    )
    sources = ("University of Missouri Extension G1270a", "Utah State University Extension (340.3 ft² is 1/128 acre)")
    covered = SQUARE_FEET_PER_ACRE / rate if rate else 0.0
    answers = (_carrier(rate), Answer("ft2_per_gal", "One gallon covers", covered, "ft²", covered * 0.09290304, "m²"))
    return Sheet(answers=answers, working=working, cautions=CAUTIONS, sources=sources)


def course_sheet(asked: Asked) -> Sheet:
    """Gallons per acre, speed and flow of a nozzle from a timed course and a catch.

    Entries as in COURSE_ENTRIES. Errors: `InvalidFact` with the entry's name. Source: University of Missouri Extension
    G1270a (5940 x GPM / (mph x width in)).
    """
    course_ft, seconds = number(asked, "course_ft"), number(asked, "course_seconds")
    width_in, nozzles = number(asked, "width_in"), number_or(asked, "nozzles", 1)
    caught, catch_seconds = number(asked, "caught_fl_oz"), number_or(asked, "catch_seconds", seconds)
    speed = sprayer.miles_per_hour(course_ft, seconds)
    flow = sprayer.flow_gpm_from_catch(caught, catch_seconds) / nozzles
    rate = sprayer.gpa(flow, speed, width_in)
    working = (
        Line(
            "Speed",
            "ft × 60 ÷ (seconds × 88)",
            f"{typed(course_ft)} × 60 ÷ ({typed(seconds)} × 88)",
            f"{shown(speed)} mph",
        ),
        Line(
            "Flow of one nozzle",
            "fl oz ÷ 128 × 60 ÷ seconds caught ÷ nozzles",
            f"{typed(caught)} ÷ 128 × 60 ÷ {typed(catch_seconds)} ÷ {typed(nozzles)}",
            f"{shown(flow)} gal/min",
        ),
        Line(
            "Gallons per acre",
            "5,940 × gal/min ÷ (mph × width in inches)",
            f"5,940 × {carried(flow)} ÷ ({carried(speed)} × {typed(width_in)})",
            f"{shown(rate)} gal/acre",
        ),
    )
    answers = (
        _carrier(rate),
        Answer("speed_mph", "Speed", speed, "mph", speed * METRES_PER_MILE / 1000, "km/h"),
        Answer("flow_gpm", "Flow of one nozzle", flow, "gal/min", flow * LITRES_PER_US_GALLON, "L/min"),
    )
    sources = ("University of Missouri Extension G1270a",)
    return Sheet(answers=answers, working=working, cautions=CAUTIONS, sources=sources)


def _in_spray_time(asked: Asked) -> tuple[float, tuple[Line, ...]]:
    """Ounces in the time of spraying, and the line that finds them where the catch was of another length."""
    caught = number(asked, "caught_fl_oz")
    if asked.get("catch_seconds") is None:
        return caught, ()
    spray, catch = number(asked, "spray_seconds"), number(asked, "catch_seconds")
    in_time = sprayer.catch_in_course_time(caught, catch, spray)
    line = Line(
        "Ounces in the time of the plot",
        "fl oz caught × seconds sprayed ÷ seconds caught",
        f"{typed(caught)} × {typed(spray)} ÷ {typed(catch)}",
        f"{shown(in_time)} fl oz",
    )
    return in_time, (line,)
