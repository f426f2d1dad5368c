"""Estimates keep their inputs; the same inputs give the same row; every figure can be opened."""

from datetime import date
from fractions import Fraction
from typing import Any

import pytest

from orders import flow
from orders.common.errors import NotFound, WrongState
from orders.estimates.convert import inputs_read
from orders.estimates.models import Estimate, RateBook
from orders.estimates.selectors import estimate_history, rate_book_in_force
from orders.estimates.services import (
    estimates_compute,
    estimates_make,
    estimates_store,
    rate_book_put_in_force,
)
from orders.sites.selectors import surveys_current
from tests import build
from tests.estimates.books import changed_rows, draft, volunteer_book
from tests.flow.world import BEGIN, world_build

pytestmark = pytest.mark.django_db
DAY = BEGIN.date()


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


def test_it_keeps_in_columns_what_its_explanation_says_of_spread_and_growth_forms(world):
    made = _made(world)["hand-pull"]
    assert made.survey_log_sd is not None
    assert made.survey_log_sd > 0
    assert made.survey_log_sd == pytest.approx(made.result["field_person_hours"]["survey_log_sd"])
    hours = [
        (part["growth_form"], part["hours"])
        for step in made.result["steps"]
        for part in step["parts"]
        if part.get("growth_form")
    ]
    whole = sum(amount for _, amount in hours)
    assert made.form_shares is not None
    for form in {form for form, _ in hours}:
        share = sum(amount for name, amount in hours if name == form) / whole
        assert made.form_shares[form] == pytest.approx(share)
    assert sum(made.form_shares.values()) == pytest.approx(1)


def test_it_explains_only_what_is_new(world):
    asked: dict[str, Any] = {"surveys": list(surveys_current()), "on": DAY, "repeat_years": {}}
    first = estimates_compute(**asked)
    stored = estimates_store(computed=first, stamp=world.stamp())
    build.PriceFactory(kind="equipment", code="hand-pull", unit="hour", from_day=date(2026, 11, 1), price_e4=90_000)
    second = estimates_compute(**asked)
    assert [row.method.code for row in second.new] == ["hand-pull"]
    again = estimates_store(computed=second, stamp=world.stamp())
    assert len(again) == len(stored) == len(first.new)
    assert len({row.pk for row in again} - {row.pk for row in stored}) == 1


def test_it_stores_once_what_two_computed(world):
    asked: dict[str, Any] = {"surveys": list(surveys_current()), "on": DAY, "repeat_years": {}}
    one, other = estimates_compute(**asked), estimates_compute(**asked)
    first, second = (estimates_store(computed=computed, stamp=world.stamp()) for computed in (one, other))
    assert [row.pk for row in first] == [row.pk for row in second]
    assert second[0].result["version"] == 2


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
    assert hours * row.result["pace"]["stretch"] == pytest.approx(row.person_hours)
    assert all(part["source"] for step in row.result["steps"] for part in step["parts"])


def test_it_keeps_the_rate_book_that_it_was_made_with(world):
    row = _made(world)["hand-pull"]
    assert row.inputs["rate_book"]["id"] == str(rate_book_in_force().public_id)


def test_it_needs_a_rate_book_in_force(world):
    RateBook.objects.update(state="retired")
    with pytest.raises(NotFound):
        _made(world)


def test_it_prices_labor_by_the_standard_rate(world):
    """All roles of this world have one rate, so the labor is the paid hours at that rate."""
    row = _made(world)["hand-pull"]
    assert row.labor_cents == pytest.approx(float(Fraction(240_000, 100) * Fraction(row.paid_person_hours)), abs=1)


def test_it_estimates_nothing_by_a_draft(world):
    with pytest.raises(WrongState):
        estimates_make(surveys=list(surveys_current()), on=DAY, repeat_years={}, book=draft(world), stamp=world.stamp())


def test_it_estimates_by_a_book_that_is_named(world):
    old = rate_book_in_force()
    new = draft(world, changed_rows())
    rate_book_put_in_force(book=new, from_day=DAY, stamp=world.stamp())
    made = estimates_make(surveys=list(surveys_current()), on=DAY, repeat_years={}, book=old, stamp=world.stamp())
    assert {row.rate_book_id for row in made} == {old.pk}


def test_it_uses_the_book_that_holds_on_the_day(world):
    old, new = rate_book_in_force(), draft(world, changed_rows())
    rate_book_put_in_force(book=new, from_day=date(2027, 1, 1), stamp=world.stamp())
    assert rate_book_in_force("staff", DAY) == old
    assert rate_book_in_force("staff", date(2027, 1, 1)) == new
    assert {row.rate_book_id for row in flow.estimate_patches(on=DAY, stamp=world.stamp())} == {old.pk}


def test_it_freezes_only_the_prices_that_the_job_can_use(world):
    build.PriceFactory(kind="product", code="GLY", from_day=date(2026, 1, 1), price_e4=90_000)
    build.PriceFactory(kind="equipment", code="mow-mulch", unit="hour", from_day=date(2026, 1, 1), price_e4=90_000)
    row = _made(world)["hand-pull"]
    assert (row.inputs["prices"]["product_e4_per_l"], row.inputs["prices"]["equipment_e4_per_hour"]) == ({}, {})


def test_it_keeps_a_contingency_up_to_the_level_of_the_book(world):
    row = _made(world)["hand-pull"]
    assert row.contingency_cents == row.result["money"]["contingency_cents"] > 0
    assert row.contract_cents is None


def test_it_hands_over_what_was_seen_of_the_ground(world):
    plain = _made(world)["hand-pull"]
    survey = build.SurveyFactory(
        patch=world.patch, gross_area_m2=400, minutes_from_gate=6, slope_deg=4, ground="obstructed", components=[]
    )
    component = plain.survey.components.get()
    build.SurveyComponentFactory(
        survey=survey,
        species=component.species,
        growth_form=component.growth_form,
        infested_area_m2=120,
        cover_low=0.3,
        cover_likely=0.3,
        cover_high=0.3,
        cut_height_m=1.2,
    )
    harder = _made(world)["hand-pull"]
    assert harder.survey_id == survey.pk
    assert harder.person_hours > plain.person_hours
    assert (harder.inputs["patch"]["ground"], harder.inputs["components"][0]["cut_height_m"]) == (2, 1.2)


def test_it_reads_inputs_of_the_first_version(world):
    row = _made(world)["hand-pull"]
    first = {**row.inputs, "version": 1, "rate_book": {"name": "A", "edition": 1, "id": "x"}}
    first["patch"] = {name: value for name, value in row.inputs["patch"].items() if name != "ground"}
    read = inputs_read(first)
    assert (read["version"], read["patch"]["ground"], read["rate_book"]["crew_kind"]) == (2, 3, "staff")
    assert read["components"][0]["reroots"] == row.inputs["components"][0]["reroots"]


def test_it_lists_old_beside_new_the_newest_first(world):
    first = _made(world)["hand-pull"]
    build.PriceFactory(kind="bag", code="bag", unit="each", from_day=date(2026, 11, 1), price_e4=19_000)
    second = _made(world)["hand-pull"]
    volunteer_book(world)
    flow.estimate_patches(on=DAY, crew_kind="volunteers", stamp=world.stamp())
    assert [row.pk for row in estimate_history(first)] == [second.pk, first.pk]
