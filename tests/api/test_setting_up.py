"""Places and things set up by the API: added, edited, refused at the field, not over somebody else's change."""

import pytest

from orders.sites.models import ChecklistQuestion, Site
from orders.supplies.models import Product
from tests import build
from tests.api.caller import error_fields
from tests.flow.world import csv_rows

pytestmark = pytest.mark.django_db
OUTLINE = {"type": "Polygon", "coordinates": [[[-85.6, 38.2], [-85.599, 38.2], [-85.599, 38.201], [-85.6, 38.2]]]}
SITE = {
    "code": "NEW",
    "name": "New Hollow",
    "jurisdiction": "KY",
    "time_zone": "America/New_York",
    "boundary": OUTLINE,
    "drive_minutes": 20,
    "drive_miles": "11.5",
}
LABEL = {
    "name": "Invented X-1",
    "registration_number": "99901-77",
    "label_version": "1",
    "label_reference": "binder 3",
    "states": ["KY"],
    "ingredients": [{"ingredient": "glyphosate", "ae_g_per_l": 480.0}],
    "uses": [{"method": "spot-foliar", "max_percent_vv": 2.0, "reference": "3"}],
}
PRICE = {"kind": "fuel", "code": "fuel", "from_day": "2027-01-01", "price_e4": 12_000, "source": "a bill"}


def edited(caller, path, body, method="patch"):
    return caller.edit(path, body, etag=caller.get(path).headers["ETag"], method=method)


def test_it_adds_and_moves_a_site(desk):
    build.JurisdictionFactory(code="KY")
    reply = desk.send("/api/sites", SITE)
    assert (reply.status_code, reply.json()["min_lon"]) == (201, -85.6)
    path = reply.headers["Location"]
    told = edited(desk, path, {"name": "Old Hollow", "drive_miles": "9.0"}).json()
    assert (told["name"], told["drive_miles"], told["version"]) == ("Old Hollow", "9.0", 2)


@pytest.mark.parametrize(
    ("more", "field"), [({"time_zone": "Here"}, "time_zone"), ({"drive_miles": 3}, "drive_miles"), ({"x": 1}, "x")]
)
def test_it_names_what_is_wrong_with_a_site(desk, more, field):
    build.JurisdictionFactory(code="KY")
    reply = desk.send("/api/sites", {**SITE, **more})
    assert (reply.status_code, error_fields(reply), Site.objects.count()) == (400, [field], 0)


def test_it_knows_no_other_jurisdiction(desk):
    assert desk.send("/api/sites", SITE).status_code == 404


def test_it_renames_a_jurisdiction_once(desk):
    reply = desk.send("/api/jurisdictions", {"code": "OH", "name": "Ohoi"})
    path, tag = reply.headers["Location"], desk.get(reply.headers["Location"]).headers["ETag"]
    assert desk.edit(path, {"name": "Ohio"}, etag=tag).json()["name"] == "Ohio"
    assert desk.edit(path, {"name": "Iowa"}, etag=tag).status_code == 412


def test_it_asks_rewords_and_takes_out_a_question(desk):
    reply = desk.send("/api/checklist-questions", {"code": "gas", "text": "Gas lines?", "sort": 5})
    path = reply.headers["Location"]
    assert edited(desk, path, {"text": "Where are gas lines?", "sort": 4}, "put").json()["sort"] == 4
    assert desk.send(f"{path}/remove").status_code == 200
    assert not ChecklistQuestion.objects.exists()


def test_it_keeps_an_answered_question(desk):
    question = build.ChecklistAnswerFactory().question
    reply = desk.send(f"/api/checklist-questions/{question.public_id}/remove")
    assert (reply.status_code, reply.json()["code"]) == (409, "question_answered")


def test_it_renames_a_growth_form(desk):
    row = build.GrowthFormFactory(code="shrub")
    assert edited(desk, f"/api/growth-forms/{row.public_id}", {"name": "Bush"}).json()["name"] == "Bush"


def test_it_adds_a_species(desk):
    body = {
        "code": "LOJA",
        "scientific_name": "Lonicera x",
        "common_name": "vine",
        "evergreen": True,
        "resprouts": True,
    }
    reply = desk.send("/api/species", body)
    assert reply.status_code == 201
    assert edited(desk, reply.headers["Location"], {"common_name": "a vine"}).json()["common_name"] == "a vine"


def test_it_adds_and_changes_a_method(desk):
    row = next(dict(row) for row in csv_rows("methods.csv") if row["code"] == "cut")
    code = row.pop("code")
    reply = desk.send("/api/methods", {"code": code, "facts": row})
    assert reply.status_code == 201
    told = edited(desk, reply.headers["Location"], {"facts": {**row, "name": "chopping"}}, "put").json()
    assert (told["name"], told["code"], told["version"]) == ("chopping", "cut", 2)
    wrong = edited(desk, reply.headers["Location"], {"facts": {**row, "lowest_temp_c": "cold"}}, "put")
    assert error_fields(wrong) == ["lowest_temp_c"]


def test_it_adds_reads_anew_and_reviews_a_product(desk):
    reply = desk.send("/api/products", {"code": "x-1", **LABEL})
    assert (reply.status_code, reply.json()["reviewed_on"]) == (201, None)
    path = reply.headers["Location"]
    body = {"reviewed_on": "2026-11-20", "reviewed_by": "Q. Licensed", "version": 1}
    told = desk.send(f"{path}/review", body).json()
    assert (told["reviewed_by"], told["version"]) == ("Q. Licensed", 2)
    stale = edited(desk, path, {**LABEL, "reviewed_on": "2026-11-01", "reviewed_by": "Q.", "aquatic": True}, "put")
    assert error_fields(stale) == ["reviewed_on"]
    assert edited(desk, path, {**LABEL, "aquatic": True}, "put").json()["reviewed_on"] is None


def test_it_takes_no_ingredient_twice(desk):
    twice = [{"ingredient": "glyphosate", "ae_g_per_l": 480.0}] * 2
    reply = desk.send("/api/products", {"code": "x-1", **LABEL, "ingredients": twice})
    assert (reply.status_code, error_fields(reply), Product.objects.count()) == (400, ["ingredients"], 0)


def test_it_adds_and_changes_a_mix(desk):
    product = build.ProductFactory()
    part = {"product": product.code, "part": "herbicide", "percent_vv": 2.0}
    body = {"name": "Two", "tank_l": 15, "area_basis": "infested", "carrier_l_per_ha": 400, "parts": [part]}
    reply = desk.send("/api/mixes", {"code": "two", **body})
    assert reply.status_code == 201
    told = edited(desk, reply.headers["Location"], {**body, "parts": [{**part, "percent_vv": 3}]}, "put").json()
    assert (told["parts"][0]["percent_vv"], told["version"]) == (3.0, 2)
    strange = desk.send("/api/mixes", {"code": "no", **body, "parts": [{**part, "product": "none"}]})
    assert error_fields(strange) == ["parts.product"]


def test_it_sets_a_price_once_a_day(desk):
    assert desk.send("/api/prices", PRICE).status_code == 201
    assert desk.send("/api/prices", PRICE).status_code == 400
    assert [row["price_e4"] for row in desk.rows("/api/prices?kind=fuel")] == [12_000]


@pytest.mark.parametrize("path", ["/api/sites", "/api/products", "/api/mixes", "/api/prices", "/api/methods"])
def test_it_lets_no_lead_set_up(lead, path):
    assert lead.send(path, {}).status_code == 403
