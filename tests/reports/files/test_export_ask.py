"""Asking for a file, and the job behind it."""

import csv
import hashlib
from datetime import timedelta
from typing import Any

import pytest

from orders.common.errors import Invalid, NotFound, RoleMissing
from orders.common.models import Change
from orders.common.models.run import QUEUED
from orders.common.runs import run_cancel, run_claim, run_perform
from orders.reports import runs
from orders.reports.keeping import exports_remove_old
from orders.reports.models import ExportRun
from orders.reports.selectors import FileGone, export_file, export_get, export_runs
from orders.reports.services import export_ask
from orders.reports.walk import TotalWrong
from tests import build

pytestmark = pytest.mark.django_db
ASKED: dict[str, Any] = {"report": "cost", "query": {"by": "fund"}, "file_format": "csv"}


def test_it_is_a_row_that_waits(stamp):
    run = export_ask(**ASKED, stamp=stamp)
    assert (run.state, run.report, run.asked_by) == (QUEUED, "cost", stamp.by)
    assert Change.objects.get(verb="export_ask").after == {"report": "cost", "file_format": "csv"}


@pytest.mark.parametrize("role", ["coordinator", "crew_lead", "pesticide_supervisor"])
def test_it_refuses_whose_role_does_not_open_the_report(role):
    with pytest.raises(RoleMissing):
        export_ask(**ASKED, stamp=build.stamp(build.UserFactory(roles=[role])))


def test_it_refuses_what_it_does_not_know(stamp):
    with pytest.raises(NotFound):
        export_ask(**{**ASKED, "report": "nothing"}, stamp=stamp)
    with pytest.raises(Invalid):
        export_ask(**{**ASKED, "file_format": "doc"}, stamp=stamp)
    with pytest.raises(Invalid):
        export_ask(**{**ASKED, "query": {"by": "x" * 201}}, stamp=stamp)


@pytest.mark.parametrize("file_format", ["csv", "xlsx", "pdf"])
def test_it_makes_one_whole_file(stamp, books, perform, folder, file_format):
    run = perform(export_ask(**{**ASKED, "file_format": file_format}, stamp=stamp))
    _, path = export_file(stamp.by, run.public_id)
    assert (run.state, run.rows_count, run.file_name) == ("done", 2, f"cost-2026-12-01.{file_format}")
    assert run.sha256 == hashlib.sha256(path.read_bytes()).hexdigest()
    assert run.size_bytes == path.stat().st_size
    assert [each.name for each in path.parent.iterdir()] == [run.file_name]


def test_it_holds_what_was_posted(stamp, books, perform):
    run = perform(export_ask(**ASKED, stamp=stamp))
    with export_file(stamp.by, run.public_id)[1].open(newline="", encoding="utf-8") as file:
        read = {row["Fund"]: row["Actual"] for row in csv.DictReader(file)}
    assert sorted(read.values()) == ["123.45", "174.00", "50.55"]
    assert read["Total"] == "174.00"
    assert not any(name.startswith("=") for name in read)


def test_it_makes_no_file_for_whoever_lost_the_role(stamp, books, perform, folder):
    run = export_ask(**ASKED, stamp=stamp)
    stamp.by.roles.clear()
    with pytest.raises(RoleMissing):
        perform(run)
    assert ExportRun.objects.get().state == "failed"
    assert not list(folder.rglob("*.csv"))


def test_it_leaves_nothing_when_it_is_canceled(stamp, books, folder):
    run = export_ask(**ASKED, stamp=stamp)
    attempt = run_claim(run, at=build.NOW)
    assert attempt
    run = ExportRun.objects.get()
    run_cancel(run, at=build.NOW)
    assert run_perform(run, attempt, clock=lambda: build.NOW) == "canceled"
    assert ExportRun.objects.get().state == "canceled"
    assert not [path for path in folder.rglob("*") if path.is_file()]


def test_it_leaves_nothing_when_it_fails(stamp, books, folder, perform, monkeypatch):
    def broken(*args, **kwargs):
        raise TotalWrong("Actual: the total says 1, its rows come to 2.")

    run = export_ask(**ASKED, stamp=stamp)
    monkeypatch.setattr(runs, "table_write", broken)
    with pytest.raises(TotalWrong):
        perform(run)
    assert "its rows come to 2" in ExportRun.objects.get().error
    assert not [path for path in folder.rglob("*") if path.is_file()]


def test_it_is_taken_up_by_another_attempt_and_leaves_one_file(stamp, books, folder, perform):
    """The first attempt dies in the middle, the lease runs out, the second one writes the file."""
    run = export_ask(**ASKED, stamp=stamp)
    attempt = run_claim(run, at=build.NOW)
    left = folder / str(run.public_id) / f"attempt-{attempt}"
    left.mkdir(parents=True)
    (left / "cost-2026-12-01.csv.part").write_text("half a line")
    run = perform(run, at=build.NOW + timedelta(minutes=5))
    assert (run.state, run.attempt) == ("done", 2)
    assert [path.name for path in folder.rglob("*") if path.is_file()] == ["cost-2026-12-01.csv"]


def test_it_is_fetched_by_its_owner_and_by_finance(stamp, books, perform):
    run = perform(export_ask(**ASKED, stamp=stamp))
    assert export_file(build.UserFactory(roles=["finance"]), run.public_id)[0] == run
    with pytest.raises(NotFound):
        export_get(build.UserFactory(roles=["coordinator"]), run.public_id)


def test_it_is_not_fetched_by_an_owner_who_lost_the_role(stamp, books, perform):
    run = perform(export_ask(**ASKED, stamp=stamp))
    owner = stamp.by
    owner.roles.set([build.RoleFactory(code="coordinator")])
    with pytest.raises(RoleMissing):
        export_file(type(owner).objects.get(pk=owner.pk), run.public_id)


def test_its_file_goes_after_its_days_and_its_row_stays(stamp, books, perform, settings):
    run = perform(export_ask(**ASKED, stamp=stamp))
    day = timedelta(days=1)
    assert exports_remove_old(at=build.NOW + settings.EXPORT_DAYS * day) == 0
    assert exports_remove_old(at=build.NOW + (settings.EXPORT_DAYS + 1) * day) == 1
    assert export_runs(stamp.by).get().sha256 == run.sha256
    with pytest.raises(FileGone):
        export_file(stamp.by, run.public_id)
