"""Estimating every patch in the background: asked for once, made lot by lot, kept when it is stopped."""

from datetime import timedelta

import pytest

from orders.common.errors import NotFound
from orders.common.models.run import CANCELED, DONE
from orders.common.runs import run_cancel, run_claim, run_perform
from orders.estimates import runs
from orders.estimates.left_out import LeftOut
from orders.estimates.models import Estimate, EstimateRun, Method, RateBook
from orders.estimates.selectors import surveys_unestimated
from orders.estimates.services import estimates_ask, estimates_store
from orders.sites.selectors import surveys_current
from orders.supplies.models import Product
from tests import build
from tests.flow.world import BEGIN
from tests.planning.choices import ground_build

pytestmark = pytest.mark.django_db
ON = BEGIN.date()


@pytest.fixture
def ground():
    return ground_build(estimated=False)


def _ask(ground, **more):
    return estimates_ask(on=ON, stamp=ground.world.stamp(), **more)


def _claimed(run):
    run.refresh_from_db()
    attempt = run_claim(run, at=BEGIN)
    assert attempt is not None
    return attempt


def _work(run):
    attempt = _claimed(run)
    state = run_perform(run, attempt, clock=lambda: BEGIN)
    run.refresh_from_db()
    return state


def test_it_estimates_the_newest_survey_of_every_patch(ground, monkeypatch):
    monkeypatch.setattr(runs, "SURVEYS_AT_ONCE", 2)
    run = _ask(ground)
    assert _work(run) == DONE
    assert run.surveys_count == surveys_current().count()
    assert run.made_count == Estimate.objects.count() > 0
    assert not surveys_unestimated(surveys_current(), "staff", ON).exists()


def test_it_makes_nothing_twice(ground):
    _work(_ask(ground))
    made = Estimate.objects.count()
    again = _ask(ground)
    _work(again)
    assert (again.made_count, again.standing_count, Estimate.objects.count()) == (0, made, made)


def test_one_at_work_is_not_asked_for_twice(ground):
    first = _ask(ground)
    assert _ask(ground) == first
    assert _ask(ground, crew_kind="staff") == first
    assert EstimateRun.objects.count() == 1


def test_it_keeps_what_was_made_when_it_is_stopped(ground, monkeypatch):
    monkeypatch.setattr(runs, "SURVEYS_AT_ONCE", 1)
    run = _ask(ground)

    def stop_after_the_first(**asked):
        made = estimates_store(**asked)
        EstimateRun.objects.filter(pk=run.pk).update(cancel_asked=True)
        return made

    monkeypatch.setattr(runs, "estimates_store", stop_after_the_first)
    ticks = iter(range(1_000))
    attempt = _claimed(run)
    assert run_perform(run, attempt, clock=lambda: BEGIN + timedelta(seconds=2 * next(ticks))) == CANCELED
    assert Estimate.objects.exists()
    assert surveys_unestimated(surveys_current(), "staff", ON).exists()


def test_it_is_canceled_while_it_waits(ground):
    run = _ask(ground)
    run_cancel(run, at=BEGIN)
    run.refresh_from_db()
    assert run.state == CANCELED


def test_it_refuses_without_a_rate_book_in_force(ground):
    RateBook.objects.update(state="draft")
    with pytest.raises(NotFound):
        _ask(ground)
    assert not EstimateRun.objects.exists()


def test_it_says_what_has_no_estimate(ground):
    assert surveys_unestimated(surveys_current(), "staff", ON).count() == surveys_current().count()


def _unpriced(*codes):
    """A mix with a product that has no price, for these methods."""
    mix = build.MixFactory(products=[(build.ProductFactory(name="Ketterline"), 2.0, "herbicide")])
    Method.objects.filter(code__in=codes).update(default_mix=mix)


def _told(run):
    return [str(LeftOut(**row)) for row in run.left_out]


def test_a_product_without_a_price_keeps_nothing_else_from_being_estimated(ground, monkeypatch):
    monkeypatch.setattr(runs, "SURVEYS_AT_ONCE", 1)
    _unpriced("dormant-foliar")
    run = _ask(ground)
    assert _work(run) == DONE
    assert _told(run) == [
        "Ketterline has no price: 3 estimates with dormant-season foliar spray were not made.",
    ]
    made = set(Estimate.objects.values_list("method__code", flat=True))
    assert "dormant-foliar" not in made
    assert {"hand-pull", "spot-foliar"} <= made


def test_herbicide_without_a_mix_is_not_priced_as_if_it_were_free(ground):
    Method.objects.filter(code="spot-foliar").update(default_mix=None)
    run = _ask(ground)
    assert _work(run) == DONE
    assert _told(run) == ["Growing-season spot foliar spray uses herbicide and has no mix: 3 estimates were not made."]
    assert not Estimate.objects.filter(method__code="spot-foliar").exists()
    assert Estimate.objects.filter(method__code="dormant-foliar").exists()


def test_what_lacked_something_is_estimated_once_it_has_it(ground):
    _unpriced("dormant-foliar", "spot-foliar")
    _work(_ask(ground))
    build.PriceFactory(kind="product", code=Product.objects.get(name="Ketterline").code, from_day=ON)
    run = _ask(ground)
    _work(run)
    assert (run.left_out, run.made_count) == ([], 6)


def test_a_method_that_fits_nowhere_or_has_no_rates_is_not_told(ground):
    _unpriced("cut-stem")
    build.MethodFactory(code="unrated", facts=Method.objects.get(code="spot-foliar").facts, uses_herbicide=True)
    run = _ask(ground)
    _work(run)
    assert run.left_out == []
