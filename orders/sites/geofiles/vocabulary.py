"""Our fields: what a row of a survey may say, of which kind each field is, and what else people call it."""

from collections.abc import Mapping
from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class OurField:
    """One field. `kind` says how a cell is read and which units a mapping may name; `also` serves suggestions only."""

    name: str
    kind: str
    needed: bool = False
    also: tuple[str, ...] = ()


ROW_FIELDS = (
    OurField("site_code", "code", needed=True, also=("site", "site id", "property", "preserve", "park")),
    OurField(
        "patch_code",
        "code",
        needed=True,
        also=("patch", "patch id", "polygon id", "poly id", "infestation id", "feature id", "field number", "name"),
    ),
    OurField("patch_name", "text", also=("patch label", "label")),
    OurField(
        "observed_on",
        "date",
        needed=True,
        also=("date", "survey date", "observation date", "event date", "timestamp", "time"),
    ),
    OurField(
        "observer",
        "text",
        needed=True,
        also=(
            "surveyor",
            "surveyed by",
            "examiner",
            "recorder",
            "recorded by",
            "collector",
            "observed by",
            "observer names",
            "seen by",
            "crew",
        ),
    ),
    OurField("gross_area_m2", "area", also=("gross area", "total area", "area", "acres")),
    OurField("slope_deg", "angle", also=("slope",)),
    OurField("ground", "code", also=("terrain", "underfoot", "footing", "ground condition")),
    OurField("wet_ground", "answer", also=("wet", "wetland", "saturated")),
    OurField("distance_to_water_m", "length", also=("distance to water", "water distance")),
    OurField("desirable_tree_roots", "answer", also=("tree roots", "desirable trees")),
    OurField("evergreen_natives", "answer", also=("native evergreens",)),
    OurField("spring_ephemerals", "answer", also=("ephemerals", "spring wildflowers")),
    OurField("minutes_from_gate", "minutes", also=("walk in", "walk in minutes", "minutes to patch")),
    OurField("target_cover_percent", "percent", also=("target cover",)),
    OurField("control_state", "code", also=("management status", "control status", "treatment status", "status")),
    OurField("notes", "text", also=("comments", "comment", "remarks", "description")),
)
COMPONENT_FIELDS = (
    OurField(
        "species",
        "code",
        needed=True,
        also=(
            "scientific name",
            "taxon",
            "species code",
            "spp",
            "plant",
            "plant species",
            "weed",
            "weed species",
            "invasive species",
            "target species",
        ),
    ),
    OurField("growth_form", "code", needed=True, also=("form", "habit", "growth habit")),
    OurField("infested_area_m2", "area", also=("infested area", "infested acres")),
    OurField("infested_percent", "percent", also=("percent infested", "pct infested", "pct inf")),
    OurField(
        "cover_percent", "percent", also=("cover", "percent cover", "canopy cover", "cover pct", "pct cover", "pct cov")
    ),
    OurField("cover_class", "code", also=("density class",)),
    OurField("cover_scheme", "code", also=("class scheme",)),
    OurField("stems_small", "count", also=("small stems",)),
    OurField("stems_medium", "count", also=("medium stems",)),
    OurField("stems_large", "count", also=("large stems",)),
    OurField("height_m", "length", also=("height", "climbing height", "ht")),
    OurField("cut_height_m", "length", also=("cut height", "upper cut height", "height of upper cut")),
    OurField("host_trees", "count", also=("trees climbed", "host tree count")),
    OurField("fertile", "answer", also=("flowering", "fruiting", "fruit")),
    OurField("reproductive_condition", "code", also=("phenology", "phenophase", "flowers or fruit")),
)
# Where a table keeps the location. With a `crs` in the mapping, longitude and latitude are its east and north.
PLACE_FIELDS = (
    OurField("wkt", "place", also=("geometry", "geom", "shape", "well known text", "footprint wkt")),
    OurField("longitude", "place", also=("lon", "long", "lng", "east", "easting", "x", "decimal longitude")),
    OurField("latitude", "place", also=("lat", "north", "northing", "y", "decimal latitude")),
    OurField(
        "latitude_longitude",
        "place",
        also=(
            "lat lon",
            "lat long",
            "lat lng",
            "coordinates",
            "coords",
            "gps",
            "gps coordinates",
            "location",
            "position",
        ),
    ),
    OurField("longitude_latitude", "place", also=("lon lat", "long lat", "lng lat", "x y")),
)

ROW: Mapping[str, OurField] = {field.name: field for field in ROW_FIELDS}
COMPONENT: Mapping[str, OurField] = {field.name: field for field in COMPONENT_FIELDS}
PLACE: Mapping[str, OurField] = {field.name: field for field in PLACE_FIELDS}


def base_and_group(name: str) -> tuple[str, str]:
    """`cover_percent_2` is the field cover_percent of group 2; without a number the group is empty."""
    base, _, number = name.rpartition("_")
    return (base, number) if number.isascii() and number.isdigit() and base in COMPONENT else (name, "")


def our_field(name: str) -> OurField | None:
    """The field of this name, numbered or not."""
    base, _ = base_and_group(name)
    return ROW.get(base) or COMPONENT.get(base) or PLACE.get(base)
