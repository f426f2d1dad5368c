"""Schedules and their mails: made once, mailed once, and only to whom the report is open."""

from datetime import UTC, datetime, timedelta

import pytest
from django.core.mail import EmailMessage

from orders.common.errors import Invalid, RoleMissing, WrongState
from orders.reports.mail import message_id, report_mails_send
from orders.reports.models import ExportRun, ReportMail, ReportSchedule
from orders.reports.services import (
    schedule_add,
    schedule_edit,
    schedule_pause,
    schedule_remove,
    schedule_send,
    schedules_run,
)
from tests import build

pytestmark = pytest.mark.django_db
DUE = datetime(2026, 12, 2, 12, tzinfo=UTC)
VALUES = {
    "name": "Every morning",
    "report": "cost",
    "query": {"by": "fund"},
    "file_format": "csv",
    "every": "day",
    "on_day": 1,
    "at_hour": 7,
}


@pytest.fixture
def reader(db):
    return build.UserFactory(username="rae", roles=["administrator"])


@pytest.fixture
def schedule(stamp, reader):
    return schedule_add(values=VALUES, recipients=[stamp.by, reader], stamp=stamp)


def test_it_is_due_next_by_the_program_clock(schedule):
    assert schedule.next_at == DUE


@pytest.mark.parametrize(
    ("values", "field"),
    [
        ({"every": "week", "on_day": 8}, "on_day"),
        ({"file_format": "zip"}, "file_format"),
        ({"name": " "}, "name"),
    ],
)
def test_it_names_what_is_wrong(stamp, reader, values, field):
    with pytest.raises(Invalid) as refused:
        schedule_add(values={**VALUES, **values}, recipients=[reader], stamp=stamp)
    assert field in [error.field for error in refused.value.errors]


def test_it_mails_nobody_whose_role_does_not_open_the_report(stamp):
    outsider = build.UserFactory(roles=["coordinator"])
    with pytest.raises(Invalid) as refused:
        schedule_add(values=VALUES, recipients=[outsider], stamp=stamp)
    assert [error.field for error in refused.value.errors] == ["recipients"]


def test_it_is_set_up_by_whom_the_report_is_open_to(reader):
    with pytest.raises(RoleMissing):
        schedule_add(values=VALUES, recipients=[reader], stamp=build.stamp(build.UserFactory(roles=["coordinator"])))


def test_it_makes_its_file_and_mails_once(schedule):
    assert schedules_run(at=DUE - timedelta(seconds=1)) == 0
    assert schedules_run(at=DUE) == 1
    assert schedules_run(at=DUE) == 0
    assert (ExportRun.objects.count(), ReportMail.objects.count()) == (1, 2)
    assert ReportSchedule.objects.get().next_at == DUE + timedelta(days=1)


def test_it_tells_several_missed_days_once(schedule):
    assert schedules_run(at=DUE + timedelta(days=4, hours=1)) == 1
    assert ReportSchedule.objects.get().next_at == DUE + timedelta(days=5)


def test_it_makes_nothing_while_it_is_paused(schedule, stamp):
    schedule_pause(schedule=schedule, is_active=False, expected=schedule.version, stamp=stamp)
    assert schedules_run(at=DUE) == 0
    late = build.stamp(stamp.by, at=DUE + timedelta(days=3, hours=1))
    schedule_pause(schedule=schedule, is_active=True, expected=schedule.version, stamp=late)
    assert schedules_run(at=late.at) == 0
    assert ReportSchedule.objects.get().next_at == DUE + timedelta(days=4)


def test_it_mails_the_file_once_it_is_done(schedule, books, perform, outbox):
    schedules_run(at=DUE)
    report_mails_send(clock=lambda: DUE)
    assert outbox.all == []
    perform(ExportRun.objects.get(), at=DUE)
    assert outbox.to() == ["fay@example.org", "rae@example.org"]
    (name, content, kind) = outbox.all[0].attachments[0]
    assert (name, kind) == ("cost-2026-12-02.csv", "text/csv")
    assert "123.45" in content
    report_mails_send(clock=lambda: DUE)
    assert len(outbox.all) == 2


def test_it_names_each_mail_by_its_row(schedule, books, perform, outbox):
    schedules_run(at=DUE)
    perform(ExportRun.objects.get(), at=DUE)
    wanted = {message_id(mail) for mail in ReportMail.objects.all()}
    assert {mail.extra_headers["Message-ID"] for mail in outbox.all} == wanted


def test_it_sends_nothing_to_a_person_who_lost_the_role(schedule, reader, books, perform, outbox):
    schedules_run(at=DUE)
    reader.roles.clear()
    perform(ExportRun.objects.get(), at=DUE)
    assert outbox.to() == ["fay@example.org"]
    mail = ReportMail.objects.get(recipient=reader)
    assert mail.sent_at is None
    assert "role does not open" in mail.error


def test_it_tries_again_when_the_mail_server_does_not_answer(schedule, books, perform, outbox, monkeypatch):
    schedules_run(at=DUE)
    with monkeypatch.context() as broken:
        broken.setattr(EmailMessage, "send", _refuses)
        perform(ExportRun.objects.get(), at=DUE)
    assert {mail.error for mail in ReportMail.objects.all()} == {
        "The mail server did not take it (ConnectionRefusedError). It is tried again."
    }
    assert report_mails_send(clock=lambda: DUE + timedelta(minutes=5)) == 2
    assert len(outbox.all) == 2
    assert {(mail.error, mail.mail_attempts) for mail in ReportMail.objects.all()} == {("", 2)}


def _refuses(self, *args, **kwargs):
    raise ConnectionRefusedError


def test_it_leaves_a_mail_that_another_run_has_claimed(schedule, books, perform, outbox, monkeypatch):
    schedules_run(at=DUE)
    ReportMail.objects.update(claimed_at=DUE)
    perform(ExportRun.objects.get(), at=DUE + timedelta(minutes=1))
    assert outbox.all == []
    assert report_mails_send(clock=lambda: DUE + timedelta(minutes=11)) == 2


def test_it_mails_a_large_file_as_a_link(schedule, books, perform, outbox, settings):
    settings.EXPORT_MAIL_MAX_BYTES = 10
    settings.SITE_ADDRESS = "https://fencerow.example.org"
    schedules_run(at=DUE)
    run = perform(ExportRun.objects.get(), at=DUE)
    assert outbox.all[0].attachments == []
    assert f"https://fencerow.example.org/money/exports/{run.public_id}/file/" in outbox.all[0].body


def test_it_says_that_the_file_was_not_made(schedule, stamp, perform, outbox):
    schedules_run(at=DUE)
    stamp.by.roles.clear()
    with pytest.raises(RoleMissing):
        perform(ExportRun.objects.get(), at=DUE)
    report_mails_send(clock=lambda: DUE)
    assert outbox.all == []
    assert "The file was not made" in ReportMail.objects.get(recipient__username="rae").error


def test_it_sends_one_now_beside_its_days(schedule, stamp, books, perform, outbox):
    perform(schedule_send(schedule=schedule, stamp=stamp))
    assert len(outbox.all) == 2
    assert ReportSchedule.objects.get().next_at == DUE


def test_it_is_counted_anew_when_its_days_change(schedule, stamp):
    values = {"every": "week", "on_day": 5}
    schedule_edit(schedule=schedule, expected=schedule.version, values=values, recipients=[stamp.by], stamp=stamp)
    row = ReportSchedule.objects.get()
    assert row.next_at == datetime(2026, 12, 4, 12, tzinfo=UTC)
    assert list(row.recipients.all()) == [stamp.by]


def test_it_is_removed_while_nothing_was_mailed(schedule, stamp):
    schedule_send(schedule=schedule, stamp=stamp)
    with pytest.raises(WrongState):
        schedule_remove(schedule=schedule, expected=schedule.version, stamp=stamp)
    ReportMail.objects.all().delete()
    schedule_remove(schedule=schedule, expected=schedule.version, stamp=stamp)
    assert not ReportSchedule.objects.exists()
