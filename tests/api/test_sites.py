"""Sites, and their boundaries."""

import pytest

from tests import build

pytestmark = pytest.mark.django_db


@pytest.fixture
def site():
    return build.SiteFactory(code="KF", name="Ketterfold Hollow")


def test_it_lists_sites_without_boundaries(lead, site):
    (row,) = lead.rows("/api/sites")
    assert (row["code"], row["time_zone"]) == ("KF", "America/Kentucky/Louisville")
    assert row["jurisdiction"] == {"code": "KY", "name": "State of KY"}
    assert "boundary" not in row


def test_it_shows_the_boundary_of_one(lead, site):
    assert lead.get(f"/api/sites/{site.public_id}").json()["boundary"]["type"] == "Polygon"


@pytest.mark.parametrize(("query", "found"), [("code=KF", ["KF"]), ("code=XX", []), ("jurisdiction=KY", ["KF"])])
def test_it_filters_sites(lead, site, query, found):
    assert [row["code"] for row in lead.rows(f"/api/sites?{query}")] == found


def test_it_knows_no_other_site(lead, site):
    reply = lead.get(f"/api/sites/{build.PatchFactory().public_id}")
    assert (reply.status_code, reply.json()["code"]) == (404, "not_found")
