"""What a season without herbicide would do instead."""

import pytest

from orders import flow
from orders.planning.models import Prescription
from orders.planning.what_if import WhatIf
from tests import build
from tests.flow.world import BEGIN, run_now, world_build

pytestmark = pytest.mark.django_db


@pytest.fixture
def world():
    """The one patch is sprayed; it could be pulled."""
    world = world_build()
    flow.estimate_patches(on=BEGIN.date(), stamp=world.stamp())
    flow.prescribe_season(season=world.season, stamp=world.stamp())
    pulled = Prescription.objects.get(method__code="hand-pull", origin="survey")
    sprayed = build.MethodFactory(code="dormant-foliar")
    Prescription.objects.filter(pk=pulled.pk).update(method=sprayed)
    return world


def _what_if(world):
    what = WhatIf(no_herbicide=True)
    return run_now(flow.plan_what_if(season=world.season, what=what, stamp=world.stamp()))


def test_it_does_the_work_by_the_cheapest_other_method_that_fits(world):
    run = _what_if(world)
    assert (run.title, run.left_out) == ("no herbicide", [])
    assert run.figures["area_m2"] > 0


def test_it_says_so_where_no_other_method_fits(world):
    survey = Prescription.objects.get(origin="survey").estimate.survey
    type(survey).objects.update(gross_area_m2=400_000.0)
    survey.components.update(infested_area_m2=300_000.0)
    (left,) = _what_if(world).left_out
    assert left["constraint"] == "method"
    assert "Without herbicide" in left["because"]


def test_it_leaves_work_without_herbicide_as_it_is(world):
    Prescription.objects.update(method=build.MethodFactory(code="hand-pull"))
    run = _what_if(world)
    assert (run.left_out, run.cost_cents > 0) == ([], True)
