"""The schedule that a new installation begins with."""

from datetime import time

import pytest
from django.db import IntegrityError

from orders.reminders.models import ReminderStep
from tests import build

pytestmark = pytest.mark.django_db


def test_it_is_filled():
    steps = ReminderStep.objects.filter(counts_from="due")
    assert [(step.days_before, step.local_time, step.audience) for step in steps] == [
        (28, time(8), "coordinator"),
        (14, time(8), "both"),
        (7, time(8), "both"),
        (2, time(8), "both"),
        (0, time(7), "both"),
        (-1, time(8), "coordinator"),
    ]
    assert ReminderStep.objects.get(counts_from="fruit").audience == "both"


def test_it_takes_no_two_active_steps_at_one_moment():
    with pytest.raises(IntegrityError):
        build.ReminderStepFactory(days_before=14)


def test_it_takes_a_step_beside_one_that_is_switched_off():
    ReminderStep.objects.filter(days_before=14).update(is_active=False)
    assert build.ReminderStepFactory(days_before=14).pk
