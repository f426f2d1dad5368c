"""Changing what is wanted of many patches at once: all or none, and one undo."""

from uuid import uuid4

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext

from orders.common.errors import Invalid, NotFound, WrongState
from orders.common.models import Change
from orders.common.stamp import Stamp
from orders.sites.models import Patch
from orders.sites.services import patch_edit, patches_edit, patches_edit_undo
from tests import build
from tests.build.base import NOW

pytestmark = pytest.mark.django_db


@pytest.fixture
def stamp():
    return Stamp(by=build.UserFactory(roles=["coordinator"]), at=NOW, reason="Two clean years")


def _patches(*states):
    return [build.PatchFactory(control_state=state) for state in states]


def _states(patches):
    known = {row.pk: (row.control_state, row.version) for row in Patch.objects.all()}
    return [known[patch.pk] for patch in patches]


def test_it_changes_all_and_records_each(stamp):
    rows = _patches("untreated", "under_treatment", "maintenance")
    done = patches_edit(patches=rows, control_state="maintenance", stamp=stamp)
    assert (done.count, done.unchanged) == (2, 1)
    assert _states(rows) == [("maintenance", 2), ("maintenance", 2), ("maintenance", 1)]
    records = Change.objects.filter(verb="patches_edit").order_by("id")
    assert [(one.entity_id, one.entity_version, one.before, one.reason) for one in records] == [
        (rows[0].public_id, 2, {"control_state": "untreated"}, "Two clean years"),
        (rows[1].public_id, 2, {"control_state": "under_treatment"}, "Two clean years"),
    ]


def test_it_puts_back_each_as_it_was(stamp):
    rows = _patches("untreated", "under_treatment")
    done = patches_edit(patches=rows, control_state="maintenance", target_cover=0.02, stamp=stamp)
    assert patches_edit_undo(edit_id=done.public_id, stamp=stamp) == 2
    assert _states(rows) == [("untreated", 3), ("under_treatment", 3)]
    assert {row.target_cover for row in Patch.objects.all()} == {0.05}


def test_it_puts_nothing_back_where_one_was_changed_since(stamp):
    rows = _patches("untreated", "untreated")
    done = patches_edit(patches=rows, control_state="maintenance", stamp=stamp)
    patch_edit(patch=Patch.objects.get(pk=rows[1].pk), expected=2, name="North slope", stamp=stamp)
    with pytest.raises(WrongState, match=str(rows[1])):
        patches_edit_undo(edit_id=done.public_id, stamp=stamp)
    assert _states(rows) == [("maintenance", 2), ("maintenance", 3)]


def test_it_puts_back_once(stamp):
    done = patches_edit(patches=_patches("untreated"), control_state="maintenance", stamp=stamp)
    patches_edit_undo(edit_id=done.public_id, stamp=stamp)
    with pytest.raises(WrongState, match="put back already"):
        patches_edit_undo(edit_id=done.public_id, stamp=stamp)


def test_it_knows_no_other_edit(stamp):
    with pytest.raises(NotFound):
        patches_edit_undo(edit_id=uuid4(), stamp=stamp)


@pytest.mark.parametrize(
    ("values", "reason", "field"),
    [
        ({}, "Why", "control_state"),
        ({"control_state": "gone"}, "Why", "control_state"),
        ({"target_cover": 1.5}, "Why", "target_cover"),
        ({"control_state": "maintenance"}, " ", "reason"),
        ({"control_state": "untreated"}, "Why", "patches"),
    ],
)
def test_it_refuses_what_says_nothing_or_nonsense(stamp, values, reason, field):
    with pytest.raises(Invalid) as refused:
        patches_edit(patches=_patches("untreated"), stamp=stamp.because(reason), **values)
    assert [error.field for error in refused.value.errors] == [field]


def test_it_changes_none_where_one_has_ended(stamp):
    rows = [*_patches("untreated"), build.PatchFactory(ended_on=NOW.date())]
    with pytest.raises(Invalid) as refused:
        patches_edit(patches=rows, control_state="maintenance", stamp=stamp)
    assert [error.field for error in refused.value.errors] == ["patches[1]"]
    assert _states(rows[:1]) == [("untreated", 1)]


def test_it_asks_no_more_queries_for_more_patches(stamp):
    counted = []
    for count in (2, 40):
        rows = _patches(*["untreated"] * count)
        with CaptureQueriesContext(connection) as caught:
            patches_edit(patches=rows, control_state="maintenance", stamp=stamp)
        counted.append(len(caught))
    assert counted[0] == counted[1]
