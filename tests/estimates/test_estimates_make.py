"""Estimates keep their inputs; the same inputs give the same row; every figure can be opened."""

from datetime import date
from fractions import Fraction

import pytest

from orders import flow
from orders.common.errors import Invalid, NotFound, WrongState
from orders.common.stamp import Stamp
from orders.estimates.models import Estimate, RateBook
from orders.estimates.selectors import rate_book_in_force
from orders.estimates.services import methods_load, rate_book_draft, rate_book_put_in_force
from tests import build
from tests.flow.world import BEGIN, csv_rows, world_build

pytestmark = pytest.mark.django_db


@pytest.fixture
def world():
    return world_build()


def _made(world) -> dict[str, Estimate]:
    return {row.method.code: row for row in flow.estimate_patches(on=BEGIN.date(), stamp=world.stamp())}


def test_it_estimates_every_method_that_fits_ground_cover(world):
    assert {"hand-pull", "dig", "monitor", "tarp"} <= set(_made(world))
    assert "girdle" not in _made(world)


def test_it_makes_an_estimate_once(world):
    first, second = _made(world), _made(world)
    assert {code: row.pk for code, row in first.items()} == {code: row.pk for code, row in second.items()}
    assert Estimate.objects.count() == len(first)


def test_it_makes_a_new_one_when_a_price_changes_and_keeps_the_old(world):
    first = _made(world)["hand-pull"]
    build.PriceFactory(kind="bag", code="bag", unit="each", from_day=date(2026, 11, 1), price_e4=19_000)
    second = _made(world)["hand-pull"]
    assert second.pk != first.pk
    assert second.inputs["prices"]["bag_e4"] == 19_000


def test_it_keeps_the_sum_of_its_parts(world):
    for row in _made(world).values():
        assert row.total_cents == row.labor_cents + row.material_cents + row.equipment_cents + row.mileage_cents
        assert row.hours_low <= row.hours_likely <= row.hours_high


def test_it_names_three_figures_of_time(world):
    row = _made(world)["hand-pull"]
    assert row.crew_hours * 3 == pytest.approx(row.paid_person_hours)
    assert row.crew_days > 0


def test_it_opens_to_the_steps_that_make_the_hours(world):
    row = _made(world)["hand-pull"]
    hours = sum(step["hours"] for step in row.result["steps"])
    assert hours == pytest.approx(row.person_hours)
    assert all(part["source"] for step in row.result["steps"] for part in step["parts"])


def test_it_keeps_the_rate_book_that_it_was_made_with(world):
    row = _made(world)["hand-pull"]
    assert row.inputs["rate_book"]["id"] == str(rate_book_in_force().public_id)


def test_it_needs_a_rate_book_in_force(world):
    RateBook.objects.update(state="retired")
    with pytest.raises(NotFound):
        _made(world)


def _draft(stamp: Stamp, rows):
    roles = {"crew": "crew-member", "applicator": "crew-member", "sawyer": "crew-member"}
    return rate_book_draft(
        name="Reference", rows=rows, standard_crew={"crew-member": 3}, skill_roles=roles, stamp=stamp
    )


def test_it_retires_the_book_that_another_takes_over_from(world):
    old, new = rate_book_in_force(), _draft(world.stamp(), csv_rows("rate_book.csv"))
    rate_book_put_in_force(book=new, from_day=BEGIN.date(), stamp=world.stamp())
    old.refresh_from_db()
    assert (old.state, new.state, new.edition) == ("retired", "in_force", 2)
    with pytest.raises(WrongState):
        rate_book_put_in_force(book=old, from_day=BEGIN.date(), stamp=world.stamp())


def test_it_names_the_row_of_a_rate_that_cannot_be_used(world):
    rows = csv_rows("rate_book.csv")
    rows[4] = {**rows[4], "value": "many"}
    with pytest.raises(Invalid) as refused:
        _draft(world.stamp(), rows)
    assert [(error.field, error.row) for error in refused.value.errors] == [("value", 5)]
    assert RateBook.objects.count() == 1


def test_it_names_the_row_of_a_method_that_cannot_be_read(world):
    rows = csv_rows("methods.csv")
    rows[2] = {**rows[2], "needs_license": "maybe"}
    with pytest.raises(Invalid) as refused:
        methods_load(rows=rows, qualification={}, mix={}, stamp=world.stamp())
    assert [(error.field, error.row) for error in refused.value.errors] == [("needs_license", 3)]


def test_it_prices_labor_by_the_standard_rate(world):
    """All roles of this world have one rate, so the labor is the paid hours at that rate."""
    row = _made(world)["hand-pull"]
    assert row.labor_cents == pytest.approx(float(Fraction(240_000, 100) * Fraction(row.paid_person_hours)), abs=1)
