"""The whole run: a season of it, twice the same, and from the worker and the terminal."""

import random
from datetime import UTC, date, datetime, time, timedelta
from io import StringIO
from typing import NamedTuple
from zoneinfo import ZoneInfo

import pytest
from django.conf import settings
from django.core import mail
from django.core.mail import EmailMessage
from django.core.management import CommandError, call_command
from django.db import connection

from orders.common.models import Change
from orders.reminders import tasks
from orders.reminders.models import Deadline, Notice, ReminderStep
from orders.reminders.services import reminders_run
from tests import build
from tests.reminders.build import close, job, survey

pytestmark = pytest.mark.django_db

TWO_WEEKS = datetime(2027, 8, 4, 15, tzinfo=UTC)


@pytest.fixture
def patch(coordinator):
    seen = survey(build.PatchFactory(site__time_zone="America/Chicago"))
    return seen.patch


def test_it_computes_makes_and_mails(patch, coordinator):
    done = reminders_run(at=TWO_WEEKS)
    assert [(year.year, year.added) for year in done.refreshed] == [(2027, 1)]
    assert [(notice.step.code, notice.user) for notice in done.notices] == [("two-weeks", coordinator)]
    assert [message.to for message in mail.outbox] == [[coordinator.email]]


def test_it_changes_nothing_the_second_time(patch):
    reminders_run(at=TWO_WEEKS)
    before = [list(model.objects.order_by("pk").values()) for model in (Deadline, Notice, Change)]
    reminders_run(at=TWO_WEEKS)
    assert [list(model.objects.order_by("pk").values()) for model in (Deadline, Notice, Change)] == before
    assert len(mail.outbox) == 1


@pytest.mark.django_db(transaction=True)
def test_it_mails_what_is_committed_and_holds_no_transaction_while_it_does(patch, monkeypatch):
    held = []
    monkeypatch.setattr(EmailMessage, "send", lambda *_, **__: held.append(connection.in_atomic_block))
    reminders_run(at=TWO_WEEKS)
    assert held == [False]


@pytest.mark.parametrize(
    ("at", "years"),
    [
        (datetime(2027, 8, 4, tzinfo=UTC), [2027]),
        (datetime(2027, 11, 2, 4, 59, tzinfo=UTC), [2027]),  # still November 1 in Chicago
        (datetime(2027, 11, 2, 5, tzinfo=UTC), [2027, 2028]),
        (datetime(2028, 1, 1, 5, 59, tzinfo=UTC), [2027, 2028]),
    ],
)
def test_it_refreshes_the_sites_own_year_and_the_next_when_it_is_near(patch, at, years):
    assert [year.year for year in reminders_run(at=at).refreshed] == years


def test_it_still_follows_last_years_deadlines_when_a_close_out_comes_late(patch):
    work = job(patch)
    reminders_run(at=TWO_WEEKS)
    close(work, on=date(2027, 8, 1))
    reminders_run(at=datetime(2028, 1, 10, 12, tzinfo=UTC))
    assert Deadline.objects.get(kind="seed", year=2027).state == "met"


def test_it_does_nothing_without_a_site(coordinator):
    assert reminders_run(at=TWO_WEEKS).refreshed == ()


class Moment(NamedTuple):
    code: str
    comes: datetime
    closes: datetime


def expected(moments, runs):
    """An independent telling: at each run the newest moment that has come, if it is none that was told before.

    Whoever is told that some time is left is told on the due day at the latest.
    """
    told = []
    for at in runs:
        newest = max((found for found in moments if found.comes <= at), key=lambda found: found.comes)
        if newest.code not in told and at < newest.closes:
            told.append(newest.code)
    return told


@pytest.mark.parametrize("seed", range(3))
def test_it_tells_each_step_at_most_once_and_only_the_latest_over_a_season_of_skipped_runs(patch, coordinator, seed):
    """The beat asks hourly; most calls are lost, in stretches of up to nine days."""
    chance = random.Random(seed)
    zone, due = ZoneInfo("America/Chicago"), date(2027, 8, 18)
    over = datetime.combine(due + timedelta(days=1), time(0), tzinfo=zone)
    moments = [
        Moment(
            step.code,
            datetime.combine(due - timedelta(days=step.days_before), step.local_time, tzinfo=zone),
            over if step.days_before >= 0 else over + timedelta(days=30),
        )
        for step in ReminderStep.objects.filter(kind="seed", counts_from="due")
    ]
    runs, at = [], datetime(2027, 7, 21, 13, tzinfo=UTC)
    while at < datetime(2027, 8, 25, tzinfo=UTC):
        runs.append(at)
        at += timedelta(hours=chance.choice([1, 1, 5, 17, 40, 216]))
    told = [notice.step.code for at in runs for notice in reminders_run(at=at).notices]
    assert told == expected(moments, runs)
    reminders_run(at=datetime(2027, 8, 25, 15, tzinfo=UTC))
    mailed = set(Notice.objects.filter(handed_over_at__isnull=False).values_list("pk", flat=True))
    newest = Notice.objects.order_by("-pk").first()
    assert len(told) == len(set(told)) > 1
    assert len({message.extra_headers["Message-ID"] for message in mail.outbox}) == len(mail.outbox) == len(mailed)
    assert newest
    assert newest.pk in mailed


def test_it_is_asked_for_by_the_beat_under_its_own_name(patch, monkeypatch):
    monkeypatch.setattr(tasks, "now", lambda: TWO_WEEKS)
    assert tasks.reminders_step.name == settings.CELERY_BEAT_SCHEDULE["reminders"]["task"]
    tasks.reminders_step()
    assert Notice.objects.get().handed_over_at == TWO_WEEKS


def command(*words):
    out = StringIO()
    call_command("reminders", *words, stdout=out)
    return out.getvalue().splitlines()


def test_it_runs_from_the_terminal_as_of_an_instant(patch, coordinator):
    assert command("--at", "2027-08-04T10:00:00-05:00") == [
        "2027: 1 deadlines added, 0 changed, 0 no longer owed, 0 as they were; 0 without a fruiting range",
        "other kinds: 0 deadlines added, 0 changed, 0 no longer owed, 0 as they were",
        f"two-weeks to {coordinator}: {Notice.objects.get().subject}",
        "1 notices made, 1 mailed, 0 not taken by the server",
    ]


def test_it_lists_what_is_owed_and_does_nothing_else(patch):
    build.DeadlineFactory(plain=True, kind="stock", title="Stock of Blue", due_on=date(2027, 9, 1))
    build.DeadlineFactory(plain=True, kind="close", title="Work order 3", due_on=date(2027, 8, 1), state="missed")
    build.DeadlineFactory(plain=True, kind="label", state="met")
    assert command("--list") == [
        "2027-08-01  close   Missed: Work order 3",
        "2027-09-01  stock   Open: Stock of Blue",
    ]
    assert Deadline.objects.count() == 3


def test_it_shows_what_it_would_do_and_does_nothing(patch):
    lines = command("--at", "2027-08-04T15:00:00Z", "--dry-run")
    assert lines[-2:] == [
        "1 notices made, 0 mailed, 0 not taken by the server",
        "Dry run: nothing was written, nothing was mailed.",
    ]
    assert (Deadline.objects.count(), Notice.objects.count(), Change.objects.count(), mail.outbox) == (0, 0, 0, [])


@pytest.mark.parametrize("at", ["tomorrow", "2027-08-04", "2027-08-04T15:00:00"])
def test_it_refuses_an_instant_that_names_no_zone(db, at):
    with pytest.raises(CommandError, match="--at"):
        command("--at", at)


def test_it_takes_the_present_where_no_instant_is_given(patch, monkeypatch):
    monkeypatch.setattr("orders.reminders.management.commands.reminders.now", lambda: TWO_WEEKS)
    assert command()[-1] == "1 notices made, 1 mailed, 0 not taken by the server"
