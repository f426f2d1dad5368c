"""Layers of geographic formats, read by GDAL through pyogrio. Only the child process calls this.

GDAL knows some 60 formats, and a few of them lead on to other files or to the network. All drivers but our own are
taken away before the first file is opened, and the file is opened from memory.
"""

import json
import sys
from collections.abc import Sequence
from dataclasses import dataclass, replace
from functools import cache
from types import ModuleType
from typing import Any

import numpy as np
import shapely

from orders.sites.geofiles.archives import Archive, kml_documents, shapefile_alone, shapefile_stems
from orders.sites.geofiles.formats import DRIVERS, Format
from orders.sites.geofiles.loading import Loaded, ReadRequest, check_features, check_fields
from orders.sites.geofiles.projecting import GeometryArray
from orders.sites.geofiles.records import Cell, FileRefused, RawProblem
from orders.sites.geofiles.telling import names_within

# Of the five layers that GPX always has, these hold features; the other two are the points of routes and tracks.
GPX_LAYERS = ("waypoints", "routes", "tracks")
# How a map program should draw a placemark: nothing that a survey says.
KML_DISPLAY_FIELDS = frozenset({"altitudeMode", "tessellate", "extrude", "visibility", "drawOrder", "icon", "snippet"})
KML = frozenset({Format.KML, Format.KMZ})
MADE_OF_FOLDERS = KML | {Format.GPX}
# What their one layer is called says nothing; GDAL makes a name up where there is none.
OF_ONE_LAYER = frozenset({Format.GEOJSON, Format.FLATGEOBUF})


@dataclass(frozen=True, slots=True)
class Layer:
    """A layer by its place in the document that holds it; its name is for people."""

    data: bytes
    index: int
    name: str


@cache
def gdal() -> ModuleType:
    """pyogrio, with no drivers but ours. Imported here, since it is heavy and serves the child alone."""
    sys.modules.setdefault("pandas", None)  # type: ignore[arg-type]  # pyogrio would load it unasked, which takes long
    import pyogrio
    from pyogrio._ogr import _register_drivers

    # There is no public call for this; registering again makes GDAL heed the list. The check below fails shut.
    unwanted = set(pyogrio.list_drivers()) - set(DRIVERS.values())
    pyogrio.set_gdal_config_options({"GDAL_SKIP": ",".join(sorted(unwanted))})
    _register_drivers()
    if set(pyogrio.list_drivers()) - set(DRIVERS.values()):
        raise RuntimeError("GDAL still has drivers that are not on the list")
    module: ModuleType = pyogrio
    return module


def read_layer(data: bytes, file_format: Format, request: ReadRequest) -> Loaded:
    """One layer of the file: the one asked for, or the only one that there is."""
    pyogrio = gdal()
    if file_format == Format.SHAPEFILE:
        archive = Archive(data, request.limits)
        stem = _choose(shapefile_stems(archive), request)
        return _read(pyogrio, Layer(shapefile_alone(archive, stem), 0, stem), file_format, request)
    if file_format in OF_ONE_LAYER:
        return _read(pyogrio, Layer(data, 0, ""), file_format, request)
    documents = kml_documents(Archive(data, request.limits), request.limits) if file_format == Format.KMZ else [data]
    layers = [layer for document in documents for layer in _layers(pyogrio, document, file_format, request)]
    named = _by_name(layers)
    name = _choose(list(named), request)
    return _read(pyogrio, replace(named[name], name=name), file_format, request)


def layer_counts(data: bytes, file_format: Format, request: ReadRequest) -> dict[str, int]:
    """The layers that a reader could choose from, with how many rows each has; none where a file has but one."""
    pyogrio = gdal()
    if file_format in OF_ONE_LAYER:
        return {}
    if file_format == Format.SHAPEFILE:
        archive = Archive(data, request.limits)
        alone = {stem: Layer(shapefile_alone(archive, stem), 0, stem) for stem in shapefile_stems(archive)}
        return {stem: _count(pyogrio, layer) for stem, layer in alone.items()}
    documents = kml_documents(Archive(data, request.limits), request.limits) if file_format == Format.KMZ else [data]
    layers = [layer for document in documents for layer in _layers(pyogrio, document, file_format, request)]
    return {name: _count(pyogrio, layer) for name, layer in _by_name(layers).items()}


def _layers(pyogrio: ModuleType, data: bytes, file_format: Format, request: ReadRequest) -> list[Layer]:
    """The layers that hold geometry. Folders of KML and the fixed layers of GPX count only where they are filled."""
    listed = pyogrio.list_layers(data)
    if len(listed) > request.limits.layers:
        raise FileRefused("too_many_layers", f"The file has {len(listed)} layers; at most {request.limits.layers}.")
    layers = [Layer(data, index, _shown(name, index)) for index, (name, kind) in enumerate(listed) if kind is not None]
    if file_format == Format.GPX and request.layer is None:
        layers = [layer for layer in layers if layer.name in (("tracks",) if request.close_tracks else GPX_LAYERS)]
    if file_format in MADE_OF_FOLDERS:
        layers = [layer for layer in layers if _count(pyogrio, layer) > 0]
    return layers


def _shown(name: str, index: int) -> str:
    """A layer without a name of its own is called after the copy in memory, which people should not see."""
    return f"layer {index + 1}" if str(name).startswith("pyogrio_") else str(name)


def _by_name(layers: Sequence[Layer]) -> dict[str, Layer]:
    """Layers by name, so that none is lost where two documents of a KMZ use the same one."""
    named: dict[str, Layer] = {}
    for layer in layers:
        same = sum(layer.name == other.name for other in named.values())
        named[f"{layer.name} ({same + 1})" if same else layer.name] = layer
    return named


def _count(pyogrio: ModuleType, layer: Layer) -> int:
    return int(pyogrio.read_info(layer.data, layer=layer.index, force_feature_count=True)["features"])


def _choose(names: Sequence[str], request: ReadRequest) -> str:
    if not names:
        raise FileRefused("no_layer", "The file holds no layer with locations.")
    if request.layer is not None and request.layer not in names:
        raise FileRefused(
            "unknown_layer", f"There is no layer {request.layer}. The file has: {names_within(names)}.", tuple(names)
        )
    if request.layer is None and len(names) > 1:
        raise FileRefused(
            "several_layers", f"The file has several layers; choose one: {names_within(names)}.", tuple(names)
        )
    return request.layer or names[0]


def _read(pyogrio: ModuleType, layer: Layer, file_format: Format, request: ReadRequest) -> Loaded:
    info = pyogrio.read_info(layer.data, layer=layer.index)
    if info["driver"] != DRIVERS[file_format]:
        raise FileRefused("unreadable", f"The file looks like {file_format}, but is something else.")
    fields = [str(name) for name in info["fields"] if not (file_format in KML and name in KML_DISPLAY_FIELDS)]
    check_fields(len(fields), request.limits)
    check_features(info["features"], request.limits)
    meta, _, wkb, columns = pyogrio.raw.read(
        layer.data,
        layer=layer.index,
        columns=fields,
        force_2d=True,
        datetime_as_string=True,
        max_features=request.limits.features + 1,
    )
    geometries, problems = _geometries(wkb)
    return Loaded(
        layer=layer.name or None,
        crs=meta["crs"],
        fields=tuple(str(name) for name in meta["fields"]),
        geometries=geometries,
        cells=_cells(columns, len(geometries)),
        problems=problems,
    )


def _geometries(wkb: Any) -> tuple[GeometryArray, dict[int, RawProblem]]:
    """Shapes of the well-known binary; what cannot be one, such as an open ring, is a problem of its row."""
    geometries = shapely.from_wkb(wkb, on_invalid="ignore")
    problem = RawProblem(
        "geometry", "geometry_unreadable", "The outline is damaged: a ring is not closed or too short."
    )
    pairs = enumerate(zip(geometries, wkb, strict=True))
    return geometries, {position: problem for position, (shape, given) in pairs if shape is None and given is not None}


def _cells(columns: Sequence[Any], count: int) -> list[list[Cell]]:
    if not columns:
        return [[] for _ in range(count)]
    plain = [[_plain(value) for value in column.tolist()] for column in columns]
    return [list(row) for row in zip(*plain, strict=True)]


def _plain(value: Any) -> Cell:
    """A value as JSON knows it; lists as JSON text; binary content is dropped."""
    if value is None or isinstance(value, str | bool | int):
        return value
    if isinstance(value, float):
        return value if np.isfinite(value) else None
    return None if isinstance(value, bytes | memoryview) else json.dumps(value, default=list)
