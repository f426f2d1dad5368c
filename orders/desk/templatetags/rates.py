"""Names of rate books in words: the figures that a program sets, and what a time goes by. Units stand beside them."""

from django import template

from orders.desk.templatetags.units import factor_name

register = template.Library()

FIGURES = {
    "visit": "each visit",
    "tank_loads": "tank loads",
    "debris_m3": "loose debris",
    "shift_hours": "paid shift",
    "briefing_minutes": "tailgate briefing",
    "setup_minutes": "setting up",
    "cleanup_minutes": "cleaning up",
    "break_minutes": "breaks",
    "personal_and_fatigue": "personal time and rest from fatigue",
    "contingency_level": "level of the range to set money aside for",
    "crew_least": "fewest people",
    "crew_most": "most people",
    "elbow_room_m2": "ground that a person needs around them",
    "stems_small_per_m2": "small stems where nobody counted",
    "stems_medium_per_m2": "medium stems where nobody counted",
    "stems_large_per_m2": "large stems where nobody counted",
    "debris_m3_per_m2": "loose debris",
    "bag_m3": "what a bag holds",
    "bagged_share": "debris that goes into bags",
    "upper_cut_height_m": "height of the upper cut",
    "carrier_l_per_ha": "usual mix on the ground",
    "stem_dose_ml_per_cm": "usual dose to a stem",
    "tank_l": "usual tank",
    "fuel_l_per_hour": "fuel",
    "blades_per_hour": "blades",
    "kill_share": "cover that one treatment kills",
    "regrowth_a_year": "regrowth of what is left",
    "spread_a_year": "spread of what is not treated",
    "arrival_a_year": "new plants from elsewhere",
    "maintenance_cover": "cover up to which a patch is in maintenance",
    "cover_measured": "error of cover given as a percent",
    "cover_class": "error of cover given as a class",
    "area_mapped": "error of an area that was mapped",
    "area_by_eye": "error of an area told by eye",
    "stems_counted": "error of stems that were counted",
    "stems_assumed": "error of stems that nobody counted",
}
PACE = "pace_"


@register.filter
def figure_name(code: str) -> str:
    """A step is called what the book calls it; a figure or driver by its words."""
    if code.startswith(PACE):
        return f"pace of the role {factor_name(code.removeprefix(PACE))}"
    return FIGURES.get(code) or factor_name(code)
