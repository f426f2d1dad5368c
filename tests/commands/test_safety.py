"""Mishaps and signs."""

from uuid import uuid4

import pytest

from orders.field.models import Flag
from orders.workorders.models import Incident, SignPosting
from tests.commands.season import DAY, flags

pytestmark = pytest.mark.django_db


def _incident(season, **more):
    return {
        "id": str(uuid4()),
        "kind": "spill",
        "crew": str(season.crew.public_id),
        "site": str(season.site.public_id),
        "work_date": str(DAY),
        "what_happened": "A backpack fell over.",
        "people": ["B. Hand"],
        "work_stopped": True,
        "reported_by": "A. Lead",
        **more,
    }


def _sign(season, state, **more):
    body = {"id": str(uuid4()), "site": str(season.site.public_id), "place": "North gate", "state": state}
    return {**body, "sign": str(uuid4()), **more}


def test_it_keeps_a_spill_and_tells_the_office_at_once(season):
    body = _incident(season)
    season.applied("incident", body, order=True)
    season.applied("incident", body, order=True)
    kept = Incident.objects.get()
    assert (kept.kind, kept.order, kept.people, kept.work_stopped) == ("spill", season.order, ["B. Hand"], True)
    flag = Flag.objects.get()
    assert (flag.kind, flag.severity, flag.detail) == ("incident", "urgent", "A backpack fell over.")
    assert sorted(flag.for_roles) == ["coordinator", "pesticide_supervisor"]
    assert flag.data["incident"] == body["id"]


def test_it_takes_a_near_miss_on_the_road(season):
    season.applied("incident", _incident(season, kind="near_miss", crew=None, site=None, work_stopped=False))
    assert (Incident.objects.get().site, flags()) == (None, [("incident", "urgent")])


def test_it_cannot_read_a_mishap_without_words(season):
    assert season.send("incident", _incident(season, what_happened=""))["state"] == "unreadable"


def test_it_keeps_a_sign_up_and_down_once_each(season):
    up = _sign(season, "up")
    season.applied("sign", up, order=True)
    season.applied("sign", _sign(season, "up", sign=up["sign"]), order=True)
    season.applied("sign", _sign(season, "down", sign=up["sign"]), order=True)
    assert list(SignPosting.objects.order_by("id").values_list("state", "place")) == [
        ("up", "North gate"),
        ("down", "North gate"),
    ]
