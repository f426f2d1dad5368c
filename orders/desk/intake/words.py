"""What the facts of a survey are called on the pages, and the words that each of them takes."""

from collections.abc import Mapping
from dataclasses import dataclass

from estimating.cover_classes import SCHEMES
from orders.sites.models import CONTROL_STATES, GROUNDS, REPRODUCTIVE_CONDITIONS, YES_NO_UNKNOWN
from orders.sites.selectors import growth_forms, sites, species_offered

Choices = list[tuple[str, str]]


@dataclass(frozen=True)
class Fact:
    """A fact as people call it, and what it is."""

    label: str
    help: str = ""


FACTS: Mapping[str, Fact] = {
    "site_code": Fact("Site", "Which of the program's sites the row is at."),
    "patch_code": Fact("Patch code", "What the patch is called at its site; a code that is new makes a new patch."),
    "patch_name": Fact("Patch name"),
    "observed_on": Fact(
        "Day of the survey", "A time that tells its offset from UTC falls on the day that it was at the site."
    ),
    "observer": Fact("Who looked"),
    "gross_area_m2": Fact("Area of the patch", "Points need it; outlines are measured."),
    "slope_deg": Fact("Slope"),
    "ground": Fact("Ground underfoot"),
    "wet_ground": Fact("Wet ground"),
    "distance_to_water_m": Fact("Distance to water"),
    "desirable_tree_roots": Fact("Roots of desirable trees"),
    "evergreen_natives": Fact("Evergreen natives"),
    "spring_ephemerals": Fact("Spring ephemerals"),
    "minutes_from_gate": Fact("Walk from the gate"),
    "target_cover_percent": Fact("Cover to get down to", "Read for new patches only."),
    "control_state": Fact("State of control", "Read for new patches, and where a survey finds a patch gone."),
    "notes": Fact("Notes"),
    "species": Fact("Species", "By its code here, or its scientific or common name."),
    "growth_form": Fact("Growth form", "How it grows here: what may be done about it depends on it."),
    "infested_area_m2": Fact("Infested area", "Where neither this nor a percent is given, the whole patch counts."),
    "infested_percent": Fact("Percent infested"),
    "cover_percent": Fact(
        "Cover in percent", "Of the infested ground, the share under leaves. Or a class with its scheme."
    ),
    "cover_class": Fact("Cover class"),
    "cover_scheme": Fact("Scheme of the classes"),
    "stems_small": Fact("Stems under 1 in"),
    "stems_medium": Fact("Stems of 1 to 3 in"),
    "stems_large": Fact("Stems over 3 in"),
    "height_m": Fact("Height"),
    "cut_height_m": Fact("Height of the upper cut"),
    "host_trees": Fact("Trees climbed"),
    "fertile": Fact("Flowers or fruit"),
    "reproductive_condition": Fact("On the plant that day"),
    "wkt": Fact("Location as well-known text"),
    "longitude": Fact("Longitude, or east", "In decimal degrees, or as 85°41'03\"W."),
    "latitude": Fact("Latitude, or north", "In decimal degrees, or as 38°12'34.5\"N."),
    "latitude_longitude": Fact("Both in one column, latitude first", "Such as 38.2014, -85.7003."),
    "longitude_latitude": Fact("Both in one column, longitude first", "Such as -85.7003, 38.2014."),
}
UNIT_WORDS: Mapping[str, str] = {
    "m2": "square meters",
    "acres": "acres",
    "ha": "hectares",
    "ft2": "square feet",
    "m": "meters",
    "ft": "feet",
    "deg": "degrees",
    "percent": "percent",
    "minutes": "minutes",
    "hours": "hours",
    "fraction": "a fraction from 0 to 1",
}
DAY_WORDS: Mapping[str, str] = {
    "": "2026-05-31",
    "%m/%d/%Y": "05/31/2026, month first",
    "%d/%m/%Y": "31/05/2026, day first",
    "%m/%d/%y": "05/31/26, month first",
    "%m-%d-%Y": "05-31-2026, month first",
    "%d-%m-%Y": "31-05-2026, day first",
    "%d.%m.%Y": "31.05.2026",
    "%Y%m%d": "20260531",
    "%b %d, %Y": "May 31, 2026",
    "%B %d, %Y": "March 31, 2026",
    "%d %b %Y": "31 Mar 2026",
    "%d %B %Y": "31 March 2026",
    "%d-%b-%Y": "31-Mar-2026",
    "%d-%b-%y": "31-Mar-26",
    "%m/%d/%Y %H:%M": "05/31/2026 14:05",
    "%m/%d/%Y %H:%M:%S": "05/31/2026 14:05:00",
    "%m/%d/%Y %I:%M %p": "05/31/2026 2:05 PM",
    "%m/%d/%Y %I:%M:%S %p": "05/31/2026 2:05:00 PM",
    "milliseconds": "1780236300000, milliseconds since 1970 in UTC",
}
# Codes of the EPSG registry that surveys in the United States often use; any other code can be typed.
SYSTEMS: Choices = [
    ("EPSG:4326", "WGS 84, longitude and latitude"),
    ("EPSG:4269", "NAD83, longitude and latitude"),
    ("EPSG:3857", "Web Mercator"),
    *((f"EPSG:{26900 + zone}", f"NAD83, UTM zone {zone}N") for zone in range(10, 20)),
    *((f"EPSG:{32600 + zone}", f"WGS 84, UTM zone {zone}N") for zone in range(10, 20)),
]


def words_by_field() -> dict[str, Choices]:
    """The words that a field takes, with what they are called; a field that is not here takes anything."""
    answers = [(code, name) for code, name in YES_NO_UNKNOWN]
    yes_no = ("wet_ground", "desirable_tree_roots", "evergreen_natives", "spring_ephemerals", "fertile")
    return {
        **dict.fromkeys(yes_no, answers),
        "site_code": [(site.code, f"{site.code} {site.name}") for site in sites()],
        "species": [(kind.code, f"{kind.common_name} ({kind.code})") for kind in species_offered()],
        "growth_form": [(form.code, form.name) for form in growth_forms()],
        "control_state": list(CONTROL_STATES),
        "ground": [(code, name.partition(":")[0]) for code, name in GROUNDS],
        "reproductive_condition": list(REPRODUCTIVE_CONDITIONS),
        "cover_scheme": [(code, code) for code in SCHEMES],
        "cover_class": sorted({(entry.code, entry.code) for classes in SCHEMES.values() for entry in classes}),
    }
