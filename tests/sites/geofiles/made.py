"""Survey files and program codes for these tests; people, sites and figures are invented."""

import io
import json
import warnings
import zipfile
from collections.abc import Sequence
from datetime import date
from typing import Any

import numpy as np
import pyogrio
import shapely
from pyproj import Transformer

from orders.sites.geofiles.areas import Bounds
from orders.sites.geofiles.checks import check_rows
from orders.sites.geofiles.mapping import IDENTITY, FieldMapping
from orders.sites.geofiles.records import Checked, KnownCodes, KnownSite, RawFile, RawProblem, RawRow

TODAY = date(2026, 11, 25)
SQUARE = shapely.box(-85.70, 38.20, -85.69, 38.21)
SMALL = shapely.box(-85.6995, 38.2005, -85.6990, 38.2010)
KNOWN = KnownCodes(
    sites={"MILL": KnownSite(bounds=Bounds(-85.71, 38.19, -85.68, 38.22)), "FARM": KnownSite()},
    species={
        "EUFO": ("Euonymus fortunei", "wintercreeper"),
        "LOMA": ("Lonicera maackii", "Amur honeysuckle"),
    },
    growth_forms=frozenset({"ground_cover", "climbing", "sprawling", "shrub", "herb"}),
    cover_schemes={"daubenmire-1959": frozenset("123456")},
    control_states=frozenset({"untreated", "under_treatment", "maintenance", "eradicated"}),
)
GOOD: dict[str, Any] = {
    "site_code": "MILL",
    "patch_code": "P1",
    "observed_on": "2026-05-01",
    "observer": "Ada Vole",
    "species": "EUFO",
    "growth_form": "ground_cover",
    "cover_percent": 40.0,
}


def raw_file(*rows: dict[str, Any], geometry: Any = SQUARE) -> RawFile:
    """A file of these rows as the reader hands it on; `geometry` and `problem` in a row go to their places."""
    fields = tuple(dict.fromkeys(name for row in rows for name in row if name not in ("geometry", "problem")))
    return RawFile(
        format="GeoJSON",
        layer="patches",
        crs="EPSG:4326",
        fields=fields,
        rows=tuple(
            RawRow(
                number=number,
                geometry=row.get("geometry", geometry),
                attributes={name: row.get(name) for name in fields},
                problem=row.get("problem"),
            )
            for number, row in enumerate(rows, start=1)
        ),
    )


def check(*rows: dict[str, Any], mapping: FieldMapping = IDENTITY, known: KnownCodes = KNOWN, **given: Any) -> Checked:
    """The rows checked, each a good row with these changes."""
    return check_rows(raw_file(*({**GOOD, **row} for row in rows), **given), mapping, known, TODAY)


def found(checked: Checked) -> list[tuple[int, str, str]]:
    """Row, field and code of each error."""
    return [(error.row, error.field, error.code) for error in checked.errors]


def warned(checked: Checked) -> list[tuple[int, str, str]]:
    """Row, field and code of each warning."""
    return [(warning.row, warning.field, warning.code) for warning in checked.warnings]


def damaged(code: str = "geometry_unreadable") -> RawProblem:
    return RawProblem("geometry", code, "The outline is damaged.")


def written(
    driver: str,
    geometries: Sequence[Any] = (SQUARE,),
    columns: dict[str, Sequence[Any]] | None = None,
    crs: str | None = "EPSG:4326",
    layer: str = "patches",
    **options: Any,
) -> bytes:
    """A file of this driver. Geometries are given in WGS 84 and written in `crs`."""
    columns = {name: [value] * len(geometries) for name, value in GOOD.items()} if columns is None else columns
    moved = shapely.transform(np.array(geometries, dtype=object), _from_wgs84(crs), interleaved=False)
    target = io.BytesIO()
    with warnings.catch_warnings():
        warnings.simplefilter("ignore", RuntimeWarning)  # GDAL misses a file ending where there is no file
        pyogrio.raw.write(
            target,
            np.array(shapely.to_wkb(moved), dtype=object),
            [_column(values) for values in columns.values()],
            list(columns),
            driver=driver,
            layer=layer,
            crs=crs,
            geometry_type=options.pop("geometry_type", "Unknown"),
            **options,
        )
    return target.getvalue()


def shapefile(tmp_path: Any, *stems: str, without: Sequence[str] = (), folder: str = "", **given: Any) -> bytes:
    """A zip of shapefiles made in a folder of the test's own."""
    packed = io.BytesIO()
    with zipfile.ZipFile(packed, "w") as archive:
        for stem in stems or ("patches",):
            _write_shapefile(tmp_path / f"{stem}.shp", **given)
            for part in sorted(tmp_path.glob(f"{stem}.*")):
                if part.suffix not in without:
                    archive.write(part, f"{folder}{part.name}")
    return packed.getvalue()


def _write_shapefile(
    path: Any,
    geometries: Sequence[Any] = (SQUARE,),
    columns: dict[str, Sequence[Any]] | None = None,
    crs: str | None = "EPSG:4326",
) -> None:
    columns = columns or {"PATCH": ["P1"] * len(geometries)}
    moved = shapely.transform(np.array(geometries, dtype=object), _from_wgs84(crs), interleaved=False)
    with warnings.catch_warnings():
        warnings.simplefilter("ignore", UserWarning)  # a file without a coordinate system is what some tests ask for
        pyogrio.raw.write(
            str(path),
            np.array(shapely.to_wkb(moved), dtype=object),
            [_column(values) for values in columns.values()],
            list(columns),
            driver="ESRI Shapefile",
            crs=crs,
            geometry_type="Polygon",
        )


def zipped(**members: bytes) -> bytes:
    """A zip of these members, compressed; two underscores in a name stand for the dot."""
    packed = io.BytesIO()
    with zipfile.ZipFile(packed, "w", zipfile.ZIP_DEFLATED) as archive:
        for name, content in members.items():
            archive.writestr(name.replace("__", "."), content)
    return packed.getvalue()


def geojson(*geometries: Any, **properties: Any) -> bytes:
    """A feature collection written out by hand; geometries are GeoJSON objects, shapes or None."""
    features = [
        {
            "type": "Feature",
            "properties": {**GOOD, **properties},
            "geometry": shape if shape is None or isinstance(shape, dict) else json.loads(shapely.to_geojson(shape)),
        }
        for shape in geometries
    ]
    return json.dumps({"type": "FeatureCollection", "features": features}).encode()


def gpx(body: str) -> bytes:
    return (
        f'<?xml version="1.0"?><gpx version="1.1" creator="tests" xmlns="http://www.topografix.com/GPX/1/1">{body}</gpx>'
    ).encode()


def _from_wgs84(crs: str | None) -> Any:
    if crs is None:
        return lambda east, north: (east, north)
    return Transformer.from_crs("EPSG:4326", crs, always_xy=True).transform


def _column(values: Sequence[Any]) -> Any:
    return np.array(values, dtype=float if isinstance(values[0], float) else object)
