"""The volunteers' book: fewer methods, a slower pace, a paid lead; nothing with a license."""

import pytest

from orders import flow
from orders.estimates.selectors import method_get
from tests.estimates.books import volunteer_book
from tests.flow.world import BEGIN, world_build

pytestmark = pytest.mark.django_db
DAY = BEGIN.date()


@pytest.fixture
def made():
    world = world_build()
    volunteer_book(world)
    staff = flow.estimate_patches(on=DAY, stamp=world.stamp())
    volunteers = flow.estimate_patches(on=DAY, crew_kind="volunteers", stamp=world.stamp())
    return ({row.method.code: row for row in found} for found in (staff, volunteers))


def test_it_estimates_only_what_volunteers_may_do(made):
    _, volunteers = made
    assert {"hand-pull", "dig", "monitor"} == set(volunteers)
    assert not any(method_get(code).uses_herbicide for code in volunteers)


def test_it_takes_volunteers_longer(made):
    staff, volunteers = made
    pace = volunteers["hand-pull"].result["pace"]
    assert pace["pace"] == pytest.approx((1 + 6 * 0.6) / 7, abs=1e-3)
    assert volunteers["hand-pull"].person_hours > staff["hand-pull"].person_hours


def test_it_pays_the_lead_for_all_hours_and_volunteers_for_none(made):
    _, volunteers = made
    row = volunteers["hand-pull"]
    lead_hours = row.paid_person_hours / 7
    assert row.labor_cents == pytest.approx(lead_hours * 2400, rel=1e-3)


def test_it_says_which_crew_it_is_for(made):
    staff, volunteers = made
    assert staff["hand-pull"].inputs["rate_book"]["crew_kind"] == "staff"
    assert volunteers["hand-pull"].inputs["rate_book"]["crew_kind"] == "volunteers"
