"""Time by person."""

import pytest

from orders.workorders.models import TimedSpan
from tests.commands.season import flags

pytestmark = pytest.mark.django_db


def test_it_keeps_minutes_of_one_person_on_an_order(season):
    season.applied("time-span", season.span(), order=True)
    kept = TimedSpan.objects.get()
    assert (kept.person, kept.order, kept.minutes, kept.origin) == (season.lead, season.order, 90, "timer")
    assert flags() == []


def test_it_replaces_what_a_correction_names(season):
    first = season.span()
    season.applied("time-span", first, order=True)
    season.applied("time-span", season.span(minutes=0, replaces=first["id"], why="Timed twice"), order=True)
    struck = TimedSpan.objects.get(public_id=first["id"])
    assert (struck.minutes, struck.replaced_by.minutes, struck.replaced_by.why) == (90, 0, "Timed twice")


def test_it_holds_a_second_correction_of_the_same_span(season):
    first = season.span()
    season.applied("time-span", first)
    season.applied("time-span", season.span(minutes=60, replaces=first["id"]))
    answer = season.send("time-span", season.span(minutes=30, replaces=first["id"]))
    assert (answer["state"], answer["code"]) == ("held", "wrong_state")


def test_it_holds_no_minutes_that_correct_nothing(season):
    assert season.send("time-span", season.span(minutes=0))["state"] == "held"


def test_it_flags_a_person_who_is_timed_twice_at_once(season):
    season.applied("time-span", season.span())
    season.applied("time-span", season.span(started_at="2027-02-10T10:00:00-05:00"))
    season.applied("time-span", season.span(started_at="2027-02-10T10:10:00-05:00"))
    assert flags() == [("time_overlap", "note")]


def test_it_does_not_take_one_span_after_another_for_two_at_once(season):
    season.applied("time-span", season.span())
    later = {"started_at": "2027-02-10T10:30:00-05:00", "ended_at": "2027-02-10T11:00:00-05:00"}
    season.applied("time-span", season.span(minutes=30, **later))
    season.applied("time-span", season.span(person=str(season.people[1].public_id)))
    assert flags() == []


def test_it_keeps_time_on_an_order_that_is_void_and_flags_it(season):
    season.order.state, season.order.void_reason = "void", "The gate is locked"
    season.order.save()
    season.applied("time-span", season.span(), order=True)
    assert TimedSpan.objects.count() == 1
    assert flags() == [("order_void", "settle")]


def test_it_cannot_read_time_of_more_than_a_day(season):
    assert season.send("time-span", season.span(minutes=1441))["state"] == "unreadable"
    assert season.send("time-span", {**season.span(), "pause": 3})["state"] == "unreadable"
    assert not TimedSpan.objects.exists()
