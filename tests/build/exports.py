"""Saved views, files of reports, and reports that are mailed."""

from datetime import UTC, datetime

import factory

from orders.reports import models as reports
from tests.build.base import NOW, Build, UserFactory


class SavedViewFactory(Build):
    class Meta:
        model = reports.SavedView

    owner = factory.SubFactory(UserFactory, roles=["finance"])
    name = factory.Sequence(lambda n: f"View {n}")
    report = "cost"
    query = factory.LazyFunction(lambda: {"by": "fund"})


class ExportRunFactory(Build):
    class Meta:
        model = reports.ExportRun

    report = "cost"
    query = factory.LazyFunction(lambda: {"by": "fund"})
    file_format = "csv"
    asked_by = factory.SubFactory(UserFactory, roles=["finance"])
    asked_at = NOW


class ReportScheduleFactory(Build):
    """Every day at seven by the program's clock."""

    class Meta:
        model = reports.ReportSchedule
        skip_postgeneration_save = True

    name = factory.Sequence(lambda n: f"Schedule {n}")
    report = "cost"
    query = factory.LazyFunction(lambda: {"by": "fund"})
    file_format = "csv"
    every = "day"
    at_hour = 7
    time_zone = "America/New_York"
    next_at = datetime(2026, 12, 2, 12, tzinfo=UTC)
    made_by = factory.SubFactory(UserFactory, roles=["finance"])

    @factory.post_generation
    def recipients(self, create, extracted, **kwargs):
        self.recipients.set(extracted or [])


class ReportMailFactory(Build):
    class Meta:
        model = reports.ReportMail

    schedule = factory.SubFactory(ReportScheduleFactory)
    due_at = NOW
    recipient = factory.SubFactory(UserFactory, roles=["finance"])
    export = factory.SubFactory(ExportRunFactory)
