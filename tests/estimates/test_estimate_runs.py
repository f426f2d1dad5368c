"""Estimating every patch in the background: asked for once, made lot by lot, kept when it is stopped."""

from datetime import timedelta

import pytest

from orders.common.errors import NotFound
from orders.common.models.run import CANCELED, DONE
from orders.common.runs import run_cancel, run_claim, run_perform
from orders.estimates import runs
from orders.estimates.models import Estimate, EstimateRun, RateBook
from orders.estimates.selectors import surveys_unestimated
from orders.estimates.services import estimates_ask, estimates_store
from orders.sites.selectors import surveys_current
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
