"""A season's settings: its funds, how sure the money lasts, what work is worth, and what follows what."""

import html

import pytest
from django.urls import reverse

from orders.planning.models import SeasonFund
from tests import build

pytestmark = pytest.mark.django_db


@pytest.fixture
def season():
    return build.SeasonFactory(name="Winter 2027")


@pytest.fixture
def desk(client, coordinator):
    client.force_login(coordinator)
    return client


def _fund(season, **more):
    return SeasonFund.objects.create(season=season, **{"code": "CITY", "name": "City", "budget_cents": 250_000} | more)


def _page(client, season):
    return html.unescape(client.get(reverse("season-settings", args=[season.public_id])).content.decode())


def _post(client, page, *parts, **sent):
    return client.post(reverse(page, args=[part.public_id for part in parts]), sent)


def test_it_shows_funds_rules_and_equipment(desk, season):
    _fund(season)
    page = _page(desk, season)
    for told in ("$2,500.00", "all other sites", "What follows what", "Equipment that crews share"):
        assert told in page


def test_it_says_that_only_the_seasons_budget_holds(desk, season):
    assert "None: only the season's own budget holds, and none is set." in _page(desk, season)


def test_it_sets_the_level(desk, season):
    reply = _post(desk, "season-level", season, level="cautious", version=season.version)
    season.refresh_from_db()
    assert reply.url == reverse("season-settings", args=[season.public_id])
    assert season.budget_level == 0.8


def test_it_refuses_a_level_that_somebody_else_changed_meanwhile(desk, season):
    reply = _post(desk, "season-level", season, level="cautious", version=season.version + 3)
    assert reply.status_code == 412
    assert "changed by somebody else" in reply.content.decode()


def test_it_sets_what_work_is_worth_and_puts_the_usual_back(desk, season):
    _post(desk, "season-worth", season, seed="12", version=season.version)
    season.refresh_from_db()
    assert season.worth == {"seed": 12.0}
    assert 'name="seed" value="12.0"' in _page(desk, season)
    _post(desk, "season-worth", season, version=season.version)
    season.refresh_from_db()
    assert season.worth == {}


def test_it_says_at_the_field_what_is_wrong(desk, season):
    reply = _post(desk, "season-worth", season, seed="-1", version=season.version)
    assert reply.status_code == 400
    assert 'id="id_seed_error"' in reply.content.decode()
    assert _post(desk, "season-level", season, level="reckless", version=season.version).status_code == 400


def test_it_adds_a_fund(desk, season):
    site = build.SiteFactory(code="OXBOW")
    sent = {"code": "GRANT", "name": "Seed grant", "budget": "1234.56", "last_day": "2027-06-30", "sites": ["OXBOW"]}
    reply = _post(desk, "season-fund-new", season, **sent)
    fund = SeasonFund.objects.get()
    assert reply.url == reverse("season-settings", args=[season.public_id])
    assert (fund.code, fund.budget_cents, str(fund.last_day)) == ("GRANT", 123_456, "2027-06-30")
    assert list(fund.sites.all()) == [site]


def test_it_tells_why_a_fund_cannot_be_added(desk, season):
    _fund(season)
    reply = _post(desk, "season-fund-new", season, code="CITY", name="City", budget="10")
    assert reply.status_code == 400
    assert "CITY is there already." in reply.content.decode()


def test_it_changes_a_fund(desk, season):
    fund = _fund(season)
    assert 'value="2500"' in desk.get(reverse("season-fund", args=[season.public_id, fund.public_id])).content.decode()
    _post(desk, "season-fund", season, fund, name="City operations", budget="3000", version=fund.version)
    fund.refresh_from_db()
    assert (fund.name, fund.budget_cents) == ("City operations", 300_000)


def test_it_removes_a_fund_with_the_reason(desk, season):
    fund = _fund(season)
    assert _post(desk, "season-fund-remove", season, fund, version=fund.version).status_code == 400
    _post(desk, "season-fund-remove", season, fund, reason="The grant was lost.", version=fund.version)
    assert SeasonFund.objects.count() == 0


def test_it_keeps_a_fund_that_pays_for_work_done(desk, season):
    fund = _fund(season)
    build.PrescriptionFactory(season=season, fund=fund, state="done")
    reply = _post(desk, "season-fund-remove", season, fund, reason="Why not.", version=fund.version)
    assert reply.status_code == 409
    assert "that are ordered or done" in reply.content.decode()


def test_it_knows_no_fund_of_another_season(desk, season):
    fund = _fund(build.SeasonFactory())
    assert desk.get(reverse("season-fund", args=[season.public_id, fund.public_id])).status_code == 404


@pytest.mark.parametrize(("role", "look"), [("finance", 200), ("crew_lead", 403)])
def test_it_opens_by_role_and_changes_for_the_desk_alone(client, season, role, look):
    fund = _fund(season)
    client.force_login(build.UserFactory(roles=[role]))
    assert client.get(reverse("season-settings", args=[season.public_id])).status_code == look
    for name, parts in (
        ("season-level", [season]),
        ("season-worth", [season]),
        ("season-fund-new", [season]),
        ("season-fund", [season, fund]),
        ("season-fund-remove", [season, fund]),
    ):
        assert _post(client, name, *parts).status_code == 403
