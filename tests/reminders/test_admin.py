"""The admin pages: rows to look at, steps to edit with a record of it."""

import pytest
from django.urls import reverse

from orders.common.models import Change
from orders.reminders.models import ReminderStep
from tests import build

pytestmark = pytest.mark.django_db


@pytest.fixture
def administrator(client):
    user = build.UserFactory(roles=["administrator"], is_staff=True, is_superuser=True)
    client.force_login(user, backend="django.contrib.auth.backends.ModelBackend")
    return user


def page(model, verb, *args):
    return reverse(f"admin:reminders_{model}_{verb}", args=args)


@pytest.mark.parametrize(
    ("model", "factory"),
    [("deadline", build.DeadlineFactory), ("notice", build.NoticeFactory), ("reminderstep", build.ReminderStepFactory)],
)
def test_it_shows_the_list_and_a_row(client, administrator, model, factory):
    row = factory()
    assert client.get(page(model, "changelist")).status_code == 200
    assert client.get(page(model, "change", row.pk)).status_code == 200


@pytest.mark.parametrize(("model", "factory"), [("deadline", build.DeadlineFactory), ("notice", build.NoticeFactory)])
def test_it_lets_nobody_add_change_or_delete_what_is_derived(client, administrator, model, factory):
    row = factory()
    addresses = [page(model, "add"), page(model, "change", row.pk), page(model, "delete", row.pk)]
    assert [client.post(address, {}).status_code for address in addresses] == [403, 403, 403]


def fields(step, **changed):
    names = ("kind", "code", "counts_from", "days_before", "local_time", "rung", "text", "source")
    return {
        **{name: getattr(step, name) for name in names},
        "is_active": "on",
        "to_coordinators": "on",
        "to_leads": "on",
        "opened_version": step.version,
        **changed,
    }


def test_it_edits_a_step_and_records_it(client, administrator):
    step = ReminderStep.objects.get(kind="seed", code="two-days")
    client.post(page("reminderstep", "change", step.pk), fields(step, days_before=3))
    change = Change.objects.get(verb="admin_edit", entity_id=step.public_id)
    assert (change.actor, change.before, change.after) == (administrator, {"days_before": 2}, {"days_before": 3})
    assert ReminderStep.objects.get(kind="seed", code="two-days").days_before == 3


def test_it_adds_a_step_and_records_it(client, administrator):
    step = ReminderStep.objects.get(kind="seed", code="two-days")
    client.post(page("reminderstep", "add"), fields(step, code="three-days", days_before=3))
    added = ReminderStep.objects.get(kind="seed", code="three-days")
    assert Change.objects.get(verb="admin_add").entity_id == added.public_id


def test_it_refuses_a_second_step_at_the_same_moment(client, administrator):
    step = ReminderStep.objects.get(kind="seed", code="two-days")
    answer = client.post(page("reminderstep", "change", step.pk), fields(step, days_before=7))
    assert answer.status_code == 200  # the form again, with what is wrong
    assert "reminder_step_moment_once" in answer.content.decode()
    assert ReminderStep.objects.get(kind="seed", code="two-days").days_before == 2


def test_it_deletes_no_step(client, administrator):
    step = ReminderStep.objects.get(kind="seed", code="two-days")
    assert client.post(page("reminderstep", "delete", step.pk), {"post": "yes"}).status_code == 403
