"""What passes between the steps of reading a survey file: limits, raw rows, checked rows, and what was found wrong."""

import hashlib
import json
from collections.abc import Mapping
from dataclasses import asdict, dataclass
from datetime import date
from typing import Any, Literal

from shapely.geometry.base import BaseGeometry

from orders.sites.geofiles.areas import Bounds, canonical_wkb

Cell = str | int | float | bool | None
Answer = Literal["yes", "no", "unknown"]
YES: Answer = "yes"
NO: Answer = "no"
UNKNOWN: Answer = "unknown"
GroundKind = Literal["even", "rough", "obstructed", "unknown"]
GROUND_KINDS: tuple[GroundKind, ...] = ("even", "rough", "obstructed", "unknown")
Condition = Literal["unknown", "none", "flowers", "fruit"]
CONDITIONS: tuple[Condition, ...] = ("unknown", "none", "flowers", "fruit")

MEBIBYTE = 1024 * 1024
FINGERPRINT_VERSION = 1
# Facts that came later than the first surveys. One that is not told stays out of the fingerprint, so that a file which
# was read before they existed is known again.
LATER_FACTS: Mapping[str, object] = {"ground": UNKNOWN, "cut_height_m": None, "reproductive_condition": UNKNOWN}


@dataclass(frozen=True, slots=True)
class Limits:
    """How much of a file is read before it is refused: our own figures, ample for a season's survey of one program."""

    file_bytes: int = 25 * MEBIBYTE
    unpacked_bytes: int = 200 * MEBIBYTE
    archive_members: int = 500
    layers: int = 50
    fields: int = 300
    features: int = 50_000
    vertices: int = 2_000_000
    cell_characters: int = 10_000
    memory_bytes: int = 1536 * MEBIBYTE
    cpu_seconds: int = 60
    wall_seconds: float = 90.0


class FileRefused(Exception):
    """The file as a whole cannot be read. `code` is for programs, `message` for the person who sent the file."""

    def __init__(self, code: str, message: str, names: tuple[str, ...] = ()) -> None:
        super().__init__(message)
        self.code = code
        self.message = message
        self.names = names


class MappingRefused(FileRefused):
    """A mapping cannot be used; `key` names the place in the mapping, such as `columns.observed_on.format`."""

    def __init__(self, key: str, message: str) -> None:
        super().__init__("mapping", f"{key}: {message}", (key,))
        self.key = key


@dataclass(frozen=True, slots=True)
class RawProblem:
    """What kept part of a row from being read at all."""

    field: str
    code: str
    reason: str


@dataclass(frozen=True, slots=True)
class RawRow:
    """One feature or table row as it stands in the file, its geometry already in WGS 84 (longitude, latitude), 2D.

    `number` counts from 1 as the user sees it; `line` is the line of a CSV file on which the row begins.
    """

    number: int
    geometry: BaseGeometry | None
    attributes: Mapping[str, Cell]
    line: int | None = None
    problem: RawProblem | None = None


@dataclass(frozen=True, slots=True)
class RawFile:
    """A file that could be read. `crs` is the coordinate system the file was in, before the change to WGS 84.

    `position_error_m` is the accuracy of that change as the registry of coordinate systems states it; None: not known.
    """

    format: str
    layer: str | None
    crs: str
    fields: tuple[str, ...]
    rows: tuple[RawRow, ...]
    position_error_m: float | None = 0.0


@dataclass(frozen=True, slots=True)
class RowFinding:
    """One thing found in one row (row 0: the file as a whole). `line` is the line of a CSV file."""

    row: int
    field: str
    code: str
    reason: str
    line: int | None = None


@dataclass(frozen=True, slots=True)
class RowError(RowFinding):
    """The row cannot be taken."""


@dataclass(frozen=True, slots=True)
class RowWarning(RowFinding):
    """The row is taken; a person should look at this."""


@dataclass(frozen=True, slots=True)
class KnownSite:
    """What is known of where a site lies: its boundary, or only a box round it, or neither; and its time zone."""

    boundary: BaseGeometry | None = None
    bounds: Bounds | None = None
    time_zone: str = ""


# Longitude -180 to -60, latitude 15 to 72 hold all of the United States. Source: computed from the extent of the
# states, Alaska to the Caribbean territories; a program elsewhere gives its own box.
UNITED_STATES = Bounds(-180.0, 15.0, -60.0, 72.0)


@dataclass(frozen=True, slots=True)
class KnownCodes:
    """The program's own codes, against which rows are checked.

    `species` maps a code to the names it may be called by, scientific name first; `cover_schemes` a scheme to its
    classes. A location outside of `plausible` is refused, unless it lies by its own site.
    """

    sites: Mapping[str, KnownSite]
    species: Mapping[str, tuple[str, ...]]
    growth_forms: frozenset[str]
    cover_schemes: Mapping[str, frozenset[str]]
    control_states: frozenset[str]
    plausible: Bounds = UNITED_STATES


@dataclass(frozen=True, slots=True)
class SurveyComponent:
    """One species in one growth form within a patch, as observed."""

    species_code: str
    growth_form: str
    infested_area_m2: float
    infested_percent: float
    cover_percent: float | None = None
    cover_class: str | None = None
    cover_scheme: str | None = None
    stems_small: int | None = None
    stems_medium: int | None = None
    stems_large: int | None = None
    height_m: float | None = None
    cut_height_m: float | None = None
    host_trees: int | None = None
    fertile: Answer = UNKNOWN
    reproductive_condition: Condition = "unknown"


@dataclass(frozen=True, slots=True)
class SurveyRow:
    """One observation of one patch, checked and ready to store. `rows` are the file's rows it was made from."""

    rows: tuple[int, ...]
    site_code: str
    patch_code: str
    observed_on: date
    observer: str
    geometry: BaseGeometry
    area_m2: float
    components: tuple[SurveyComponent, ...]
    patch_name: str = ""
    slope_deg: float | None = None
    ground: GroundKind = "unknown"
    wet_ground: Answer = UNKNOWN
    distance_to_water_m: float | None = None
    desirable_tree_roots: Answer = UNKNOWN
    evergreen_natives: Answer = UNKNOWN
    spring_ephemerals: Answer = UNKNOWN
    minutes_from_gate: float | None = None
    target_cover_percent: float | None = None
    control_state: str | None = None
    notes: str = ""

    def fingerprint(self) -> str:
        """sha256 of what was observed, not of where in the file it stood: the same survey sent twice is the same."""
        content = json.dumps(self._canonical(), sort_keys=True, ensure_ascii=True, separators=(",", ":"))
        return hashlib.sha256(content.encode()).hexdigest()

    def _canonical(self) -> dict[str, Any]:
        content = asdict(self)
        # The rows say where it stood. A polygon's area follows from its outline, and may differ in the last digits
        # between two versions of the geodesic library; a point's area was given.
        del content["rows"]
        if self.geometry.geom_type != "Point":
            del content["area_m2"]
        content["geometry"] = canonical_wkb(self.geometry).hex()
        content["observed_on"] = self.observed_on.isoformat()
        parts = (_rounded(_told(asdict(part))) for part in self.components)
        content["components"] = sorted(parts, key=_component_key)
        return {"version": FINGERPRINT_VERSION, **_rounded(_told(content))}


def _told(content: dict[str, Any]) -> dict[str, Any]:
    """Without the later facts that the row says nothing of."""
    return {name: value for name, value in content.items() if name not in LATER_FACTS or value != LATER_FACTS[name]}


def _rounded(content: dict[str, Any]) -> dict[str, Any]:
    """Floats to 6 decimals, so that 40.0 read from one format and 40 from another are the same."""
    return {name: round(float(value), 6) if _is_number(value) else value for name, value in content.items()}


def _is_number(value: object) -> bool:
    return isinstance(value, int | float) and not isinstance(value, bool)


def _component_key(component: dict[str, Any]) -> tuple[str, str]:
    return component["species_code"], component["growth_form"]


@dataclass(frozen=True, slots=True)
class Checked:
    """The rows without an error, and everything found wrong in the others."""

    rows: tuple[SurveyRow, ...]
    errors: tuple[RowError, ...] = ()
    warnings: tuple[RowWarning, ...] = ()
