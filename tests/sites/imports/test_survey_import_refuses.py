"""Broken files and bad rows: each is named in the report, the run ends as done, and nothing else changes."""

import json

import numpy as np
import pyogrio
import pytest
import shapely

from orders.common.models.run import DONE
from orders.sites.models import Survey
from tests import build
from tests.sites.geofiles.made import SMALL, SQUARE, shapefile, written, zipped
from tests.sites.imports.handed import CSV_HEADING, OTHER_PLACE, bring, features, held, noted, row, told

pytestmark = pytest.mark.django_db
BOW_TIE = shapely.Polygon([(-85.699, 38.201), (-85.698, 38.202), (-85.698, 38.201), (-85.699, 38.202)])

BROKEN_FILES = {
    "noise": (b"\x93\x00nothing" * 40, "survey.gpkg", "unknown_format"),
    "half a geopackage": (written("GPKG", geometries=[SMALL])[:3000], "survey.gpkg", "unreadable"),
    "half a geojson": (features(row())[:-40], "survey.geojson", "unreadable"),
    "damaged zip": (zipped(a__shp=b"x" * 500)[:-20], "survey.zip", "unreadable"),
    "no shapefile in the zip": (zipped(readme__txt=b"nothing"), "survey.zip", "unknown_format"),
    "no rows": (features(), "survey.geojson", "empty_file"),
    "table without places": (b"site_code,patch_code\nMILL,P1\n", "survey.csv", "no_geometry_column"),
    "document type": (b"<!DOCTYPE kml [<!ENTITY a 'b'>]><kml>&a;</kml>", "survey.kml", "unreadable"),
}
BAD_ROWS = [
    ({"site_code": "NOWHERE"}, "site_code", "unknown_site"),
    ({"patch_code": " "}, "patch_code", "missing"),
    ({"patch_code": "x" * 41}, "patch_code", "too_long"),
    ({"observed_on": "soon"}, "observed_on", "date_unreadable"),
    ({"observed_on": "2026-12-02"}, "observed_on", "date_in_future"),
    ({"observer": ""}, "observer", "missing"),
    ({"species": "kudzu"}, "species", "unknown_species"),
    ({"growth_form": "tree"}, "growth_form", "unknown_growth_form"),
    ({"cover_percent": 140}, "cover_percent", "cover_out_of_range"),
    ({"cover_percent": "much"}, "cover_percent", "number_unreadable"),
    ({"infested_area_m2": 1e6}, "infested_area_m2", "infested_over_gross"),
    ({"slope_deg": 89}, "slope_deg", "out_of_range"),
    ({"wet_ground": "damp"}, "wet_ground", "answer_unreadable"),
    ({"control_state": "hopeless"}, "control_state", "unknown_control_state"),
    ({"geometry": SMALL.boundary}, "geometry", "line_geometry"),
    ({"geometry": BOW_TIE}, "geometry", "self_crossing"),
    ({"geometry": shapely.box(38.2005, -85.6995, 38.2010, -85.6990)}, "geometry", "longitude_latitude_swapped"),
    ({"geometry": shapely.Point(-85.699, 38.201)}, "gross_area_m2", "area_missing"),
]


@pytest.mark.parametrize("name", BROKEN_FILES)
def test_it_refuses_a_broken_file_and_changes_nothing(mill, name):
    data, file_name, code = BROKEN_FILES[name]
    before = held()
    imported = bring(data, file_name)
    assert told(imported) == [(None, "file", code)]
    assert (imported.state, imported.refused, imported.error) == (DONE, True, "")
    assert held() == before


def test_it_refuses_a_file_that_does_not_say_where_on_earth_it_is(mill, tmp_path):
    before = held()
    imported = bring(shapefile(tmp_path, geometries=[SMALL], without=[".prj"]), "survey.zip")
    assert told(imported) == [(None, "file", "no_coordinate_system")]
    assert held() == before


@pytest.mark.parametrize(("changes", "field", "code"), BAD_ROWS, ids=[code for _, _, code in BAD_ROWS])
def test_it_names_the_bad_row_and_changes_nothing(mill, changes, field, code):
    before = held()
    good = row(patch_code="P2", geometry=OTHER_PLACE)
    imported = bring(features(good, row(**changes)))
    assert told(imported) == [(2, field, code)]
    assert (imported.state, imported.refused, imported.rows_read, imported.rows_added) == (DONE, True, 2, 0)
    assert held() == before


def test_it_reports_every_bad_row():
    bad = [row(patch_code=f"P{number}", cover_percent=101) for number in range(30)]
    build.SiteFactory(code="MILL", boundary=build.square(side=0.01))
    build.SpeciesFactory(code="EUFO")
    imported = bring(features(*bad))
    assert [number for number, _, _ in told(imported)] == list(range(1, 31))


def test_it_names_the_line_of_a_table(mill):
    notes = f'{CSV_HEADING},notes\nMILL,P1,2026-05-01,Ada,EUFO,herb,1,"{SMALL.wkt}","two\nlines"\n'
    bad = f'MILL,P2,2026-05-01,Ada,EUFO,herb,101,"{OTHER_PLACE.wkt}",\n'
    imported = bring((notes + bad).encode(), "survey.csv")
    assert [(found["row"], found["line"], found["field"]) for found in imported.errors] == [(2, 4, "cover_percent")]
    assert imported.errors[0]["message"] == "101 is not from 0 to 100."


def test_it_lists_the_layers_to_choose_from(mill, tmp_path):
    file = written_twice(tmp_path)
    imported = bring(file, "survey.gpkg")
    assert told(imported) == [(None, "file", "several_layers")]
    assert imported.errors[0]["names"] == ["weeds", "trees"]


def written_twice(tmp_path):
    """A GeoPackage of two layers."""
    path = tmp_path / "both.gpkg"
    path.write_bytes(written("GPKG", geometries=[SMALL], layer="weeds"))
    add_layer(path, "trees")
    return path.read_bytes()


def add_layer(path, layer):
    outlines = np.array([shapely.to_wkb(SQUARE)], dtype=object)
    given = {"driver": "GPKG", "crs": "EPSG:4326", "geometry_type": "Polygon"}
    pyogrio.raw.write(path, outlines, [np.array(["x"], dtype=object)], ["name"], layer=layer, append=True, **given)


def test_it_says_which_key_of_the_mapping_does_not_fit_the_file(mill):
    imported = bring(mapping_text=json.dumps({"columns": {"patch_code": "POLY"}}))
    assert told(imported) == [(None, "mapping", "mapping")]
    assert "columns.patch_code" in imported.errors[0]["message"]


def test_it_holds_the_programs_own_limits(mill, settings):
    settings.SURVEY_FILE_MAX_FEATURES = 2
    imported = bring(features(*[row(patch_code=f"P{number}") for number in range(3)]))
    assert told(imported) == [(None, "file", "too_many_features")]


def test_it_refuses_what_unpacks_to_too_much(mill, settings):
    settings.SURVEY_FILE_MAX_UNPACKED_BYTES = 10_000
    imported = bring(zipped(a__shp=b"0" * 20_000, a__shx=b"", a__dbf=b""), "survey.zip")
    assert told(imported) == [(None, "file", "unpacked_too_large")]


def test_it_refuses_other_words_on_a_patch_and_day_that_are_told(mill):
    bring()
    before = held()
    imported = bring(features(row(patch_code="P2", geometry=OTHER_PLACE), row(cover_percent=41)))
    assert told(imported) == [(2, "observed_on", "survey_exists")]
    assert held() == before
    assert Survey.objects.get().components.get().cover_likely == 0.4


def test_it_has_no_warning_of_what_was_not_done(mill):
    build.PatchFactory(site=mill, code="p1")
    imported = bring(features(row(), row(patch_code="P2", cover_percent=101)))
    assert (imported.refused, noted(imported)) == (True, [])
