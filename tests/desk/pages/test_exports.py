"""The pages of files: asked for, followed, fetched."""

import pytest
from django.urls import reverse

from orders.common.runs import run_claim, run_perform
from orders.reports.models import ExportRun
from tests import build

pytestmark = pytest.mark.django_db
ASKED = {"report": "cost", "format": "csv", "query": "by=site"}


@pytest.fixture(autouse=True)
def _own_folder(settings, tmp_path):
    settings.EXPORT_DIR = tmp_path / "exports"


def _perform():
    run = ExportRun.objects.get()
    attempt = run_claim(run, at=build.NOW)
    assert attempt
    run_perform(run, attempt, clock=lambda: build.NOW)
    return run


def _text(client, name, *args):
    return client.get(reverse(name, args=args)).content.decode()


def test_it_is_asked_for_and_followed(as_finance, books):
    reply = as_finance.post(reverse("report-export"), ASKED)
    run = ExportRun.objects.get()
    assert reply.url == reverse("run-progress", args=[run.public_id])
    assert (run.report, run.query, run.file_format) == ("cost", {"by": "site"}, "csv")
    assert "File of a report" in _text(as_finance, "run-progress", run.public_id)


def test_it_takes_the_words_of_the_report_beside_its_own(as_finance):
    as_finance.post(reverse("report-export"), {"report": "cost", "format": "csv", "by": "site", "and": "method"})
    assert ExportRun.objects.get().query == {"by": "site", "and": "method"}


def test_it_is_listed_and_fetched(as_finance, books):
    as_finance.post(reverse("report-export"), ASKED)
    run = _perform()
    shown = _text(as_finance, "report-exports")
    address = reverse("export-file", args=[run.public_id])
    assert address in shown
    assert address in _text(as_finance, "run-progress", run.public_id)
    reply = as_finance.get(address)
    content = b"".join(reply.streaming_content).decode()
    assert "NORTH" in content
    assert reply.headers["Content-Disposition"] == f'attachment; filename="{ExportRun.objects.get().file_name}"'
    assert reply.headers["X-Content-Type-Options"] == "nosniff"


def test_it_says_that_a_file_is_no_longer_kept(as_finance):
    run = build.ExportRunFactory(state="done", file_name="cost.csv")
    assert "no longer kept" in _text(as_finance, "report-exports")
    reply = as_finance.get(reverse("export-file", args=[run.public_id]))
    assert reply.status_code == 409
    assert "Files are kept for 30 days" in reply.content.decode()


def test_it_hands_over_a_month(as_finance):
    as_finance.post(reverse("handover"), {"month": "2027-02"})
    assert ExportRun.objects.get().query == {"month": "2027-02"}


def test_it_names_a_month_that_is_none(as_finance):
    reply = as_finance.post(reverse("handover"), {"month": "February"})
    assert reply.status_code == 400
    assert "2027-03" in reply.content.decode()


def test_it_says_that_there_is_no_file_yet(as_finance):
    assert "No file yet" in _text(as_finance, "report-exports")


@pytest.mark.parametrize("role", ["coordinator", "crew_lead"])
def test_it_is_closed_to_others(client, role):
    run = build.ExportRunFactory(state="done")
    client.force_login(build.UserFactory(roles=[role]))
    assert client.get(reverse("report-exports")).status_code == 403
    assert client.post(reverse("report-export"), ASKED).status_code == 403
    assert client.post(reverse("handover"), {"month": "2027-02"}).status_code == 403
    assert client.get(reverse("export-file", args=[run.public_id])).status_code == 404
