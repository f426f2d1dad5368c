"""Files of unknown origin for these tests: invented offices, people, places and figures."""

import io
import json
import warnings
import zipfile
from pathlib import Path
from tempfile import TemporaryDirectory
from typing import Any

import numpy as np
import pyogrio
import shapely

from orders.common.models import Run
from orders.common.runs import run_claim, run_perform
from orders.sites.convert import known_codes
from orders.sites.geofiles.matching import suggest_document
from orders.sites.models import SurveyFile, SurveyImport
from orders.sites.services.survey_files import survey_file_add, survey_file_look, survey_file_match, survey_file_try
from tests import build
from tests.sites.geofiles.made import SMALL
from tests.sites.imports.handed import OTHER_PLACE

THEIRS: dict[str, Any] = {
    "PROPERTY": "Mill",
    "POLY_ID": "A-1",
    "SEEN": "05/31/2026",
    "RECORDER": "Invented weed office",
    "SCI_NAME": "Euonymus fortunei",
    "HABIT": "MAT",
    "PCT_COV": 35,
    "AREA_AC": 0.4,
    "FLAGGED": "blue",
}


def theirs(*rows: dict[str, Any]) -> bytes:
    """A GeoJSON file in another program's columns; `geometry` in a row goes to its place."""
    features = [
        {
            "type": "Feature",
            "properties": {name: value for name, value in {**THEIRS, **row}.items() if name != "geometry"},
            "geometry": json.loads(shapely.to_geojson(row.get("geometry", SMALL))),
        }
        for row in rows or ({},)
    ]
    return json.dumps({"type": "FeatureCollection", "features": features}).encode()


TWO = theirs({}, {"POLY_ID": "A-2", "geometry": OTHER_PLACE})
ONE_BAD = theirs({}, {"POLY_ID": "A-2", "geometry": OTHER_PLACE, "PCT_COV": 350})
TABLE = (
    b"ID;East;North;Date;Who;Plant;Form;Cover %\r\n7;-85.69925;38.20075;31.05.2026;Ada Vole;wintercreeper;vine;=1+1\r\n"
)


def zipped(**members: bytes) -> bytes:
    out = io.BytesIO()
    with zipfile.ZipFile(out, "w") as file:
        for name, data in members.items():
            file.writestr(name.replace("_", "."), data)
    return out.getvalue()


def performed(run: Run) -> None:
    """Do the background work here and now."""
    attempt = run_claim(run, at=build.NOW)
    assert attempt is not None
    run_perform(run, attempt, clock=lambda: build.NOW)
    run.refresh_from_db()


def handed(data: bytes = TWO, name: str = "theirs.geojson", **stamped: Any) -> SurveyFile:
    """A file that was looked into, with its suggestion."""
    looked = survey_file_look(data, name)
    by = stamped.pop("by", None) or build.UserFactory(roles=["coordinator"])
    suggested = suggest_document(looked.found, known_codes())
    return survey_file_add(looked=looked, mapping=suggested, stamp=build.stamp(by=by, **stamped))


def matched(data: bytes = TWO, name: str = "theirs.geojson", **stamped: Any) -> SurveyFile:
    """The same, its suggestion taken as it is."""
    row = handed(data, name, **stamped)
    return survey_file_match(survey_file=row, mapping_text=json.dumps(row.mapping), stamp=build.stamp())


def tried(data: bytes = TWO, name: str = "theirs.geojson", **stamped: Any) -> SurveyFile:
    """The same, checked here and now."""
    row = matched(data, name, **stamped)
    performed(survey_file_try(survey_file=row, stamp=build.stamp()))
    row.refresh_from_db()
    return row


def trial_of(row: SurveyFile) -> SurveyImport:
    """The trial of a file that was tried."""
    assert row.trial is not None
    return row.trial


def mapping_of(row: SurveyFile) -> dict[str, Any]:
    """The matches of a file, or what is suggested of them."""
    return dict(row.mapping or {})


def geopackage_layers(
    *, crs: str | None = "EPSG:4326", of: dict[str, dict[str, Any]] | None = None, **rows: int
) -> bytes:
    """A GeoPackage of these layers, each with so many rows. `of` changes cells of a layer; None takes a column away."""
    file = io.BytesIO()
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")
        with TemporaryDirectory() as folder:
            path = Path(folder) / "made.gpkg"
            for place, (name, count) in enumerate(rows.items()):
                cells = {**THEIRS, **(of or {}).get(name, {})}
                fields = {column: [value] * count for column, value in cells.items() if value is not None}
                pyogrio.raw.write(
                    path,
                    geometry=np.array([shapely.to_wkb(SMALL)] * count, dtype=object),
                    field_data=[np.array([str(each) for each in field], dtype=object) for field in fields.values()],
                    fields=list(fields),
                    layer=name,
                    driver="GPKG",
                    geometry_type="Polygon",
                    crs=crs,
                    append=place > 0,
                )
            file.write(path.read_bytes())
    return file.getvalue()
