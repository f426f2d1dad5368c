"""The row is the job: claimed once, fenced by its attempt, given back when a worker dies."""

from datetime import timedelta

import pytest
from django.test import override_settings

from orders.common.models.run import CANCELED, DONE, FAILED, QUEUED, RUNNING
from orders.common.runs import (
    CancelAsked,
    Fenced,
    Worker,
    run_cancel,
    run_claim,
    run_find,
    run_give_back,
    run_perform,
    runs_due,
    runs_sweep,
)
from orders.planning.models import PlanRun
from tests import build

pytestmark = pytest.mark.django_db


@pytest.fixture
def run(stamp):
    return PlanRun.objects.create(season=build.SeasonFactory(), asked_at=stamp.at)


@pytest.fixture
def sent(monkeypatch):
    ids: list[str] = []
    monkeypatch.setattr("orders.common.runs._send", ids.append)
    return ids


def _claimed(run, *, at) -> int:
    attempt = run_claim(run, at=at)
    assert attempt is not None
    return attempt


def _again(run):
    return PlanRun.objects.get(pk=run.pk)


def test_it_claims_a_waiting_row_once(run, stamp):
    assert run_claim(run, at=stamp.at) == 1
    assert run_claim(run, at=stamp.at) is None
    assert run_claim(_again(run), at=stamp.at) is None
    assert _again(run).state == RUNNING


def test_it_claims_again_when_the_lease_ran_out(run, stamp):
    run_claim(run, at=stamp.at)
    assert run_claim(_again(run), at=stamp.at + timedelta(minutes=5)) == 2


def test_it_fences_a_late_attempt(run, stamp):
    run_claim(run, at=stamp.at)
    run_claim(_again(run), at=stamp.at + timedelta(minutes=5))
    late = Worker(run=run, attempt=1, clock=lambda: stamp.at)
    with pytest.raises(Fenced), late.finishing():
        build.SiteFactory(code="LATE")
    assert _again(run).state == RUNNING
    assert not build.SiteFactory._meta.model.objects.filter(code="LATE").exists()


def test_it_ends_once(run, stamp):
    attempt = _claimed(run, at=stamp.at)
    worker = Worker(run=_again(run), attempt=attempt, clock=lambda: stamp.at)
    with worker.finishing():
        pass
    assert _again(run).state == DONE
    with pytest.raises(Fenced), worker.finishing():
        pass


def test_it_stops_when_asked(run, stamp):
    attempt = _claimed(run, at=stamp.at)
    run_cancel(run, at=stamp.at)
    with pytest.raises(CancelAsked):
        Worker(run=run, attempt=attempt, clock=lambda: stamp.at).progress(1, 2)


def test_it_cancels_a_waiting_row_at_once(run, stamp):
    run_cancel(run, at=stamp.at)
    assert _again(run).state == CANCELED
    assert run_claim(run, at=stamp.at) is None


def test_it_tries_again_and_then_gives_up(run, stamp):
    for _ in range(5):
        attempt = _claimed(_again(run), at=stamp.at)
        run_give_back(_again(run), attempt, at=stamp.at, error="killed")
    assert (_again(run).state, _again(run).attempt) == (FAILED, 5)


def test_it_wakes_what_waits_or_fell_silent(run, stamp, sent):
    assert runs_sweep(at=stamp.at) == 1
    run_claim(run, at=stamp.at)
    assert runs_due(at=stamp.at) == []
    assert runs_sweep(at=stamp.at + timedelta(minutes=5)) == 1
    assert sent == [str(run.public_id)] * 2


def test_it_keeps_the_error_of_a_job_that_failed(run, stamp):
    attempt = _claimed(run, at=stamp.at)
    with pytest.raises(Exception, match="rate book"):
        run_perform(run_find(run.public_id), attempt, clock=lambda: stamp.at)
    assert _again(run).state == FAILED
    assert "rate book" in _again(run).error


def test_it_works_on_one_heavy_job_at_a_time_when_embedded(run, stamp):
    other = PlanRun.objects.create(season=run.season, asked_at=stamp.at)
    run_claim(run, at=stamp.at)
    with override_settings(REDIS_URL=""):
        assert run_claim(other, at=stamp.at) is None
    with override_settings(REDIS_URL="redis://localhost"):
        assert run_claim(other, at=stamp.at) == 1


def test_it_tells_progress_at_most_once_a_second(run, stamp):
    times = iter(stamp.at + timedelta(seconds=seconds) for seconds in (0, 0.4, 1.2))
    attempt = _claimed(run, at=stamp.at)
    worker = Worker(run=run, attempt=attempt, clock=lambda: next(times))
    seen = []
    for done in (1, 2, 3):
        worker.progress(done, 10)
        seen.append(_again(run).progress_done)
    assert seen == [1, 1, 3]
    assert _again(run).state != QUEUED


def test_it_shows_what_the_work_has_come_to_at_most_once_a_second(run, stamp):
    times = iter(stamp.at + timedelta(seconds=seconds) for seconds in (0, 0.4, 1.2))
    worker = Worker(run=run, attempt=_claimed(run, at=stamp.at), clock=lambda: next(times))
    assert [worker.show(lost_cents=cents) for cents in (9, 8, 7)] == [True, False, True]
    assert _again(run).lost_cents == 7


def test_it_shows_nothing_of_an_attempt_that_was_taken_over(run, stamp):
    late = Worker(run=run, attempt=_claimed(run, at=stamp.at), clock=lambda: stamp.at)
    _claimed(_again(run), at=stamp.at + timedelta(hours=1))
    with pytest.raises(Fenced):
        late.show(lost_cents=9)
    assert _again(run).lost_cents is None
