"""The one place that reads the clock, for interfaces only (api, desk, commands, tasks): below, time is an argument."""

from datetime import datetime

from django.utils import timezone


def now() -> datetime:
    return timezone.now()
