"""A record of the calendar, or a closure, that was wrong: corrected or taken out, with its trace."""

from datetime import date

import pytest

from orders.common.errors import Invalid, VersionMismatch
from orders.common.models import Change
from orders.sites.models import CalendarEvent, Closure
from orders.sites.services import (
    calendar_event_edit,
    calendar_event_remove,
    closure_edit,
    closure_remove,
)
from tests import build

pytestmark = pytest.mark.django_db


@pytest.fixture
def event():
    return build.CalendarEventFactory(year=2025, on=date(2025, 11, 20))


@pytest.fixture
def closure():
    return build.ClosureFactory(first_day=date(2027, 4, 1), last_day=date(2027, 4, 15))


def test_it_corrects_a_day_and_records_what_it_was(stamp, event):
    calendar_event_edit(stamp=stamp, event=event, expected=1, on=date(2025, 11, 22))
    event.refresh_from_db()
    assert (event.on, event.version) == (date(2025, 11, 22), 2)
    change = Change.objects.get(verb="calendar_event_edit")
    assert (change.before, change.after) == ({"on": "2025-11-20"}, {"on": "2025-11-22"})


@pytest.mark.parametrize(("changed", "field"), [({"on": date(2027, 1, 1)}, "on"), ({"source": ""}, "source")])
def test_it_names_the_field_that_is_wrong(stamp, event, changed, field):
    with pytest.raises(Invalid) as refusal:
        calendar_event_edit(stamp=stamp, event=event, expected=1, **changed)
    assert [error.field for error in refusal.value.errors] == [field]


def test_it_takes_a_record_out_with_the_reason(event):
    calendar_event_remove(stamp=build.stamp(reason="read off the wrong tree"), event=event, expected=1)
    assert not CalendarEvent.objects.exists()
    change = Change.objects.get(verb="calendar_event_remove")
    assert change.before
    assert (change.reason, change.before["on"]) == ("read off the wrong tree", "2025-11-20")


def test_it_takes_nothing_out_without_a_reason(stamp, event):
    with pytest.raises(Invalid, match="not taken out"):
        calendar_event_remove(stamp=stamp, event=event, expected=1)
    assert CalendarEvent.objects.exists()


def test_it_takes_nothing_out_that_was_changed_since(event):
    with pytest.raises(VersionMismatch):
        calendar_event_remove(stamp=build.stamp(reason="wrong"), event=event, expected=7)
    assert CalendarEvent.objects.exists()
    assert not Change.objects.exists()


def test_it_corrects_a_closure(stamp, closure):
    closure_edit(stamp=stamp, closure=closure, expected=1, kind="nesting", methods=["mow-mulch"], repeats_yearly=True)
    closure.refresh_from_db()
    assert (closure.kind, closure.methods, closure.repeats_yearly) == ("nesting", ["mow-mulch"], True)


@pytest.mark.parametrize(
    ("changed", "field"),
    [
        ({"last_day": date(2027, 3, 1)}, "last_day"),
        ({"last_day": date(2028, 5, 1), "repeats_yearly": True}, "last_day"),
        ({"kind": "holiday"}, "kind"),
        ({"methods": [3]}, "methods"),
        ({"methods": ["cut", "cut"]}, "methods"),
        ({"why": ""}, "why"),
    ],
)
def test_it_names_the_field_of_a_closure_that_is_wrong(stamp, closure, changed, field):
    with pytest.raises(Invalid) as refusal:
        closure_edit(stamp=stamp, closure=closure, expected=1, **changed)
    assert [error.field for error in refusal.value.errors] == [field]
    assert Closure.objects.get().version == 1


def test_it_opens_a_site_again_with_the_reason(closure):
    closure_remove(stamp=build.stamp(reason="the race was called off"), closure=closure, expected=1)
    assert not Closure.objects.exists()
    assert Change.objects.get(verb="closure_remove").reason == "the race was called off"
