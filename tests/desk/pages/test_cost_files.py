"""The downloads hold what the page shows."""

import csv
import io

import pytest
from django.urls import reverse

from tests.desk.pages.test_cost_report import ADDRESS, cells

pytestmark = pytest.mark.django_db
ASKED = {"q": "th", "sort": "-actual"}


def _plain(text):
    return text.replace("$", "").replace(",", "").replace("\N{MINUS SIGN}", "-").replace("Total shown", "Total")


def _file(client, ending, **asked):
    return client.get(reverse("cost-report-file", args=[ending]), asked)


def test_it_writes_the_rows_of_the_page_as_csv(as_finance, books):
    reply = _file(as_finance, "csv", **ASKED)
    rows = list(csv.reader(io.StringIO(reply.content.decode(), newline="")))
    page = as_finance.get(ADDRESS, ASKED)
    assert rows[0] == ["Site", "planned", "actual", "difference", "planned hours", "actual hours"]
    assert rows[1:] == [[_plain(text) for text in row] for row in [*cells(page, "tbody"), *cells(page, "tfoot")]]


def test_it_keeps_to_rfc_4180(as_finance, books):
    reply = _file(as_finance, "csv", by="fund")
    assert reply["Content-Type"] == "text/csv; charset=utf-8; header=present"
    assert reply["Content-Disposition"] == 'attachment; filename="costs-by-fund.csv"'
    assert reply.content.count(b"\r\n") == reply.content.count(b"\n") == 1 + 2 + 1


def test_it_writes_exact_figures_as_json(as_finance, books):
    told = _file(as_finance, "json", **ASKED).json()
    assert [(row["key"], row["actual_cents"]) for row in told["rows"]] == [("NORTH", 61_234), ("SOUTH", 0)]
    assert told["total"]["planned_minutes"] == 690


def test_it_is_open_to_finance_only(client, coordinator, books):
    client.force_login(coordinator)
    assert _file(client, "csv").status_code == 403
    assert _file(client, "json").status_code == 403


def test_it_writes_no_other_format(as_finance):
    assert as_finance.get("/reports/costs/costs.exe").status_code == 404
