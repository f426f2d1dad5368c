"""People, a folder of their own for files, and a worker."""

from types import SimpleNamespace

import pytest

from orders.common.runs import run_claim, run_perform
from orders.reports.models import ExportRun
from tests import build


@pytest.fixture
def folder(settings, tmp_path):
    settings.EXPORT_DIR = tmp_path / "exports"
    return settings.EXPORT_DIR


@pytest.fixture
def finance(db):
    return build.UserFactory(username="fay", first_name="Fay", last_name="Frost", roles=["finance"])


@pytest.fixture
def stamp(finance):
    return build.stamp(finance)


@pytest.fixture
def books(db):
    """Two funds with a posted row each; the second has a name that a spreadsheet would run."""
    for code, cents in (("CITY", 12_345), ("=GRANT", 5_055)):
        build.LedgerEntryFactory(fund=build.FundFactory(code=code), amount_cents=cents, quantity=60)


@pytest.fixture
def perform(folder):
    """Do a run's work here and now."""

    def work(run, at=build.NOW):
        attempt = run_claim(ExportRun.objects.get(pk=run.pk), at=at)
        assert attempt is not None
        run_perform(ExportRun.objects.get(pk=run.pk), attempt, clock=lambda: at)
        return ExportRun.objects.get(pk=run.pk)

    return work


@pytest.fixture
def outbox(mailoutbox):
    return SimpleNamespace(all=mailoutbox, to=lambda: sorted(mail.to[0] for mail in mailoutbox))
