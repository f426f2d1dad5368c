"""Check-in, longer, and out."""

from uuid import uuid4

import pytest

from orders.field.models import CheckIn, CheckInStep

pytestmark = pytest.mark.django_db


def test_it_keeps_who_is_where_and_until_when(season):
    season.applied("check-in", season.check_in(phone="555 0100", lon=-85.7, lat=38.2))
    kept = CheckIn.objects.get()
    assert (kept.crew, kept.site, str(kept.work_date), kept.phone) == (
        season.crew,
        season.site,
        "2027-02-10",
        "555 0100",
    )
    assert kept.back_by.isoformat() == "2027-02-10T22:00:00+00:00"
    assert {row.person for row in kept.people.all()} == set(season.people)
    assert kept.by == season.sender.user


def test_it_is_of_the_day_at_the_site(season):
    season.site.time_zone = "Pacific/Auckland"
    season.site.save()
    season.applied("check-in", season.check_in())
    assert str(CheckIn.objects.get().work_date) == "2027-02-11"


def test_it_takes_the_same_fact_once(season):
    body = season.check_in()
    season.applied("check-in", body)
    season.applied("check-in", body)
    assert CheckIn.objects.count() == 1
    assert CheckIn.objects.get().people.count() == 3


def test_it_stays_longer_and_goes_out(season):
    body = season.check_in()
    season.applied("check-in", body)
    longer = {"id": str(uuid4()), "check_in": body["id"], "back_by": "2027-02-10T19:00:00-05:00", "note": None}
    season.applied("check-in-longer", longer)
    season.applied("check-out", {"id": str(uuid4()), "check_in": body["id"]})
    assert list(CheckInStep.objects.order_by("id").values_list("kind", flat=True)) == ["longer", "out"]


def test_it_holds_what_names_somebody_unknown(season):
    stranger = str(uuid4())
    answer = season.send("check-in", {**season.check_in(), "people": [stranger]})
    assert answer["state"] == "held"
    assert answer["errors"] == [{"row": 1, "field": "people", "code": "invalid", "message": "is not known here"}]
    assert not CheckIn.objects.exists()
