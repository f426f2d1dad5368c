"""Files of reports over the API."""

import hashlib

import pytest

from orders.common.runs import run_claim, run_perform
from orders.reports.models import ExportRun
from tests import build
from tests.api.caller import error_fields
from tests.api.conftest import NOW

pytestmark = pytest.mark.django_db
ASKED = {"report": "cost", "query": {"by": "fund"}, "file_format": "csv"}


@pytest.fixture(autouse=True)
def _own_folder(settings, tmp_path):
    settings.EXPORT_DIR = tmp_path / "exports"


def _perform():
    run = ExportRun.objects.get()
    attempt = run_claim(run, at=NOW)
    assert attempt
    run_perform(run, attempt, clock=lambda: NOW)


def test_it_is_asked_for_followed_and_fetched(finance):
    build.LedgerEntryFactory()
    reply = finance.send("/api/exports", ASKED)
    assert (reply.status_code, reply.json()["state"]) == (202, "queued")
    _perform()
    told = finance.get(reply.headers["Location"]).json()
    assert (told["state"], told["rows_count"], told["file_name"]) == ("done", 1, "cost-2026-12-01.csv")
    file = finance.get(f"{reply.headers['Location']}/file")
    content = b"".join(file.streaming_content)
    assert hashlib.sha256(content).hexdigest() == told["sha256"]
    assert file.headers["Content-Type"].startswith("text/csv")
    assert "cost-2026-12-01.csv" in file.headers["Content-Disposition"]


def test_it_is_not_fetched_before_it_is_done(finance):
    reply = finance.send("/api/exports", ASKED)
    file = finance.get(f"{reply.headers['Location']}/file")
    assert (file.status_code, file.json()["code"]) == (409, "wrong_state")


def test_it_names_what_is_wrong(finance):
    assert error_fields(finance.send("/api/exports", {**ASKED, "file_format": "doc"})) == ["file_format"]
    assert error_fields(finance.send("/api/handovers", {"month": "2027-13"})) == ["month"]
    assert finance.send("/api/exports", {**ASKED, "report": "nothing"}).status_code == 404


def test_it_is_closed_to_others(desk, lead, finance):
    location = finance.send("/api/exports", ASKED).headers["Location"]
    for caller in (desk, lead):
        assert caller.send("/api/exports", ASKED).status_code == 403
        assert caller.get(location).status_code == 403
        assert caller.get(f"{location}/file").status_code == 403


def test_it_asks_for_the_hand_over_of_a_month(finance):
    reply = finance.send("/api/handovers", {"month": "2027-02"})
    assert (reply.status_code, reply.json()["report"], reply.json()["file_format"]) == (202, "month-end", "zip")


def test_it_lists_by_report_and_state(finance):
    build.ExportRunFactory(state="done")
    build.ExportRunFactory(report="ledger")
    assert [row["report"] for row in finance.rows("/api/exports?state=done")] == ["cost"]
    assert [row["report"] for row in finance.rows("/api/exports?report=ledger")] == ["ledger"]
