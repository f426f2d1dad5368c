"""A new season, and changing one."""

from datetime import date

import pytest
from django.urls import reverse

from orders.planning.models import Season
from tests import build

pytestmark = pytest.mark.django_db
SENT = {"name": "2028", "first_day": "2028-01-03", "last_day": "2028-12-15", "budget": "120000.50", "level": "cautious"}


@pytest.fixture
def desk(client, coordinator):
    client.force_login(coordinator)
    return client


def test_it_adds_a_season_and_leads_to_choosing(desk):
    reply = desk.post(reverse("season-new"), SENT)
    season = Season.objects.get()
    assert reply.url == reverse("prescribe", args=[season.public_id])
    assert (season.name, season.budget_cents, season.budget_level) == ("2028", 12_000_050, 0.8)


@pytest.mark.parametrize(
    ("more", "words"),
    [
        ({"name": ""}, "required"),
        ({"last_day": "2028-01-02"}, "must be after"),
        ({"budget": "-1"}, "greater than or equal"),
        ({"level": "never"}, "valid choice"),
    ],
)
def test_it_names_what_is_wrong(desk, more, words):
    reply = desk.post(reverse("season-new"), {**SENT, **more})
    assert reply.status_code == 400
    assert words in reply.content.decode()
    assert not Season.objects.exists()


def test_it_changes_a_season(desk):
    season = build.SeasonFactory(name="2028", first_day=date(2028, 1, 3), last_day=date(2028, 12, 15))
    desk.post(reverse("season-edit", args=[season.public_id]), {**SENT, "last_day": "2029-02-28", "version": "1"})
    season.refresh_from_db()
    assert (season.last_day, season.budget_cents) == (date(2029, 2, 28), 12_000_050)


def test_it_keeps_days_that_visits_rest_on(desk):
    season = build.SeasonFactory(name="2028", first_day=date(2028, 1, 3), last_day=date(2028, 12, 15))
    build.VisitFactory(season=season, day=date(2028, 3, 1), state="planned")
    sent = {**SENT, "last_day": "2029-02-28", "version": str(season.version)}
    reply = desk.post(reverse("season-edit", args=[season.public_id]), sent)
    assert reply.status_code == 400
    assert "visits are planned in the season already" in reply.content.decode()


def test_the_list_and_the_settings_lead_there(desk):
    season = build.SeasonFactory(name="2028")
    assert reverse("season-new") in desk.get(reverse("seasons")).content.decode()
    settings = desk.get(reverse("season-settings", args=[season.public_id])).content.decode()
    assert reverse("season-edit", args=[season.public_id]) in settings


def test_it_is_the_desks_alone(client, finance):
    season = build.SeasonFactory(name="2028")
    client.force_login(finance)
    assert client.get(reverse("season-new")).status_code == 403
    assert client.get(reverse("season-edit", args=[season.public_id])).status_code == 403
    assert reverse("season-new") not in client.get(reverse("seasons")).content.decode()
