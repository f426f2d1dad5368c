"""A picture is announced before its bytes."""

from uuid import uuid4

import pytest

from orders.workorders.models import Photo

pytestmark = pytest.mark.django_db


def _photo(**more):
    facts = {"id": str(uuid4()), "subject": "after", "taken_at": "2027-02-10T15:00:00-05:00", "sha256": "a" * 64}
    return {**facts, "content_type": "image/jpeg", "size_bytes": 120_000, "caption": None, **more}


def test_it_keeps_what_the_picture_is_of(season):
    body = _photo(about="prescription", about_id=str(uuid4()), lon=None, lat=None)
    season.applied("photo", body, order=True)
    season.applied("photo", body, order=True)
    kept = Photo.objects.get()
    assert (str(kept.public_id), kept.order, kept.subject, kept.state) == (body["id"], season.order, "after", "waiting")
    assert (kept.about, str(kept.about_id), kept.received_bytes, kept.lon) == (
        "prescription",
        body["about_id"],
        0,
        None,
    )


@pytest.mark.parametrize(
    "wrong", [{"sha256": "A" * 64}, {"size_bytes": 0}, {"size_bytes": 10**9}, {"content_type": "text/html"}]
)
def test_it_cannot_read_a_picture_of_another_kind_or_size(season, wrong):
    assert season.send("photo", _photo(**wrong))["state"] == "unreadable"
