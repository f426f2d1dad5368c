"""The schedule that a new installation begins with."""

from datetime import time

import pytest
from django.db import IntegrityError

from orders.reminders.models import KINDS, ReminderStep
from tests import build

pytestmark = pytest.mark.django_db


def test_it_is_filled():
    steps = ReminderStep.objects.filter(kind="seed", counts_from="due")
    assert [(step.days_before, step.local_time, step.audience_words) for step in steps] == [
        (28, time(8), ["coordinators"]),
        (14, time(8), ["coordinators", "crew leads"]),
        (7, time(8), ["coordinators", "crew leads"]),
        (2, time(8), ["coordinators", "crew leads"]),
        (0, time(7), ["coordinators", "crew leads"]),
        (-1, time(8), ["coordinators"]),
    ]
    assert ReminderStep.objects.get(counts_from="fruit").audience_words == ["coordinators", "crew leads"]


@pytest.mark.parametrize("kind", [code for code, _ in KINDS])
def test_it_has_steps_with_a_source_for_each_kind(kind):
    steps = ReminderStep.objects.filter(kind=kind)
    assert steps.count() >= 4
    assert all(step.source and step.audience_words for step in steps)


def test_it_takes_no_step_that_tells_nobody():
    with pytest.raises(IntegrityError):
        build.ReminderStepFactory(to_coordinators=False)


def test_it_takes_no_two_active_steps_at_one_moment():
    with pytest.raises(IntegrityError):
        build.ReminderStepFactory(days_before=14)


def test_it_takes_a_step_beside_one_that_is_switched_off():
    ReminderStep.objects.filter(kind="seed", days_before=14).update(is_active=False)
    assert build.ReminderStepFactory(days_before=14).pk
