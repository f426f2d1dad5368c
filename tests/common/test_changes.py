"""One change record per write: version, audit, feed row and audience."""

from uuid import uuid4

import pytest

from orders.common.changes import change_record, version_bump
from orders.common.errors import VersionMismatch
from orders.common.models import ChangeAudience
from orders.sites.models import Site
from tests import build

pytestmark = pytest.mark.django_db


def test_it_records_who_when_and_why(user, stamp):
    site = build.SiteFactory()
    change = change_record(stamp=stamp.because("a new lease"), verb="site_edit", entity=site, after={"name": "x"})
    assert (change.actor, change.at, change.reason) == (user, stamp.at, "a new lease")
    assert (change.entity, change.entity_id, change.entity_version) == ("site", site.public_id, 1)


def test_it_feeds_in_order(user, stamp):
    ids = [change_record(stamp=stamp, verb="test", entity=user).pk for _ in range(3)]
    assert ids == sorted(ids)


def test_it_leaves_a_tombstone_for_the_crew_that_lost_it(user, stamp):
    old, new = uuid4(), uuid4()
    change = change_record(stamp=stamp, verb="test", entity=user, audience=[old, new], gone=[old])
    told = dict(ChangeAudience.objects.filter(change=change).values_list("crew_id", "gone"))
    assert told == {old: True, new: False}


def test_it_counts_versions_and_returns_what_was():
    site = build.SiteFactory(name="Before")
    assert version_bump(site, expected=1, name="After") == {"name": "Before"}
    assert (site.version, Site.objects.get().name) == (2, "After")


def test_it_refuses_a_lost_update():
    site = build.SiteFactory(name="Before")
    version_bump(site, expected=1, name="First")
    with pytest.raises(VersionMismatch):
        version_bump(site, expected=1, name="Second")
    assert Site.objects.get().name == "First"
