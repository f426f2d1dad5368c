"""From the file's coordinate system to WGS 84."""

from dataclasses import dataclass
from typing import Any

import numpy as np
import shapely
from numpy.typing import NDArray
from pyproj import CRS, Transformer
from pyproj.exceptions import CRSError, ProjError

from orders.sites.geofiles.formats import ALWAYS_WGS84, Format
from orders.sites.geofiles.records import FileRefused

GeometryArray = NDArray[np.object_]
WGS84 = CRS.from_epsg(4326)
HOW_TO_SAY = "Name it, such as EPSG:26916: ask whoever made the file."


@dataclass(frozen=True, slots=True)
class Projected:
    """Geometries in WGS 84, where they came from, and how well the change of datum is known (None: not at all)."""

    geometries: GeometryArray
    crs: str
    error_m: float | None


def choose_crs(file_format: Format, in_file: str | None, in_mapping: str | None) -> CRS:
    """The coordinate system to read the file in: its own, or what the mapping says where the file says nothing.

    GeoJSON without a `crs` member says nothing, and is WGS 84 unless the mapping knows better.
    """
    wanted = _parsed(in_mapping, "The mapping's") if in_mapping else None
    if in_file is None:
        if wanted is None:
            raise FileRefused("no_coordinate_system", f"The file does not name its coordinate system. {HOW_TO_SAY}")
        return wanted
    own = _parsed(in_file, "The file's")
    if wanted is None or wanted.equals(own, ignore_axis_order=True):
        return own
    if file_format == Format.GEOJSON and own.equals(WGS84, ignore_axis_order=True):
        return wanted
    raise FileRefused("coordinate_system_conflict", _conflict(file_format, own, wanted))


def counts_degrees(crs: str | None) -> bool:
    """Whether coordinates of this system are degrees; of one that cannot be understood its own refusal tells."""
    try:
        axes = CRS.from_user_input(crs or WGS84).axis_info
    except CRSError:
        return True
    return bool(axes) and axes[0].unit_name == "degree"


def to_wgs84(geometries: GeometryArray, crs: CRS) -> Projected:
    """Longitude first, whatever axis order the coordinate system itself has."""
    if crs.equals(WGS84, ignore_axis_order=True) or not shapely.get_num_coordinates(geometries).any():
        return Projected(geometries, _name(crs), 0.0)
    try:
        transformer = Transformer.from_crs(crs, WGS84, always_xy=True)
        moved = shapely.transform(geometries, transformer.transform, interleaved=False)
    except ProjError as broken:
        raise _unusable(crs) from broken
    return Projected(moved, _name(crs), _error_m(transformer))


def _parsed(text: str, whose: str) -> CRS:
    try:
        return CRS.from_user_input(text).to_2d()
    except CRSError as broken:
        raise FileRefused(
            "unusable_coordinate_system", f"{whose} coordinate system cannot be understood. {HOW_TO_SAY}"
        ) from broken


def _error_m(transformer: Transformer) -> float | None:
    """The registry's figure for the operation last used; it gives a negative one where it knows none."""
    try:
        accuracy_m: Any = transformer.get_last_used_operation().accuracy
    except ProjError:
        return None
    return float(accuracy_m) if accuracy_m is not None and accuracy_m >= 0 else None


def _conflict(file_format: Format, own: CRS, wanted: CRS) -> str:
    source = f"{file_format} is always in WGS 84" if file_format in ALWAYS_WGS84 else f"the file says {_name(own)}"
    return f"The mapping says {_name(wanted)}, but {source}. Correct the one that is wrong."


def _unusable(crs: CRS) -> FileRefused:
    return FileRefused(
        "unusable_coordinate_system", f"There is no way from {_name(crs)} to longitude and latitude. {HOW_TO_SAY}"
    )


def _name(crs: CRS) -> str:
    authority = crs.to_authority()
    return ":".join(authority) if authority else crs.name
