"""Estimating every patch from the desk."""

import html

import pytest
import time_machine
from django.urls import reverse

from orders.common.runs import run_claim, run_perform
from orders.estimates.models import EstimateRun, RateBook
from tests.flow.world import BEGIN
from tests.planning.choices import ground_build

pytestmark = pytest.mark.django_db


@pytest.fixture
def ground():
    return ground_build(estimated=False)


@pytest.fixture
def desk(client, ground):
    with time_machine.travel(BEGIN, tick=False):
        client.force_login(ground.world.coordinator)
        yield client


def _page(client, address):
    return html.unescape(client.get(address).content.decode())


def test_it_says_what_has_no_estimate_and_leads_to_the_run(desk, ground):
    assert '<td class="number">3</td>' in _page(desk, reverse("estimates-make"))
    reply = desk.post(reverse("estimates-make"), {"crew_kind": "staff"})
    run = EstimateRun.objects.get()
    assert reply.url == reverse("run-progress", args=[run.public_id])
    attempt = run_claim(run, at=BEGIN)
    assert attempt is not None
    run_perform(run, attempt, clock=lambda: BEGIN)
    page = _page(desk, reply.url)
    assert "Patches looked at" in page
    assert reverse("prescribe-now") in page
    assert '<td class="number">0</td>' in _page(desk, reverse("estimates-make"))


def test_it_says_that_no_rate_book_is_in_force(desk):
    RateBook.objects.update(state="draft")
    assert "No rate book is in force" in _page(desk, reverse("estimates-make"))
    reply = desk.post(reverse("estimates-make"), {"crew_kind": "staff"})
    assert reply.status_code == 404
    assert not EstimateRun.objects.exists()


def test_it_refuses_a_kind_of_crew_that_there_is_not(desk):
    assert desk.post(reverse("estimates-make"), {"crew_kind": "goats"}).status_code == 400


def test_it_is_the_desks_alone(client, finance):
    client.force_login(finance)
    assert client.get(reverse("estimates-make")).status_code == 403
    assert client.post(reverse("estimates-make"), {"crew_kind": "staff"}).status_code == 403
