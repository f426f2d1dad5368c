"""What the pages of survey files show: files of an invented office, on their way, looked at, taken, refused."""

from typing import Any

from django.urls import reverse

from orders.sites.services.survey_files import survey_file_take, survey_mapping_add
from tests import build
from tests.sites.files.made import ONE_BAD, TABLE, geopackage_layers, handed, performed, theirs, tried

DESK = ("coordinator",)


def mill() -> None:
    build.SpeciesFactory(code="EUFO", scientific_name="Euonymus fortunei", common_name="wintercreeper")
    for code in ("ground cover", "climbing", "shrub"):
        build.GrowthFormFactory(code=code)
    build.SiteFactory(code="MILL", name="Mill race", boundary=build.square(side=0.01))


def _address(name: str, row) -> str:
    return reverse(name, args=[row.public_id])


def listed() -> str:
    mill()
    handed()
    tried(ONE_BAD, "with a very long name of an invented weed office of the county.geojson")
    ended: dict[str, dict[str, Any]] = {
        "a.csv": {"refused": True},
        "b.kmz": {"rows_added": 1204},
        "c.zip": {"dry_run": True},
    }
    for name, facts in ended.items():
        build.SurveyImportFactory(file_name=name, state="done", asked_by=build.UserFactory(), **facts)
    return reverse("survey-files")


def match() -> str:
    mill()
    survey_mapping_add(
        name="Invented weed office",
        columns=["POLY_ID"],
        mapping_text='{"columns": {"patch_code": "POLY_ID"}}',
        stamp=build.stamp(),
    )
    return _address("survey-file", handed(theirs({}, {"HABIT": "BRAMBLY", "RECORDER": ""})))


def match_table() -> str:
    mill()
    return _address("survey-file", handed(TABLE, "table.csv"))


def look() -> str:
    mill()
    return _address("survey-file-look", tried(ONE_BAD))


def look_refused() -> str:
    mill()
    return _address("survey-file-look", tried(theirs({"PCT_COV": 350})))


def taken() -> str:
    mill()
    imported = survey_file_take(survey_file=tried(ONE_BAD), keep_good_rows=True, stamp=build.stamp())
    performed(imported)
    return _address("survey-import", imported)


def mappings() -> str:
    match()
    return reverse("survey-mappings")


def export() -> str:
    mill()
    build.SurveyFactory()
    return reverse("survey-export")


def match_layers() -> str:
    mill()
    return _address("survey-file", handed(geopackage_layers(north=1, south=2, spare=0), "layers.gpkg"))


def taken_layers() -> str:
    mill()
    row = tried(geopackage_layers(north=1, south=1, spare=0), "layers.gpkg")
    imported = survey_file_take(survey_file=row, keep_good_rows=True, stamp=build.stamp())
    performed(imported)
    return _address("survey-import", imported)


STATES = {
    "survey-files": listed,
    "survey-files-empty": lambda: "/surveys/",
    "survey-file-new": lambda: "/surveys/new/",
    "survey-file-match": match,
    "survey-file-table": match_table,
    "survey-file-look": look,
    "survey-file-refused": look_refused,
    "survey-import": taken,
    "survey-file-layers": match_layers,
    "survey-import-layers": taken_layers,
    "survey-mappings": mappings,
    "survey-mappings-empty": lambda: "/surveys/mappings/",
    "survey-export": export,
}
