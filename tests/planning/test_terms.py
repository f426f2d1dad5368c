"""On which terms work is asked for: who pays, and the seed deadline that it meets."""

from datetime import date

import pytest

from orders import flow
from orders.planning.funds import season_fund_add
from orders.planning.models import Prescription
from tests import build
from tests.flow.world import BEGIN
from tests.planning.choices import ground_build

pytestmark = pytest.mark.django_db


@pytest.fixture
def ground():
    return ground_build(estimated=False)


def climbing(ground, fertile="unknown"):
    """A vine on a tree, on a patch of its own."""
    patch = build.PatchFactory(site=ground.pulled.site, code="H-04")
    survey = build.SurveyFactory(patch=patch, gross_area_m2=300, components=[])
    form = build.GrowthFormFactory(code="climbing")
    build.SurveyComponentFactory(
        survey=survey, growth_form=form, infested_area_m2=200, stems_small=20, host_trees=6, fertile=fertile
    )
    return patch


def prescribed(ground, patch):
    flow.estimate_patches(on=BEGIN.date(), stamp=ground.world.stamp())
    flow.prescribe_season(season=ground.world.season, stamp=ground.world.stamp())
    return list(Prescription.objects.filter(patch=patch))


def test_work_on_what_may_fruit_meets_the_seed_deadline(ground):
    rows = prescribed(ground, climbing(ground))
    assert rows
    assert {row.seed_due_on for row in rows} == {date(2027, 8, 18)}
    assert all(row.first_day <= row.seed_due_on for row in rows)


def test_what_cannot_fruit_has_none(ground):
    assert {row.seed_due_on for row in prescribed(ground, climbing(ground, fertile="no"))} == {None}
    assert not Prescription.objects.filter(patch=ground.pulled).exclude(seed_due_on=None).exists()


def test_the_fund_of_the_site_pays_and_cuts_the_window(ground):
    season, stamp = ground.world.season, ground.world.stamp()
    grant = season_fund_add(
        season=season,
        code="GRANT",
        name="Grant",
        budget_cents=1_000_00,
        sites=[ground.pulled.site],
        last_day=date(2027, 3, 1),
        stamp=stamp,
    )
    (row,) = prescribed(ground, ground.pulled)
    assert (row.fund, row.last_day) == (grant, date(2027, 3, 1))
    assert row.window_because.endswith("Cut to the days that GRANT pays for.")
