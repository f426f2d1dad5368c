"""Survey files in the demo: one on its way with rows that cannot be taken, and matches kept for the county's files."""

import json

from orders.common.runs import run_claim, run_perform
from orders.desk.demo.scene import FOLDER, Walk
from orders.sites.convert import known_codes
from orders.sites.geofiles.matching import suggest_document
from orders.sites.models import Patch, SurveyImport
from orders.sites.services.survey_files import (
    survey_file_add,
    survey_file_look,
    survey_file_match,
    survey_file_try,
    survey_mapping_add,
)

COUNTY = "Pell County weed office (invented)"
TRUST = "Neighboring land trust (invented)"
SIDE_DEG = 0.0006


def survey_files(steps: Walk) -> None:
    """What a visitor finds at /surveys/: earlier imports, a file that waits to be taken, saved matches."""
    mapping = (FOLDER / "mapping_county.json").read_text(encoding="utf-8")
    looked = survey_file_look((FOLDER / "survey_2.zip").read_bytes(), "survey_2.zip")
    survey_mapping_add(
        name=COUNTY, columns=list(looked.found.fields), mapping_text=mapping, stamp=steps.stamp("coordinator")
    )
    trial = _waiting(steps)
    steps.tell(
        f"Files      {trial.file_name} waits to be taken: {trial.surveys_added} surveys, {len(trial.errors)} errors; "
        f"the matches of {COUNTY} are kept"
    )


def _waiting(steps: Walk) -> SurveyImport:
    """A file in other columns, with slips in two of its rows, looked into, matched as suggested and tried."""
    looked = survey_file_look(_file().encode(), "land_trust_walk.geojson")
    stamp = steps.stamp("coordinator")
    row = survey_file_add(looked=looked, mapping=suggest_document(looked.found, known_codes()), stamp=stamp)
    survey_file_match(survey_file=row, mapping_text=json.dumps(row.mapping), stamp=stamp)
    trial = survey_file_try(survey_file=row, stamp=stamp)
    attempt = run_claim(trial, at=steps.at)
    if attempt is not None:
        run_perform(trial, attempt, clock=lambda: steps.at)
    trial.refresh_from_db()
    return trial


def _file() -> str:
    """Beside patches that are there, so that it lies on the sites; all of it is invented."""
    patches = Patch.objects.filter(site__code="HOLLOW", surveys__isnull=False).order_by("code").distinct()[:6]
    features = []
    for number, patch in enumerate(patches, start=1):
        newest = patch.surveys.order_by("-observed_on", "-id")[0]
        said = {
            "Preserve": "Hollow",
            "Polygon ID": f"LT-{number}",
            "Survey Date": f"11/2{number}/2026",
            "Surveyor": TRUST,
            "Weed": "Euonymus fortunei",
            "Habit": "vine" if number % 2 else "mat",
            "Cover %": 140 if number == 2 else 10 * number,
            "Remarks": "Invented.",
        }
        features.append({"type": "Feature", "properties": said, "geometry": _beside(newest.max_lon, newest.min_lat)})
    return json.dumps({"type": "FeatureCollection", "features": features})


def _beside(east: float, south: float) -> dict[str, object]:
    corners = [(0.0, 0.0), (1.0, 0.1), (1.1, 0.8), (0.4, 1.0), (0.0, 0.0)]
    ring = [[round(east + x * SIDE_DEG, 7), round(south + y * SIDE_DEG, 7)] for x, y in corners]
    return {"type": "Polygon", "coordinates": [ring]}
