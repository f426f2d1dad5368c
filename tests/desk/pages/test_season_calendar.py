"""The season on its days: lanes with windows, visits and deadlines, the load of the crews, and the cost by when."""

import html
from datetime import date

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext
from django.urls import reverse

from orders.desk.season_lanes import closures_of
from tests import build
from tests.desk.pages.planned import plan_done, planned, proposed

pytestmark = pytest.mark.django_db


@pytest.fixture
def made():
    return planned()


@pytest.fixture
def reader(client, coordinator):
    client.force_login(coordinator)
    return client


def _page(client, season, status=200, **asked):
    reply = client.get(reverse("season-calendar", args=[season.public_id]), asked)
    assert reply.status_code == status
    return html.unescape(reply.content.decode())


def test_it_shows_a_lane_for_each_site(reader, made):
    page = _page(reader, made.season)
    assert '<th scope="row" class="day">OXBOW Oxbow Bend</th>' in page
    assert "1 planned, 1 done" in page
    assert "Aug 18, 2027 met" in page
    assert "Aug 18, 2027 owed" in page


def test_it_shows_closures_apart(reader, made):
    build.ClosureFactory(site=made.sites[0])
    assert "<desc" in _page(reader, made.season)


def test_it_repeats_a_yearly_closure_in_the_seasons_year(made):
    yearly = {"first_day": date(2024, 12, 20), "last_day": date(2025, 1, 20), "repeats_yearly": True}
    build.ClosureFactory(site=made.sites[0], **yearly)
    build.ClosureFactory(site=made.sites[0], first_day=date(2025, 5, 1), last_day=date(2025, 5, 9))
    found = closures_of(made.season)[made.sites[0].pk]
    assert found == [(date(2026, 12, 20), date(2027, 1, 20))]


def test_it_shows_a_lane_for_each_crew_and_what_has_none(reader, made):
    page = _page(reader, made.season, by="crew")
    for lane in ("Hollow crew", "Ridge crew", "No crew yet"):
        assert f'<th scope="row" class="day">{lane}</th>' in page


def test_it_shows_each_patch_with_its_visits_and_the_reason_of_its_window(reader, made):
    page = _page(reader, made.season, by="patch", site="OXBOW")
    assert reverse("visit", args=[made.visits[2].public_id]) in page
    assert reverse("visit", args=[made.visits[1].public_id]) not in page
    assert made.asked[0].window_because in page


def test_it_narrows_by_crew_state_and_month(reader, made):
    assert "TANNER" not in _lanes(_page(reader, made.season, crew=str(made.crews[0].public_id)))
    assert "OXBOW" in _lanes(_page(reader, made.season, state="none"))
    assert "TANNER" not in _lanes(_page(reader, made.season, state="none"))
    assert "0.00 h" in _page(reader, made.season, month="2027-04")


def _lanes(page):
    return page.partition("<tbody>")[2]


def test_it_says_that_nothing_answers(reader, made):
    assert "Nothing answers this" in _page(reader, made.season, by="patch", site="OXBOW", state="ordered")


def test_it_shows_a_plan_in_place_of_what_stands(reader, made):
    run = plan_done(made.season, title="After the rain")
    proposed(run, made)
    page = _page(reader, made.season, run=str(run.public_id), by="patch")
    assert "as if the plan “" in page
    assert "1 proposed" in page


def test_it_turns_pages_of_lanes(reader, made, monkeypatch):
    monkeypatch.setattr("orders.desk.views.season_calendar.LANES_A_PAGE", 1)
    assert "TANNER" not in _lanes(_page(reader, made.season))
    assert "TANNER" in _lanes(_page(reader, made.season, page=2))


def test_it_shows_the_load_of_each_crew_by_week(reader, made):
    page = _page(reader, made.season, show="load")
    assert '<th scope="col" class="number">Ridge crew</th>' in page
    assert '<th scope="row">Feb 8, 2027</th>' in page
    assert "15.0 of 120.0 h" in page


def test_it_names_weeks_that_ask_for_too_much(reader, made):
    visit = made.visits[2]
    visit.shares.update(planned_hours=150)
    assert "week of Feb 8, 2027: 153.0 of 120.0 person-hours" in _page(reader, made.season, show="load")


def test_it_shows_the_cost_by_week_with_its_range(reader, made):
    page = _page(reader, made.season, show="cost")
    assert ">budget $60,000<" in page
    assert "Planned cost of Winter 2027 by week" in page
    assert '<th scope="col" class="number">Likely</th>' in page


def test_it_says_that_nothing_stands_yet(reader):
    season = build.SeasonFactory()
    assert "Nothing stands on a day yet" in _page(reader, season)
    assert "Nothing stands on a day yet" in _page(reader, season, show="cost")


def test_it_refuses_what_it_does_not_have(reader, made):
    assert "not one of the available choices" in _page(reader, made.season, status=400, month="2031-01")


@pytest.mark.parametrize(("role", "status"), [("finance", 200), ("pesticide_supervisor", 200), ("crew_lead", 403)])
def test_it_opens_by_role(client, made, role, status):
    client.force_login(build.UserFactory(roles=[role]))
    _page(client, made.season, status=status)


def test_it_asks_the_database_as_often_for_many_rows_as_for_few(reader, made, django_assert_num_queries):
    with CaptureQueriesContext(connection) as few:
        _page(reader, made.season, by="patch")
    for _ in range(4):
        asked = build.PrescriptionFactory(season=made.season)
        build.VisitFactory(season=made.season, crew=made.crews[0], site=asked.patch.site, prescriptions=[asked])
    with django_assert_num_queries(len(few)):
        _page(reader, made.season, by="patch")
