"""Permits of trained volunteers by the API."""

from uuid import uuid4

import pytest

from tests import build
from tests.api.caller import error_fields

pytestmark = pytest.mark.django_db

LIST = "/api/volunteer-permits"


@pytest.fixture
def body():
    return {
        "person": str(build.PersonFactory(person_type="volunteer").public_id),
        "products": [build.ProductFactory(code="herb").code],
        "sites": [str(build.SiteFactory().public_id)],
        "trained_by": "P. Supervisor",
        "trained_on": "2027-01-09",
        "first_day": "2027-01-10",
        "last_day": "2027-12-31",
    }


def test_it_adds_a_permit_and_says_where_it_is(desk, body):
    reply = desk.send(LIST, body)
    shown = reply.json()
    assert reply.status_code == 201, shown
    assert [row["code"] for row in shown["products"]] == ["herb"]
    assert desk.get(reply.headers["Location"]).json() == shown


def test_it_names_what_is_wrong(desk, body):
    assert error_fields(desk.send(LIST, {**body, "products": ["wishes"]})) == ["products"]
    assert error_fields(desk.send(LIST, {**body, "last_day": "2028-01-01"})) == ["last_day"]
    assert desk.send(LIST, {**body, "person": str(uuid4())}).status_code == 404


def test_it_filters_and_ends_a_permit_early(desk, body):
    made = desk.send(LIST, body).json()
    queries = (f"person={body['person']}", f"site={body['sites'][0]}", "product=herb", "on=2027-03-02")
    assert [len(desk.rows(f"{LIST}?{query}")) for query in queries] == [1, 1, 1, 1]
    address = f"{LIST}/{made['id']}"
    etag = desk.get(address).headers["ETag"]
    assert desk.edit(address, {"last_day": "2027-03-01"}, etag=etag).json()["last_day"] == "2027-03-01"
    assert desk.rows(f"{LIST}?on=2027-03-02") == []


def test_it_lets_no_lead_add_one(lead, body):
    assert lead.send(LIST, body).status_code == 403
    assert lead.get(LIST).status_code == 200
