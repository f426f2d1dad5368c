"""Views: kept by their owner, shared with whoever may see the report."""

from typing import Any

import pytest

from orders.common.errors import Invalid, NotFound, RoleMissing, VersionMismatch
from orders.reports.models import SavedView
from orders.reports.selectors import view_get, views_of
from orders.reports.services import view_edit, view_remove, view_save, view_share
from tests import build

pytestmark = pytest.mark.django_db
SAVED: dict[str, Any] = {"name": "By fund", "report": "cost", "query": {"by": "fund"}}


def test_it_is_kept_as_it_was_asked_for(stamp):
    view = view_save(**SAVED, stamp=stamp)
    assert (view.owner, view.query, view.is_shared) == (stamp.by, {"by": "fund"}, False)


def test_it_may_be_of_a_report_without_a_word(stamp):
    assert view_save(**{**SAVED, "query": {}}, stamp=stamp).query == {}


def test_it_has_a_name_once_an_owner(stamp):
    view_save(**SAVED, stamp=stamp)
    with pytest.raises(Invalid) as refused:
        view_save(**SAVED, stamp=stamp)
    assert [error.field for error in refused.value.errors] == ["name"]
    view_save(**SAVED, stamp=build.stamp(build.UserFactory(roles=["finance"])))


def test_it_refuses_a_report_that_the_role_does_not_open():
    with pytest.raises(RoleMissing):
        view_save(**SAVED, stamp=build.stamp(build.UserFactory(roles=["coordinator"])))


def test_it_is_seen_by_others_once_it_is_shared(stamp):
    colleague, outsider = (build.UserFactory(roles=[role]) for role in ("finance", "coordinator"))
    view = view_save(**SAVED, stamp=stamp)
    assert not views_of(colleague).exists()
    view_share(view=view, is_shared=True, expected=view.version, stamp=stamp)
    assert view_get(colleague, view.public_id) == view
    with pytest.raises(NotFound):
        view_get(outsider, view.public_id)


def test_it_is_changed_by_its_owner_alone(stamp):
    view = view_save(**SAVED, stamp=stamp)
    other = build.stamp(build.UserFactory(roles=["finance"]))
    with pytest.raises(RoleMissing):
        view_edit(view=view, expected=1, values={"name": "Mine"}, stamp=other)
    with pytest.raises(RoleMissing):
        view_remove(view=view, expected=1, stamp=other)
    view_edit(view=view, expected=view.version, values={"name": "By fund, 2027"}, stamp=stamp)
    assert SavedView.objects.get().name == "By fund, 2027"
    with pytest.raises(VersionMismatch):
        view_remove(view=view, expected=1, stamp=stamp)
    view_remove(view=view, expected=view.version, stamp=stamp)
    assert not SavedView.objects.exists()


def test_it_needs_a_name(stamp):
    view = view_save(**SAVED, stamp=stamp)
    with pytest.raises(Invalid):
        view_edit(view=view, expected=view.version, values={"name": "  "}, stamp=stamp)
