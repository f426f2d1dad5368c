"""What a person is paid is finance's alone: no reader elsewhere can find it, nor figure it out of what is shown."""

import logging

import pytest
import time_machine
from django.db import transaction
from django.test import override_settings
from django.urls import reverse

from orders.api import urls as api_urls
from orders.api.permissions import TABLE
from orders.common.errors import Refusal
from orders.costs.models import LedgerEntry
from orders.reports.catalog import REPORTS, report_table
from tests import build
from tests.api.conftest import NOW
from tests.api.fuzz_world import TABLET
from tests.api.paid_world import (
    READERS,
    api_addresses,
    browser_of,
    caller_of,
    desk_addresses,
    paid_world_build,
    text_of,
)
from tests.desk.pages.lists import LISTS

pytestmark = pytest.mark.django_db
MONEY_WORDS = ("amount_cents", "actual_cents", "cost", "rate_e4", "wage_e4", "premium_cents", "pay", "regular_rate_e4")


@pytest.fixture(scope="module")
def world(django_db_setup, django_db_blocker, tmp_path_factory):
    """Made once and only read: what a test sends is taken back with the test."""
    photos = override_settings(PHOTO_DIR=tmp_path_factory.mktemp("photos"))
    with photos, django_db_blocker.unblock(), transaction.atomic():
        with time_machine.travel(NOW, tick=True):
            made = paid_world_build()
        yield made
        transaction.set_rollback(True)


@pytest.fixture(autouse=True)
def _logs(caplog):
    caplog.set_level(logging.INFO)


def _read(world, get, addresses):
    """What leaks, by address; and how many answered with what was asked for."""
    leaks, opened = {}, 0
    for address in addresses:
        reply = get(address)
        opened += reply.status_code == 200
        if found := world.found_in(text_of(reply)):
            leaks[address] = found
    return leaks, opened


def test_it_would_be_found_where_finance_reads(world):
    """The search itself works: finance's own lists hold what nobody else's may."""
    caller, browser = caller_of(world, "finance"), browser_of(world, "finance")
    for address in ("/api/pay-rates", "/api/ledger?limit=200", "/api/workweek-premiums"):
        assert world.found_in(text_of(caller.get(address))), address
    assert world.found_in(text_of(browser.get(reverse("overtime"))))


@pytest.mark.parametrize("reader", READERS)
def test_it_is_in_no_answer_of_the_api(world, reader, caplog):
    caller = caller_of(world, reader)
    addresses = [address for _, address in api_addresses(world)]
    leaks, opened = _read(world, caller.get, addresses)
    assert leaks == {}
    assert opened > 40
    assert world.found_in(caplog.text) == []


@pytest.mark.parametrize("reader", READERS)
def test_it_is_on_no_page(world, reader, caplog):
    browser = browser_of(world, reader)
    addresses = [*desk_addresses(world), f"/day-sheets/?day={build.WORK_DAY}", "/day-sheets/?day=2027-02-07"]
    leaks, opened = _read(world, browser.get, addresses)
    assert leaks == {}
    assert opened > 20
    assert world.found_in(caplog.text) == []


@pytest.mark.parametrize("reader", READERS)
def test_it_is_in_no_file_of_a_list(world, reader):
    browser = browser_of(world, reader)
    files = [f"{address.partition('#')[0]}{one.file}" for address, one in LISTS.items() if "{" not in address]
    leaks, opened = _read(world, browser.get, files)
    assert leaks == {}
    assert opened > 5


def _lists():
    views = [getattr(pattern.callback, "view_class", None) for pattern in api_urls.urlpatterns]
    return [view for view in views if view is not None and getattr(view, "lists", False)]


@pytest.mark.parametrize("reader", READERS)
def test_it_cannot_be_found_by_sorting_or_filtering(world, reader):
    caller = caller_of(world, reader)
    for view in _lists():
        if not world.users[reader].role_codes & TABLE[view.endpoint]["GET"]:
            continue
        assert not {"amount_cents", "rate_e4", "wage_e4", "premium_cents", "regular_rate_e4"} & set(view.sorts.values())
        address = next(address for name, address in api_addresses(world) if name == view.endpoint)
        for query in [*(f"sort={word}" for word in MONEY_WORDS), *(f"{word}=1" for word in MONEY_WORDS)]:
            reply = caller.get(f"{address}?{query}")
            assert (view.endpoint, query, reply.status_code) in {(view.endpoint, query, code) for code in (400, 404)}
            assert world.found_in(text_of(reply)) == []


@pytest.mark.parametrize("reader", READERS)
def test_it_is_in_no_report_that_opens(world, reader):
    for code in REPORTS:
        assert world.found_in(_report(world.users[reader], code)) == []


def _report(actor, code):
    """Its table as text, or why it was refused."""
    try:
        table = report_table(actor, code, {})
    except Refusal as refused:
        return str(refused)
    return " ".join(map(repr, [*table.rows, table.total, table.told]))


@pytest.mark.parametrize("reader", READERS)
def test_it_is_in_no_change_that_is_told(world, reader):
    rows = caller_of(world, reader).get("/api/changes?limit=200").json()
    assert rows["results"]
    assert world.found_in(str(rows)) == []


def test_it_is_not_on_the_tablet(world, client):
    reply = client.post("/tablet/sync/work", {}, "application/json", headers={"Authorization": f"Tablet {TABLET}"})
    assert reply.status_code == 200
    assert world.found_in(text_of(reply)) == []


@pytest.mark.parametrize("reader", READERS)
def test_it_is_in_no_refusal(world, reader):
    """Whatever is wrong with what they send, the answer names no figure of pay."""
    caller = caller_of(world, reader)
    entry = LedgerEntry.objects.filter(person=world.people[0]).order_by("id")[0]
    body = {"person": str(world.people[0].public_id), "from_day": "2026-01-01", "rate_e4": 1, "ids": [entry.pk]}
    for endpoint, address in api_addresses(world):
        if "POST" in TABLE[endpoint]:
            assert world.found_in(text_of(caller.send(address, body))) == [], address
