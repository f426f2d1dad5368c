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


def test_flowers_seen_since_bring_the_work_forward_when_it_is_prescribed_anew(ground):
    patch = climbing(ground, fertile="yes")
    before = {row.pk: row for row in prescribed(ground, patch)}
    seen = build.SurveyFactory(patch=patch, observed_on=date(2027, 7, 1), gross_area_m2=300, components=[])
    part = patch.surveys.order_by("id").first().components.get()
    build.SurveyComponentFactory(
        survey=seen,
        species=part.species,
        growth_form=part.growth_form,
        fertile="yes",
        reproductive_condition="flowers",
        infested_area_m2=200,
    )
    part.species.flower_to_fruit_days = 30
    part.species.save()
    flow.prescribe_season(season=ground.world.season, stamp=ground.world.stamp())
    rows = Prescription.objects.filter(pk__in=before, origin="survey").exclude(state="dropped")
    assert rows
    assert {row.seed_due_on for row in rows} == {date(2027, 7, 17)}  # July 31 less the margin of 14 days
    assert all(row.version == before[row.pk].version + 1 for row in rows)
    flow.prescribe_season(season=ground.world.season, stamp=ground.world.stamp())
    assert all(row.version == before[row.pk].version + 1 for row in rows.all())


def test_what_was_chosen_by_hand_keeps_its_days(ground):
    rows = prescribed(ground, ground.pulled)
    Prescription.objects.update(is_own_choice=True, last_day=date(2027, 2, 1))
    flow.prescribe_season(season=ground.world.season, stamp=ground.world.stamp())
    assert {row.last_day for row in Prescription.objects.filter(pk__in=[row.pk for row in rows])} == {date(2027, 2, 1)}
