"""A season's week: crews by days, the hours they have, and what is on no day yet."""

import html
from datetime import date

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext
from django.urls import reverse

from tests import build
from tests.desk.pages.planned import planned

pytestmark = pytest.mark.django_db


@pytest.fixture
def made():
    return planned()


@pytest.fixture
def desk(client, coordinator):
    client.force_login(coordinator)
    return client


def _page(client, season, **asked):
    return html.unescape(client.get(reverse("season-board", args=[season.public_id]), asked).content.decode())


def test_it_shows_the_visits_of_a_week_and_no_others(desk, made):
    page = _page(desk, made.season, week="2027-02-10")
    assert "Week of February 8, 2027" in page
    shown = [visit for visit in made.visits if reverse("visit", args=[visit.public_id]) in page]
    assert shown == made.visits[1:3]
    for told in ("ordered, order 41", '12.0 h: <span class="whole-range">P1</span>', "15.0 of 120.0 h"):
        assert told in page


def test_it_marks_days_off(desk, made):
    build.AbsenceFactory(crew=made.crews[0], first_day=date(2027, 2, 9), last_day=date(2027, 2, 9))
    page = _page(desk, made.season, week="2027-02-08")
    assert page.count('<span class="quiet">off</span>') == 5  # two weekends and the day


def test_it_leads_to_the_weeks_beside_and_stays_within_the_season(desk, made):
    page = _page(desk, made.season, week="2027-02-10")
    assert 'href="?week=2027-02-01"' in page
    assert 'href="?week=2027-02-15"' in page
    first = _page(desk, made.season, week="2020-01-01")
    assert "Week of January 4, 2027" in first
    assert "Week before" not in first
    assert "Week after" not in _page(desk, made.season, week="2040-01-01")


def test_it_lists_what_has_no_visit(desk, made):
    left = _page(desk, made.season).partition('id="unplanned"')[2]
    assert str(made.asked[4].patch) in left
    assert str(made.asked[1].patch) not in left
    assert "Aug 18, 2027" in left


def test_it_lists_the_part_that_no_visit_serves(desk, made):
    made.visits[2].shares.update(share=0.25)
    left = _page(desk, made.season).partition('id="unplanned"')[2]
    assert str(made.asked[2].patch) in left
    assert "75% of it" in left


def test_it_refuses_a_day_that_is_none(desk, made):
    assert desk.get(reverse("season-board", args=[made.season.public_id]), {"week": "soon"}).status_code == 400


def test_it_offers_moves_to_the_desk_alone(client, coordinator, finance, made):
    client.force_login(finance)
    move = reverse("visit-move", args=[made.visits[1].public_id])
    assert move not in _page(client, made.season, week="2027-02-08")
    client.force_login(coordinator)
    assert move in _page(client, made.season, week="2027-02-08")


def test_it_opens_to_the_office(client, crew_lead, made):
    client.force_login(crew_lead)
    assert client.get(reverse("season-board", args=[made.season.public_id])).status_code == 403


def test_it_asks_the_database_as_often_for_many_visits_as_for_few(desk, made):
    counts = []
    for _ in range(2):
        with CaptureQueriesContext(connection) as asked:
            _page(desk, made.season, week="2027-02-08")
        counts.append(len(asked))
        for crew in made.crews:
            more = build.PrescriptionFactory(season=made.season)
            build.VisitFactory(season=made.season, crew=crew, site=more.patch.site, prescriptions=[more])
    assert counts[0] == counts[1]
