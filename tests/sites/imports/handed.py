"""Survey files handed in by these tests, and what they leave behind. People, places and figures are invented."""

import json
from typing import Any

import shapely

from orders.common.models import Change
from orders.sites.models import Patch, Survey, SurveyComponent, SurveyImport
from orders.sites.services.surveys import survey_import_now
from tests import build
from tests.sites.geofiles.made import GOOD, SMALL

OTHER_PLACE = shapely.box(-85.6985, 38.2005, -85.6980, 38.2010)
CSV_HEADING = "site_code,patch_code,observed_on,observer,species,growth_form,cover_percent,wkt"


def row(**changes: Any) -> dict[str, Any]:
    """A feature's properties: a good row of ours with these changes; None takes a column out."""
    return {name: value for name, value in {**GOOD, **changes}.items() if value is not None}


def features(*rows: dict[str, Any], geometry: Any = SMALL) -> bytes:
    """A GeoJSON file of these rows; `geometry` in a row goes to its place."""
    collection = [
        {
            "type": "Feature",
            "properties": {name: value for name, value in each.items() if name != "geometry"},
            "geometry": json.loads(shapely.to_geojson(each.get("geometry", geometry))),
        }
        for each in rows
    ]
    return json.dumps({"type": "FeatureCollection", "features": collection}).encode()


def bring(data: bytes | None = None, file_name: str = "survey.geojson", **asked: Any) -> SurveyImport:
    """Hand a file in and have it imported here and now."""
    stamp = asked.pop("stamp", None) or build.stamp()
    data = features(row()) if data is None else data
    return survey_import_now(data=data, file_name=file_name, stamp=stamp, clock=lambda: stamp.at, **asked)


def told(imported: SurveyImport) -> list[tuple[int | None, str, str]]:
    """Row, field and code of each error."""
    return [(found["row"], found["field"], found["code"]) for found in imported.errors]


def noted(imported: SurveyImport) -> list[tuple[int | None, str, str]]:
    """Row, field and code of each warning."""
    return [(found["row"], found["field"], found["code"]) for found in imported.warnings]


def held() -> tuple[int, int, int, int]:
    """How much there is of what an import may write."""
    written = Change.objects.exclude(entity="surveyimport")
    return Patch.objects.count(), Survey.objects.count(), SurveyComponent.objects.count(), written.count()
