"""The import as a background run: claimed, canceled, fenced, and all or nothing when something breaks."""

from datetime import timedelta
from threading import Event

import pytest

from orders.common.errors import WrongState
from orders.common.models.run import CANCELED, DONE, FAILED, QUEUED
from orders.common.runs import run_cancel, run_claim, run_find, run_perform
from orders.sites import runs
from orders.sites.geofiles.reading import read_file
from orders.sites.models import SurveyComponent, SurveyImport
from orders.sites.services import survey_import_ask
from orders.sites.services.survey_rows import survey_import_settle
from tests import build
from tests.sites.imports.handed import bring, features, held, row

pytestmark = pytest.mark.django_db


@pytest.fixture
def queued(mill):
    return survey_import_ask(data=features(row()), file_name="survey.geojson", stamp=build.stamp())


def perform(queued, clock=lambda: build.NOW, tell=None):
    run = run_find(queued.public_id)
    attempt = run_claim(run, at=build.NOW)
    assert attempt is not None
    return run_perform(run, attempt, clock=clock, tell=tell)


def kept():
    return SurveyImport.objects.get()


def test_it_does_the_work_of_a_queued_import(queued):
    assert perform(queued) == DONE
    assert (kept().state, kept().rows_added, kept().finished_at) == (DONE, 1, build.NOW)


def test_it_stops_where_it_is_asked_to_while_it_works(queued):
    before = held()
    assert perform(queued, tell=lambda *_: run_cancel(queued, at=build.NOW)) == CANCELED
    assert (held(), kept().state) == (before, CANCELED)


def test_it_writes_nothing_once_another_attempt_has_taken_over(queued, monkeypatch):
    before = held()

    def taken_over(**given):
        SurveyImport.objects.update(attempt=2)
        survey_import_settle(**given)

    monkeypatch.setattr(runs, "survey_import_settle", taken_over)
    assert perform(queued) == "fenced"
    assert held() == before
    assert kept().rows_added == 0


def test_it_writes_all_or_nothing_when_something_breaks(queued, monkeypatch):
    before = held()

    def full(*args, **kwargs):
        raise OSError("disk full")

    monkeypatch.setattr(SurveyComponent.objects, "bulk_create", full)
    with pytest.raises(OSError, match="disk full"):
        perform(queued)
    assert held() == before
    assert (kept().state, kept().error, kept().rows_added) == (FAILED, "OSError: disk full", 0)


def test_it_keeps_its_lease_while_a_long_file_is_read(queued, monkeypatch):
    leases, told_enough = [], Event()
    clock = iter(build.NOW + timedelta(seconds=2 * tick) for tick in range(1000))

    def read_slowly(*args, **kwargs):
        told_enough.wait(timeout=60)
        return read_file(*args, **kwargs)

    def tell(*_):
        leases.append(kept().lease_until)
        if len(leases) == 4:
            told_enough.set()

    monkeypatch.setattr(runs, "TICK_SECONDS", 0.01)
    monkeypatch.setattr(runs, "read_file", read_slowly)
    assert perform(queued, clock=lambda: next(clock), tell=tell) == DONE
    assert leases[0] < leases[1] < leases[2] < leases[3]


def test_it_leaves_no_row_behind_where_another_job_is_at_work(mill, settings):
    settings.REDIS_URL = ""
    busy = build.PlanRunFactory()
    run_claim(busy, at=build.NOW)
    with pytest.raises(WrongState, match="Another background job"):
        bring()
    assert SurveyImport.objects.count() == 0


def test_it_stays_stopped_when_the_terminal_is_interrupted(mill, monkeypatch):
    def interrupted(*args, **kwargs):
        raise KeyboardInterrupt

    monkeypatch.setattr(runs, "_prepared", interrupted)
    with pytest.raises(KeyboardInterrupt):
        bring()
    assert kept().state == CANCELED


def test_it_waits_in_the_queue_until_a_worker_comes(queued):
    assert (kept().state, kept().attempt) == (QUEUED, 0)
