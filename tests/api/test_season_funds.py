"""Funds of a season: added, listed, edited, removed; and who pays for a prescription."""

import pytest

from orders.planning.models import SeasonFund
from tests import build
from tests.api.caller import error_fields

pytestmark = pytest.mark.django_db


@pytest.fixture
def body():
    season, site = build.SeasonFactory(), build.SiteFactory(code="HOLLOW")
    more = {"first_day": "2027-01-04", "last_day": "2027-09-30", "sites": [str(site.public_id)]}
    return {"season": str(season.public_id), "code": "GRANT", "name": "Grant", "budget_cents": 4_800_000, **more}


def test_it_adds_a_fund_and_says_where_it_is(desk, body):
    reply = desk.send("/api/season-funds", body)
    shown = reply.json()
    assert reply.status_code == 201, shown
    assert (shown["code"], shown["budget_cents"], shown["last_day"]) == ("GRANT", 4_800_000, "2027-09-30")
    assert [site["code"] for site in shown["sites"]] == ["HOLLOW"]
    assert desk.get(reply.headers["Location"]).json() == shown


@pytest.mark.parametrize(
    ("more", "field"),
    [
        ({"budget_cents": -1}, "budget_cents"),
        ({"last_day": "2026-01-01"}, "last_day"),
        ({"code": ""}, "code"),
        ({"sites": ["7"]}, "sites[0]"),
        ({"color": "red"}, "color"),
    ],
)
def test_it_names_what_is_wrong(desk, body, more, field):
    reply = desk.send("/api/season-funds", {**body, **more})
    assert (reply.status_code, error_fields(reply)) == (400, [field])
    assert not SeasonFund.objects.exists()


def test_it_names_a_site_that_is_not_there(desk, body):
    reply = desk.send("/api/season-funds", {**body, "sites": [body["season"]]})
    assert (reply.status_code, error_fields(reply)) == (400, ["sites[0]"])


def test_it_lets_one_fund_pay_at_a_site(desk, body):
    desk.send("/api/season-funds", body)
    reply = desk.send("/api/season-funds", {**body, "code": "OTHER"})
    assert (reply.status_code, error_fields(reply)) == (400, ["sites"])


def test_it_filters(desk):
    row = build.SeasonFundFactory()
    build.SeasonFundFactory()
    queries = (f"season={row.season.public_id}", f"code={row.code}")
    assert [[one["id"] for one in desk.rows(f"/api/season-funds?{query}")] for query in queries] == [
        [str(row.public_id)]
    ] * 2


def test_it_edits_what_was_read(desk):
    fund = build.SeasonFundFactory()
    address = f"/api/season-funds/{fund.public_id}"
    etag = desk.get(address).headers["ETag"]
    reply = desk.edit(address, {"budget_cents": 100}, etag=etag)
    assert (reply.status_code, reply.json()["budget_cents"], reply.json()["version"]) == (200, 100, 2)
    assert desk.edit(address, {"budget_cents": 200}, etag=etag).status_code == 412
    assert desk.patch(address, {"budget_cents": 200}, format="json").status_code == 428


def test_it_removes_with_the_reason(desk):
    fund = build.SeasonFundFactory(sites=[build.SiteFactory(code="HOLLOW")])
    address = f"/api/season-funds/{fund.public_id}"
    assert error_fields(desk.send(f"{address}/remove", {})) == ["reason"]
    reply = desk.send(f"{address}/remove", {"reason": "Not granted."})
    assert (reply.status_code, reply.json()["code"]) == (200, fund.code)
    assert [site["code"] for site in reply.json()["sites"]] == ["HOLLOW"]
    assert desk.get(address).status_code == 404


def test_it_keeps_a_fund_that_ordered_work_is_paid_by(desk):
    asked = build.PrescriptionFactory(fund=build.SeasonFundFactory(), state="ordered")
    reply = desk.send(f"/api/season-funds/{asked.fund.public_id}/remove", {"reason": "Not granted."})
    assert (reply.status_code, reply.json()["code"]) == (409, "season_fund_in_use")


def _paid_by(desk, asked, fund):
    address = f"/api/prescriptions/{asked.public_id}"
    etag = desk.get(address).headers["ETag"]
    named = None if fund is None else str(fund.public_id)
    return desk.edit(f"{address}/fund", {"season_fund": named}, etag=etag, method="put")


def test_it_sets_who_pays_for_a_prescription(desk):
    asked = build.PrescriptionFactory()
    fund = build.SeasonFundFactory(season=asked.season)
    reply = _paid_by(desk, asked, fund)
    assert (reply.status_code, reply.json()["season_fund"]["code"]) == (200, fund.code)
    rows = desk.rows(f"/api/prescriptions?season_fund={fund.public_id}")
    assert [row["id"] for row in rows] == [str(asked.public_id)]
    assert _paid_by(desk, asked, None).json()["season_fund"] is None


def test_it_refuses_a_fund_of_another_season(desk):
    reply = _paid_by(desk, build.PrescriptionFactory(), build.SeasonFundFactory())
    assert (reply.status_code, error_fields(reply)) == (400, ["fund"])


def test_it_leaves_the_fund_of_what_is_ordered(desk):
    asked = build.PrescriptionFactory(state="ordered")
    reply = _paid_by(desk, asked, build.SeasonFundFactory(season=asked.season))
    assert (reply.status_code, reply.json()["code"]) == (409, "wrong_state")
