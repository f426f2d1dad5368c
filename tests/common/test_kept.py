"""What is kept until something is written."""

import pytest

from orders.common import kept as room
from orders.common.changes import change_record
from orders.common.kept import changes_version, kept
from tests import build

pytestmark = pytest.mark.django_db


@pytest.fixture
def made():
    return []


def _asked(made, *entities):
    def make():
        made.append(len(made))
        return made[-1]

    return kept(f"test/{id(made)}", changes_version(*entities), make)


def _write(entity):
    change_record(stamp=build.stamp(), verb="site_edit", entity=entity, after={"name": "Ridge"})


def test_nothing_is_kept_before_the_first_write(made):
    assert [_asked(made), _asked(made)] == [0, 1]


def test_it_is_made_once_a_change(made):
    site = build.SiteFactory()
    _write(site)
    assert [_asked(made), _asked(made)] == [0, 0]
    _write(site)
    assert _asked(made) == 1


def test_changes_of_other_kinds_do_not_count_where_kinds_are_named(made):
    _write(build.SiteFactory())
    assert _asked(made, "site") == 0
    _write(build.CrewFactory())
    assert _asked(made, "site") == 0
    assert _asked(made) == 1


def test_what_another_release_kept_is_not_read(made, monkeypatch):
    _write(build.SiteFactory())
    assert _asked(made) == 0
    monkeypatch.setattr(room, "_release", lambda: "another")
    assert _asked(made) == 1
