"""A season's page: its total with its range, by method, and each prescription."""

import html

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext
from django.urls import reverse

from orders.planning.totals import season_totals
from tests import build

pytestmark = pytest.mark.django_db


@pytest.fixture
def season():
    made = build.SeasonFactory(name="Winter 2027", budget_cents=100_000)
    for number in range(3):
        estimate = build.EstimateFactory(method=build.MethodFactory(code=("cut", "dig")[number % 2]))
        build.PrescriptionFactory(season=made, patch=estimate.survey.patch, estimate=estimate)
    return made


@pytest.fixture
def reader(client, coordinator):
    client.force_login(coordinator)
    return client


def _page(client, season, **asked):
    return html.unescape(client.get(reverse("season", args=[season.public_id]), asked).content.decode())


def test_it_shows_the_total_with_its_range(reader, season):
    page, hours = _page(reader, season), season_totals(season).total.hours
    assert f"<dd>{hours.mean:,.0f}</dd>" in page
    assert f"<dd>{hours.high:,.0f}</dd>" in page
    assert "Field person-hours of the season</title>" in page


def test_it_shows_the_chance_of_passing_the_budget(reader, season):
    chance = season_totals(season).total.dollars.chance_above(1_000)
    assert 0.05 < chance < 0.95
    assert f"{100 * chance:.1f}".removesuffix(".0") + "%" in _page(reader, season)
    assert ">budget $1,000<" in _page(reader, season)


def test_it_shows_what_moves_the_hours_and_each_method(reader, season):
    page = _page(reader, season)
    assert "The rates of Cut may be off for all its orders alike" in page
    assert '<th scope="row">Dig</th>' in page


def test_it_leads_to_each_estimate(reader, season):
    page = _page(reader, season)
    assert all(reverse("estimate", args=[row.estimate.public_id]) in page for row in season.prescriptions.all())


def test_it_turns_pages_and_draws_the_ranges_once(reader, season, monkeypatch):
    monkeypatch.setattr("orders.desk.views.seasons.ROWS_A_PAGE", 2)
    first, second = _page(reader, season), _page(reader, season, page=2)
    assert "Rows 1 to 2 of 3" in first
    assert ("by prescription" in first, "by prescription" in second) == (True, False)


def test_it_says_that_nothing_is_prescribed(reader):
    assert "Nothing is prescribed yet" in _page(reader, build.SeasonFactory())


def test_it_lists_seasons(reader, season):
    page = reader.get(reverse("seasons")).content.decode()
    assert "Winter 2027" in page
    assert reverse("season", args=[season.public_id]) in page
    assert '<td class="number">3</td>' in page


def test_it_says_that_there_is_no_season(reader):
    assert "No season yet" in reader.get(reverse("seasons")).content.decode()


@pytest.mark.parametrize(("role", "status"), [("finance", 200), ("crew_lead", 403)])
def test_it_opens_by_role(client, season, role, status):
    client.force_login(build.UserFactory(roles=[role]))
    assert client.get(reverse("season", args=[season.public_id])).status_code == status
    assert client.get(reverse("seasons")).status_code == status


def test_it_asks_the_database_as_often_for_many_rows_as_for_few(reader, season, django_assert_num_queries):
    with CaptureQueriesContext(connection) as few:
        _page(reader, season)
    for _ in range(6):
        estimate = build.EstimateFactory()
        build.PrescriptionFactory(season=season, patch=estimate.survey.patch, estimate=estimate)
    with django_assert_num_queries(len(few)):
        _page(reader, season)
