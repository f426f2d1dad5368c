"""The pages of mailed reports."""

import pytest
from django.urls import reverse

from orders.reports.models import ExportRun, ReportMail, ReportSchedule
from tests import build

pytestmark = pytest.mark.django_db


@pytest.fixture
def said(finance):
    return {
        "name": "Every Monday",
        "report": "cost",
        "query": "by=fund",
        "file_format": "xlsx",
        "every": "week",
        "on_day": "1",
        "at_hour": "7",
        "recipients": [str(finance.public_id)],
    }


@pytest.fixture
def schedule(finance):
    return build.ReportScheduleFactory(made_by=finance, recipients=[finance])


def _text(client, name, *args):
    return client.get(reverse(name, args=args)).content.decode()


def test_it_is_set_up(as_finance, finance, said):
    reply = as_finance.post(reverse("schedule-new"), said)
    row = ReportSchedule.objects.get()
    assert reply.url == reverse("report-schedule", args=[row.public_id])
    assert (row.every, row.on_day, row.query, list(row.recipients.all())) == ("week", 1, {"by": "fund"}, [finance])
    assert "Every Monday, 07:00" in _text(as_finance, "report-schedules")


def test_it_is_filled_in_from_the_report(as_finance):
    shown = as_finance.get(f"{reverse('schedule-new')}?report=ledger&fund=CITY").content.decode()
    assert 'value="fund=CITY"' in shown
    assert '<option value="ledger" selected>' in shown


def test_it_offers_whom_a_report_is_open_to(as_finance, finance):
    lead = build.UserFactory(roles=["crew_lead"])
    shown = _text(as_finance, "schedule-new")
    assert str(finance.public_id) in shown
    assert lead.email
    assert str(lead.public_id) not in shown


def test_it_refuses_whom_the_report_is_not_open_to(as_finance, coordinator, said):
    reply = as_finance.post(reverse("schedule-new"), said | {"recipients": [str(coordinator.public_id)]})
    assert reply.status_code == 400
    assert not ReportSchedule.objects.exists()


def test_it_shows_the_error_beside_the_field(as_finance, said):
    reply = as_finance.post(reverse("schedule-new"), {**said, "on_day": "9"})
    assert reply.status_code == 400
    assert "A weekday is 1 (Monday) to 7." in reply.content.decode()


def test_it_is_changed_and_paused(as_finance, said, schedule):
    address = reverse("report-schedule", args=[schedule.public_id])
    as_finance.post(address, {**said, "version": schedule.version})
    schedule.refresh_from_db()
    assert (schedule.name, schedule.every) == ("Every Monday", "week")
    as_finance.post(
        reverse("schedule-pause", args=[schedule.public_id]), {"is_active": "no", "version": schedule.version}
    )
    schedule.refresh_from_db()
    assert not schedule.is_active
    assert "paused" in _text(as_finance, "report-schedules")


def test_it_sends_one_now(as_finance, schedule):
    reply = as_finance.post(reverse("schedule-send", args=[schedule.public_id]))
    run = ExportRun.objects.get()
    assert reply.url == reverse("run-progress", args=[run.public_id])
    assert ReportMail.objects.get().export == run


def test_it_says_what_became_of_each_mail(as_finance, finance, schedule):
    build.ReportMailFactory(schedule=schedule, recipient=finance, sent_at=build.NOW)
    lost = build.UserFactory(first_name="Lou", last_name="Lost", roles=["finance"])
    build.ReportMailFactory(schedule=schedule, recipient=lost, error="This person's role does not open it.")
    shown = _text(as_finance, "report-schedule", schedule.public_id)
    assert "not sent" in shown
    assert "role does not open it" in shown


def test_it_names_a_person_who_lost_the_role(as_finance, schedule):
    schedule.recipients.add(build.UserFactory(first_name="Lou", last_name="Lost"))
    assert "Lou Lost has no role that opens this report any more" in _text(
        as_finance, "report-schedule", schedule.public_id
    )


def test_it_is_removed_while_nothing_was_mailed(as_finance, schedule):
    as_finance.post(reverse("schedule-remove", args=[schedule.public_id]), {"version": schedule.version})
    assert not ReportSchedule.objects.exists()


def test_it_is_closed_to_others(client, coordinator, schedule):
    client.force_login(coordinator)
    for name in ("report-schedules", "schedule-new"):
        assert client.get(reverse(name)).status_code == 403
    assert client.post(reverse("schedule-send", args=[schedule.public_id])).status_code == 403
