"""Surveys typed in: judged as a file's rows are, and never written over."""

import pytest

from orders.common.errors import Invalid, WrongState
from orders.common.models import Change
from orders.sites.models import Patch, Survey
from orders.sites.selectors import survey_newest
from orders.sites.services import patch_add, survey_add, survey_correct
from orders.sites.services.by_hand import patch_code_next
from tests import build
from tests.build.base import square
from tests.sites.sheets import GROUND, sheet

pytestmark = pytest.mark.django_db


@pytest.fixture
def site():
    build.SpeciesFactory()
    build.SpeciesFactory(code="LOMA", common_name="bush honeysuckle")
    build.GrowthFormFactory()
    build.GrowthFormFactory(code="climbing")
    return build.SiteFactory(code="HOLLOW")


def fields(refused):
    return [(error.field, error.row) for error in refused.value.errors]


def test_a_new_patch_comes_with_its_survey(site, stamp):
    facts = {"patch_name": "Old orchard", "target_cover_percent": "2", "slope_deg": "12", "notes": "By the wall"}
    vine = {"species": "EUFO", "growth_form": "climbing", "cover_class": "3", "cover_scheme": "daubenmire-1959"}
    vine |= {"infested_percent": "25", "stems_small": "40", "host_trees": "6", "height_m": "8"}
    entered = patch_add(site=site, code=" B-04 ", sheet=sheet(GROUND, vine, **facts), stamp=stamp)
    patch, survey = Patch.objects.get(), entered.survey
    assert (patch.code, patch.name, patch.target_cover, entered.warnings) == ("B-04", "Old orchard", 0.02, ())
    assert (survey.patch, survey.source, survey.source_row, survey.slope_deg) == (patch, None, None, 12.0)
    ground, climbing = survey.components.order_by("growth_form__code").reverse()
    assert (ground.cover_low, ground.cover_likely, ground.cover_as_entered) == (0.4, 0.4, "40%")
    assert (climbing.cover_low, climbing.cover_high, climbing.cover_is_class) == (0.25, 0.5, True)
    assert climbing.infested_area_m2 == pytest.approx(survey.gross_area_m2 / 4)
    assert (climbing.stems_small, climbing.host_trees) == (40, 6)
    assert list(Change.objects.order_by("id").values_list("verb", flat=True)) == ["patch_add", "survey_add"]


def test_it_names_the_field_and_the_component_that_is_wrong(site, stamp):
    twice = {**GROUND, "cover_percent": "140", "stems_small": "many"}
    with pytest.raises(Invalid) as refused:
        patch_add(site=site, code="B-04", sheet=sheet(GROUND, twice, observer="", slope_deg="steep"), stamp=stamp)
    assert set(fields(refused)) == {
        ("observer", None),
        ("slope_deg", None),
        ("components.cover_percent", 2),
        ("components.stems_small", 2),
        ("components.species", 2),  # the same species and form stand in the first component
    }
    assert not Patch.objects.exists()


@pytest.mark.parametrize(
    ("outline", "words"),
    [
        ("", "Draw it"),
        ("nonsense", "neither GeoJSON"),
        ("POLYGON((-85.7 38.2, -85.699 38.201, -85.699 38.2, -85.7 38.201, -85.7 38.2))", "crosses itself"),
        ("LINESTRING(-85.7 38.2, -85.699 38.201)", "this is a line"),
        ("POLYGON((38.2 -85.7, 38.2 -85.699, 38.201 -85.699, 38.2 -85.7))", "changed places"),
        ('{"type": "Polygon"}', "neither GeoJSON"),
    ],
)
def test_it_refuses_an_outline_that_is_none(site, stamp, outline, words):
    with pytest.raises(Invalid) as refused:
        patch_add(site=site, code="B-04", sheet=sheet(outline=outline), stamp=stamp)
    assert fields(refused) == [("outline", None)]
    assert words in refused.value.errors[0].message


def test_it_reads_well_known_text_and_features(site, stamp):
    ring = "-85.7 38.2, -85.699 38.2, -85.699 38.201, -85.7 38.201, -85.7 38.2"
    first = patch_add(site=site, code="A", sheet=sheet(outline=f"SRID=4326;POLYGON(({ring}))"), stamp=stamp)
    feature = {"type": "Feature", "properties": {}, "geometry": square()}
    second = patch_add(site=site, code="B", sheet=sheet(outline=feature), stamp=stamp)
    assert first.survey.geometry == second.survey.geometry


def test_a_place_alone_needs_its_area(site, stamp):
    point = {"type": "Point", "coordinates": [-85.6995, 38.2005]}
    with pytest.raises(Invalid) as refused:
        patch_add(site=site, code="A", sheet=sheet(outline=point), stamp=stamp)
    assert fields(refused) == [("gross_area_m2", None)]
    entered = patch_add(site=site, code="A", sheet=sheet(outline=point, gross_area_m2="30"), stamp=stamp)
    assert entered.survey.gross_area_m2 == 30.0


def test_a_code_is_taken_once_a_site(site, stamp):
    build.PatchFactory(site=site, code="B-04")
    with pytest.raises(Invalid) as refused:
        patch_add(site=site, code="B-04", sheet=sheet(), stamp=stamp)
    assert fields(refused) == [("code", None)]


def test_another_survey_leaves_the_one_before(site, stamp):
    patch = patch_add(site=site, code="B-04", sheet=sheet(observed_on="2025-11-01"), stamp=stamp).survey.patch
    newer = survey_add(patch=patch, sheet=sheet({**GROUND, "cover_percent": "10"}), stamp=stamp).survey
    assert (Survey.objects.count(), survey_newest(patch)) == (2, newer)


def test_one_survey_a_day(site, stamp):
    patch = patch_add(site=site, code="B-04", sheet=sheet(), stamp=stamp).survey.patch
    with pytest.raises(Invalid) as refused:
        survey_add(patch=patch, sheet=sheet({**GROUND, "cover_percent": "10"}), stamp=stamp)
    assert fields(refused) == [("observed_on", None)]


def test_a_wrong_one_is_voided_and_entered_anew_at_once(site, stamp):
    wrong = patch_add(site=site, code="B-04", sheet=sheet(), stamp=stamp).survey
    because = stamp.because("Cover was read off the wrong line")
    right = survey_correct(survey=wrong, sheet=sheet({**GROUND, "cover_percent": "14"}), stamp=because).survey
    wrong.refresh_from_db()
    assert (wrong.voided_at, wrong.void_reason) == (stamp.at, "Cover was read off the wrong line")
    assert survey_newest(wrong.patch) == right


def test_a_correction_that_is_wrong_itself_voids_nothing(site, stamp):
    wrong = patch_add(site=site, code="B-04", sheet=sheet(), stamp=stamp).survey
    with pytest.raises(Invalid):
        survey_correct(survey=wrong, sheet=sheet({**GROUND, "cover_percent": "400"}), stamp=stamp.because("Slip"))
    assert Survey.objects.get().voided_at is None


def test_what_is_eradicated_says_so_on_the_patch_too(site, stamp):
    patch = patch_add(site=site, code="B-04", sheet=sheet(observed_on="2025-11-01"), stamp=stamp).survey.patch
    gone = {"species": "EUFO", "growth_form": "ground cover", "infested_percent": "0"}
    with pytest.raises(Invalid):
        survey_add(patch=patch, sheet=sheet(gone), stamp=stamp)
    survey_add(patch=patch, sheet=sheet(gone, control_state="eradicated"), stamp=stamp)
    patch.refresh_from_db()
    assert patch.control_state == "eradicated"


def test_an_older_survey_leaves_the_patch_as_it_is(site, stamp):
    patch = patch_add(site=site, code="B-04", sheet=sheet(), stamp=stamp).survey.patch
    survey_add(patch=patch, sheet=sheet(observed_on="2025-11-01", control_state="maintenance"), stamp=stamp)
    patch.refresh_from_db()
    assert patch.control_state == "untreated"


def test_a_patch_that_ended_takes_no_survey(site, stamp):
    patch = build.PatchFactory(site=site, ended_on=stamp.at.date())
    with pytest.raises(WrongState):
        survey_add(patch=patch, sheet=sheet(), stamp=stamp)


@pytest.mark.parametrize(
    ("codes", "wanted"), [([], "P-001"), (["B-1", "B-09", "X-44"], "B-10"), (["North"], "P-001"), (["7"], "8")]
)
def test_the_code_proposed_counts_on(site, codes, wanted):
    for code in codes:
        build.PatchFactory(site=site, code=code)
    assert patch_code_next(site) == wanted
