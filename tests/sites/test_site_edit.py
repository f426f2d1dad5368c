"""Changing a site's way in and emergency plan."""

import pytest

from orders.common.errors import Invalid, VersionMismatch
from orders.common.models import Change
from orders.sites.services import site_edit
from tests import build

pytestmark = pytest.mark.django_db


def test_it_changes_the_plan_and_records_it(stamp):
    site = build.SiteFactory()
    values = {"medical_phone": "555-0100", "meeting_lon": -85.7, "meeting_lat": 38.2}
    site_edit(site=site, values=values, expected=1, stamp=stamp)
    site.refresh_from_db()
    assert (site.medical_phone, site.meeting_lat, site.version) == ("555-0100", 38.2, 2)
    assert Change.objects.get(verb="site_edit").entity_id == site.public_id


@pytest.mark.parametrize(
    ("values", "field"),
    [
        ({"meeting_lon": -85.7}, "meeting_lat"),
        ({"meeting_lon": 200.0, "meeting_lat": 38.0}, "meeting_lon"),
        ({"code": "OTHER"}, "code"),
    ],
)
def test_it_refuses_what_cannot_be_so(stamp, values, field):
    site = build.SiteFactory()
    with pytest.raises(Invalid) as refusal:
        site_edit(site=site, values=values, expected=1, stamp=stamp)
    assert [error.field for error in refusal.value.errors] == [field]


def test_it_takes_half_a_meeting_point_where_the_other_half_stands(stamp):
    site = build.SiteFactory(meeting_lon=-85.7, meeting_lat=38.2)
    assert site_edit(site=site, values={"meeting_lat": 38.3}, expected=1, stamp=stamp).meeting_lat == 38.3


def test_it_refuses_an_edit_of_an_older_version(stamp):
    site = build.SiteFactory(version=3)
    with pytest.raises(VersionMismatch):
        site_edit(site=site, values={"medical_phone": "1"}, expected=2, stamp=stamp)
