"""Surveys as a file: what goes out comes in again, and says what others can read."""

import csv
import io
import json
import zipfile
from xml.etree import ElementTree

import pytest

from orders.common.errors import Invalid
from orders.sites.darwin_core import NAMESPACE, TERMS
from orders.sites.exporting import FORMATS, ExportAsk, surveys_exported
from orders.sites.models import Survey
from tests import build
from tests.sites.imports.handed import OTHER_PLACE, bring, features, noted, told
from tests.sites.imports.test_survey_export import GONE, PLAIN, POINT, RICH

pytestmark = pytest.mark.django_db
FORMULA = {**PLAIN, "patch_code": "P5", "notes": "=1+1", "geometry": OTHER_PLACE, "observed_on": "2026-05-03"}


@pytest.fixture
def imported(mill):
    imported = bring(features(RICH, {**PLAIN, "geometry": OTHER_PLACE}, GONE, POINT, FORMULA))
    assert (told(imported), imported.surveys_added) == ([], 5)
    return imported


def exported(file_format, **asked):
    return surveys_exported(ExportAsk(file_format, **asked), at=build.NOW)


def occurrences(file_format="dwc-csv"):
    return list(csv.DictReader(io.StringIO(exported(file_format).data.decode())))


@pytest.mark.parametrize("file_format", ["geojson", "gpkg", "csv"])
def test_a_file_that_goes_out_is_known_when_it_comes_in(imported, file_format):
    made = exported(file_format)
    again = bring(made.data, made.name)
    assert (made.count, told(again), again.rows_known, again.rows_added) == (5, [], 5, 0)
    assert noted(again) == []


def test_its_name_says_the_day(imported):
    assert exported("gpkg").name == "surveys-2026-12-01.gpkg"


def test_a_spreadsheet_runs_nothing_of_it(imported):
    assert "'=1+1" in exported("csv").data.decode()
    assert "'=1+1" in [row["occurrenceRemarks"] for row in occurrences()]


def test_it_takes_the_newest_of_each_patch_or_all(imported):
    bring(features({**PLAIN, "observed_on": "2026-06-01", "cover_percent_1": 5, "geometry": OTHER_PLACE}))
    assert (exported("geojson").count, exported("geojson", newest=False).count) == (5, 6)


def test_it_takes_sites_and_days(imported):
    other = build.SurveyFactory(patch__site__code="FARM")
    assert exported("geojson", sites=[other.patch.site]).count == 1
    first = exported("geojson", first_day=Survey.objects.get(notes="=1+1").observed_on)
    assert {feature["properties"]["patch_code"] for feature in json.loads(first.data)["features"]} == {
        "P5",
        other.patch.code,
    }


def test_void_surveys_stay_out(imported):
    Survey.objects.update(voided_at=build.NOW, void_reason="wrong")
    assert [exported("geojson", newest=newest).count for newest in (True, False)] == [0, 0]


@pytest.mark.parametrize("file_format", FORMATS)
def test_no_survey_makes_a_file_all_the_same(db, file_format):
    assert exported(file_format).data


def test_it_says_which_formats_there_are():
    with pytest.raises(Invalid):
        exported("pdf")


def test_occurrences_are_one_for_each_plant(imported):
    rows = occurrences()
    assert (tuple(rows[0]), len(rows)) == (TERMS, 6)
    assert len({row["occurrenceID"] for row in rows}) == 6
    assert all(row["basisOfRecord"] == "HumanObservation" and row["eventDate"] for row in rows)


def test_an_occurrence_says_how_much_in_pairs(imported):
    found = {(row["fieldNumber"], row["vernacularName"]): row for row in occurrences()}
    creeper, shrub = found["P1", "wintercreeper"], found["P1", "Amur honeysuckle"]
    assert (creeper["organismQuantity"], creeper["organismQuantityType"]) == ("5", "Daubenmire 1959 cover class")
    assert (shrub["organismQuantity"], shrub["organismQuantityType"]) == ("33.3333", "percentage cover")
    assert all(bool(row["organismQuantity"]) == bool(row["organismQuantityType"]) for row in found.values())
    assert shrub["reproductiveCondition"] == "fruit-bearing"


def test_a_patch_that_is_gone_is_absent(imported):
    found = {row["fieldNumber"]: row["occurrenceStatus"] for row in occurrences()}
    assert (found["P3"], found["P1"]) == ("absent", "present")


def test_an_occurrence_says_where_and_how_far_it_reaches(imported):
    row = next(row for row in occurrences() if row["fieldNumber"] == "P4")
    assert row["geodeticDatum"] == row["footprintSRS"] == "EPSG:4326"
    assert row["footprintWKT"].startswith("POINT")
    assert row["coordinateUncertaintyInMeters"] == "11"  # of 321.7 m²: the square root of it over pi, rounded up


def test_the_archive_says_what_its_columns_are(imported):
    made = exported("dwc-archive")
    with zipfile.ZipFile(io.BytesIO(made.data)) as file:
        assert set(file.namelist()) == {"occurrence.csv", "meta.xml", "eml.xml"}
        meta, table = ElementTree.fromstring(file.read("meta.xml")), file.read("occurrence.csv").decode()
        assert ElementTree.fromstring(file.read("eml.xml")).get("packageId") == "surveys-2026-12-01"
    terms = [field.get("term") for field in meta.iter() if field.tag.endswith("field")]
    assert terms == [NAMESPACE + term for term in TERMS]
    assert table.splitlines()[0].split(",") == list(TERMS)
    assert exported("dwc-archive").data == made.data


@pytest.mark.parametrize("file_format", ["geojson", "csv", "dwc-csv"])
def test_it_asks_the_database_the_same_number_of_times(imported, django_assert_num_queries, file_format):
    with django_assert_num_queries(4):
        exported(file_format)
