"""What is saved where chosen methods on the same ground are worked in one pass."""

from datetime import date

import pytest

from orders import flow
from orders.planning.models import Prescription
from orders.planning.one_pass import search_areas, shared_m2
from tests import build
from tests.flow.world import BEGIN
from tests.planning.choices import ground_build

pytestmark = pytest.mark.django_db


@pytest.fixture
def ground():
    return ground_build()


def _pass(ground, patch=None):
    return flow.worked_in_one_pass(patch=patch or ground.wide, season=ground.world.season, on=BEGIN.date())


def _two(ground):
    ground.choose("dormant-foliar", ground.wide)
    ground.choose("monitor", ground.wide, why="Look twice.", replace=False)


def test_it_counts_the_search_once(ground):
    _two(ground)
    saved = _pass(ground)
    search = 3 * 9_000 / 10_000  # h/ha of the reference book for either method, on the gross area
    assert saved.hours_saved == pytest.approx(search, rel=0.2)
    assert saved.cents_together < saved.cents_apart
    assert {row.method.code for row in saved.prescriptions} == {"dormant-foliar", "monitor"}


def test_it_has_nothing_to_say_of_one_method_alone(ground):
    assert _pass(ground) is None
    ground.choose("dormant-foliar", ground.wide)
    assert _pass(ground) is None


def test_it_needs_days_that_both_share(ground):
    _two(ground)
    Prescription.objects.filter(method__code="monitor").update(first_day=date(2027, 7, 1), last_day=date(2027, 8, 1))
    assert _pass(ground) is None


def test_it_takes_in_a_patch_on_the_same_ground(ground):
    """All patches of the scene are drawn with one outline."""
    ground.choose("dormant-foliar", ground.wide, ground.other)
    assert {row.patch.code for row in _pass(ground).prescriptions} == {"H-02", "H-03"}


def test_it_leaves_out_a_patch_elsewhere(ground):
    survey = ground.other.surveys.get()
    survey.geometry, survey.min_lon, survey.max_lon = build.square(lon=-85.6), -85.6, -85.599
    survey.save()
    ground.choose("dormant-foliar", ground.wide, ground.other)
    assert _pass(ground) is None


def test_it_measures_the_ground_that_two_outlines_share():
    one = build.SurveyFactory()
    half = build.SurveyFactory(geometry=build.square(lon=-85.6995), min_lon=-85.6995, max_lon=-85.6985)
    point = build.SurveyFactory(geometry={"type": "Point", "coordinates": [-85.6998, 38.2002]})
    whole = shared_m2(one, one)
    assert whole == pytest.approx(87.6 * 111.0, rel=0.01)  # 0.001 degree each way at 38.2 north
    assert shared_m2(one, half) == pytest.approx(whole / 2, rel=0.001)
    assert shared_m2(one, point) == 0


def test_it_searches_only_what_no_earlier_job_has_searched():
    one = build.SurveyFactory(gross_area_m2=9_700)
    half = build.SurveyFactory(
        gross_area_m2=9_700, geometry=build.square(lon=-85.6995), min_lon=-85.6995, max_lon=-85.6985
    )
    first, again, other = search_areas([0, 0, 1], [one, half])
    assert (first, again) == (9_700, 0)
    assert other == pytest.approx(9_700 - shared_m2(one, half))
