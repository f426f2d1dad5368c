"""The same survey from files of several formats and coordinate systems, each through the reader's own process."""

import json

import pytest
import shapely

from orders.sites.models import Survey
from tests.sites.geofiles.made import SMALL, shapefile, written, zipped
from tests.sites.imports.handed import CSV_HEADING, bring, features, noted, row, told

pytestmark = pytest.mark.django_db
SHORT_NAMES = {
    "columns": {
        "site_code": {"constant": "MILL"},
        "patch_code": "PATCH",
        "observed_on": {"column": "DATE_", "format": "%m/%d/%Y"},
        "observer": "WHO",
        "species": {"column": "PLANT", "values": {"creeper": "EUFO"}},
        "growth_form": {"constant": "ground cover"},
        "cover_percent": {"column": "COVER", "unit": "fraction"},
    }
}
SHORT_ROW = {"PATCH": ["P1"], "DATE_": ["05/01/2026"], "WHO": ["Ada Vole"], "PLANT": ["creeper"], "COVER": [0.4]}


def the_survey(imported):
    assert told(imported) == []
    assert (imported.refused, imported.rows_read, imported.rows_added, imported.surveys_added) == (False, 1, 1, 1)
    return Survey.objects.get()


def assert_is_the_small_square(survey):
    outline = shapely.from_geojson(json.dumps(survey.geometry))
    assert outline.hausdorff_distance(SMALL) * 111_320 < 0.05
    assert survey.gross_area_m2 == pytest.approx(2430.6, rel=2e-4)  # 43.8 m by 55.5 m; tests/published has the check


def test_it_takes_geojson(mill):
    assert_is_the_small_square(the_survey(bring(features(row()))))


@pytest.mark.parametrize("driver", ["GPKG", "GeoJSON", "FlatGeobuf", "LIBKML"])
def test_it_knows_the_same_survey_from_each_format(mill, driver):
    bring(features(row()))
    again = bring(written(driver, geometries=[SMALL]), f"survey.{driver}")
    assert (again.rows_known, again.rows_added, told(again)) == (1, 0, [])
    assert Survey.objects.count() == 1


@pytest.mark.parametrize("crs", ["EPSG:26916", "EPSG:2246", "EPSG:3857", "EPSG:4269"])
def test_it_brings_each_coordinate_system_to_wgs84(mill, crs):
    assert_is_the_small_square(the_survey(bring(written("GPKG", geometries=[SMALL], crs=crs), "survey.gpkg")))


def test_it_takes_a_zipped_shapefile_through_a_mapping(mill, tmp_path):
    file = shapefile(tmp_path, geometries=[SMALL], columns=SHORT_ROW, crs="EPSG:26916")
    survey = the_survey(bring(file, "survey.zip", mapping_text=json.dumps(SHORT_NAMES)))
    assert_is_the_small_square(survey)
    assert (str(survey.observed_on), survey.observer) == ("2026-05-01", "Ada Vole")
    assert survey.components.get().cover_likely == 0.4


def test_it_takes_kmz(mill):
    kmz = zipped(doc__kml=written("LIBKML", geometries=[SMALL]))
    assert_is_the_small_square(the_survey(bring(kmz, "survey.kmz")))


def test_it_takes_csv_with_outlines_in_words(mill):
    line = f'MILL,P1,2026-05-01,Ada Vole,Euonymus fortunei,Ground cover,40,"{SMALL.wkt}"'
    assert_is_the_small_square(the_survey(bring(f"{CSV_HEADING}\n{line}\n".encode(), "survey.csv")))


def test_it_takes_the_layer_that_is_named(mill):
    file = written("GPKG", geometries=[SMALL], layer="weeds")
    assert_is_the_small_square(the_survey(bring(file, "survey.gpkg", layer="weeds")))
    assert told(bring(file, "survey.gpkg", layer="trees")) == [(None, "file", "unknown_layer")]


def test_it_keeps_what_the_reader_doubts(mill):
    imported = bring(features(row(color="green")))
    assert noted(imported) == [(None, "columns", "columns_not_read")]
