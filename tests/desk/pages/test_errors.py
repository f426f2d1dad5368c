"""Errors as pages: in the house's look, in plain words, with no inside of the program shown."""

import re

import pytest
from django.test import Client, RequestFactory
from django.urls import reverse

from orders.api import problems


@pytest.mark.django_db
def test_it_says_that_a_page_is_not_there(client):
    page = client.get("/no-such-page/")
    assert page.status_code == 404
    assert "The address may be mistyped" in page.content.decode()


@pytest.mark.django_db
def test_it_names_the_role_that_is_missing(client, coordinator):
    client.force_login(coordinator)
    page = client.get(reverse("cost-report"))
    assert page.status_code == 403
    assert "Cost pages are open to finance." in page.content.decode()


def test_it_reads_nothing_from_the_database_after_a_fault(rf: RequestFactory):
    """The test has no database: a query would fail it."""
    page = problems.server_error(rf.get("/"))
    assert page.status_code == 500
    assert "Something went wrong on the server" in page.content.decode()


@pytest.mark.django_db
def test_it_answers_a_fault_in_a_view_with_the_page(finance, monkeypatch):
    def broken(**asked):
        raise ZeroDivisionError("secret inside")

    monkeypatch.setattr("orders.desk.views.costs.cost_report", broken)
    client = Client(raise_request_exception=False)
    client.force_login(finance)
    page = client.get(reverse("cost-report"))
    assert page.status_code == 500
    assert "secret inside" not in page.content.decode()


@pytest.mark.django_db
@pytest.mark.parametrize("address", ["/login/", "/reports/costs/", "/reports/costs/rows/?key=NORTH", "/no-such-page/"])
def test_it_runs_no_inline_script_and_asks_no_other_host(as_finance, books, address):
    page = as_finance.get(address, follow=True)
    text, policy = page.content.decode(), page["Content-Security-Policy"]
    assert "default-src 'self'" in policy
    assert "script-src" not in policy
    assert re.findall(r"<script(?![^>]*\ssrc=)|<[^>]*\son\w+=|https?://", text) == []
