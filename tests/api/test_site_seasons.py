"""A site's calendar and closures: read, added, corrected, taken out with a reason."""

from datetime import date

import pytest

from tests import build
from tests.api.caller import error_fields

pytestmark = pytest.mark.django_db
LEAF_OFF = {"kind": "leaf_off", "year": 2025, "on": "2025-11-20", "source": "Site log"}


@pytest.fixture
def site():
    return build.SiteFactory(code="KF", name="Ketterfold Hollow")


def test_it_tells_the_means_of_the_calendar_and_the_records_behind_them(lead, site):
    for year, day in ((2024, 18), (2025, 22)):
        build.CalendarEventFactory(site=site, year=year, on=date(year, 11, day))
    told = lead.get(f"/api/sites/{site.public_id}/calendar").json()
    assert [(mean["kind"], mean["month"], mean["day"], mean["years"]) for mean in told["means"]] == [
        ("leaf_off", 11, 20, 2)
    ]
    assert [row["on"] for row in told["records"]] == ["2024-11-18", "2025-11-22"]


@pytest.mark.parametrize(
    ("query", "count"),
    [("", 1), ("?day_from=2027-04-15", 1), ("?day_from=2027-04-16", 0), ("?day_to=2027-03-31", 0)],
)
def test_it_lists_closures_that_touch_the_days(lead, query, count):
    build.ClosureFactory(first_day=date(2027, 4, 1), last_day=date(2027, 4, 15))
    assert len(lead.rows(f"/api/closures{query}")) == count


def test_it_lists_the_closures_of_one_site(lead, site):
    build.ClosureFactory(site=site, why="Nesting")
    build.ClosureFactory()
    assert [row["why"] for row in lead.rows(f"/api/closures?site={site.public_id}")] == ["Nesting"]


def test_it_records_a_day_of_the_calendar(desk, site):
    reply = desk.send(f"/api/sites/{site.public_id}/calendar", LEAF_OFF)
    assert (reply.status_code, reply.json()["on"]) == (201, "2025-11-20")
    assert desk.get(reply.headers["Location"]).json()["kind"] == "leaf_off"


@pytest.mark.parametrize(("field", "wrong"), [("on", "2024-11-20"), ("kind", "snow"), ("year", 1066), ("source", "")])
def test_it_names_the_field_of_a_record_that_is_wrong(desk, site, field, wrong):
    reply = desk.send(f"/api/sites/{site.public_id}/calendar", {**LEAF_OFF, field: wrong})
    assert (reply.status_code, error_fields(reply)) == (400, [field])


def test_it_corrects_a_record_that_was_read(desk, site):
    path = f"/api/calendar-records/{build.CalendarEventFactory(site=site).public_id}"
    etag = desk.get(path).headers["ETag"]
    reply = desk.edit(path, {"on": "2025-11-25"}, etag=etag)
    assert (reply.status_code, reply.json()["on"], reply.json()["version"]) == (200, "2025-11-25", 2)
    assert desk.edit(path, {"on": "2025-11-26"}, etag=etag).status_code == 412


def test_it_takes_a_record_out_with_a_reason(desk, site):
    path = f"/api/calendar-records/{build.CalendarEventFactory(site=site).public_id}"
    assert error_fields(desk.send(f"{path}/remove", {})) == ["reason"]
    assert desk.send(f"{path}/remove", {"reason": "wrong tree"}).json()["kind"] == "leaf_off"
    assert desk.get(path).status_code == 404


def test_it_closes_a_site_to_some_methods(desk, site):
    build.MethodFactory(code="mow-mulch")
    body = {
        "site": str(site.public_id),
        "kind": "nesting",
        "first_day": "2027-04-15",
        "last_day": "2027-07-31",
        "repeats_yearly": True,
        "methods": ["mow-mulch"],
        "why": "Ground nests",
    }
    reply = desk.send("/api/closures", body)
    assert (reply.status_code, reply.json()["methods"], reply.json()["repeats_yearly"]) == (201, ["mow-mulch"], True)
    assert [row["kind"] for row in desk.rows("/api/closures?kind=nesting")] == ["nesting"]
    assert desk.rows("/api/closures?kind=burn,event") == []


@pytest.mark.parametrize(
    ("changed", "field"),
    [({"last_day": "2027-03-01"}, "last_day"), ({"kind": "holiday"}, "kind"), ({"methods": ["saw"]}, "methods")],
)
def test_it_names_the_field_of_a_closure_that_is_wrong(desk, site, changed, field):
    body = {"site": str(site.public_id), "first_day": "2027-04-01", "last_day": "2027-04-02", "why": "x", **changed}
    reply = desk.send("/api/closures", body)
    assert (reply.status_code, error_fields(reply)) == (400, [field])


def test_it_corrects_a_closure_and_opens_the_site_again(desk, site):
    path = f"/api/closures/{build.ClosureFactory(site=site).public_id}"
    reply = desk.edit(path, {"last_day": "2027-04-20"}, etag=desk.get(path).headers["ETag"])
    assert reply.json()["last_day"] == "2027-04-20"
    assert desk.send(f"{path}/remove", {"reason": "the nests are empty"}).status_code == 200
    assert desk.get(path).status_code == 404


@pytest.mark.parametrize("path", ["calendar", "weather"])
def test_it_lets_the_desk_alone_write(lead, site, path):
    assert lead.send(f"/api/sites/{site.public_id}/{path}", LEAF_OFF).status_code == 403
