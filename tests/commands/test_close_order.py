"""Start, visits called off, close and amendment as a tablet sends them, and what is told of a close-out."""

from datetime import date
from uuid import uuid4

import pytest

from orders.field.models import Flag
from orders.supplies.models import StockMovement
from orders.workorders.models import CloseOut, PatchOutcome, WorkOrder
from orders.workorders.selectors import order_prescriptions, order_visits
from tests import build
from tests.commands.season import flags

pytestmark = pytest.mark.django_db


def _state():
    return WorkOrder.objects.get().state


def test_it_starts_an_order_and_hears_a_second_start_as_the_same(season):
    season.applied("start-order", {}, order=True)
    assert _state() == "underway"
    season.applied("start-order", {}, order=True)
    assert flags() == []


def test_it_holds_a_start_that_licenses_stand_against(season):
    season.lead.qualifications.all().delete()
    answer = season.send("start-order", {}, order=True)
    assert (answer["state"], answer["code"], _state()) == ("held", "license_missing", "issued")


def test_it_calls_a_visit_off_once(season):
    visit = order_visits(season.order).get()
    for _ in range(2):
        season.applied("visit-not-done", {"visit": str(visit.public_id), "reason": "Rain"}, order=True)
    visit.refresh_from_db()
    assert (visit.state, visit.not_done_reason) == ("not_done", "Rain")


def test_it_closes_with_what_was_counted_and_drawn(season):
    body = season.statement(percent=80)
    body["outcomes"][0] |= {"stems_cut": 40, "area_done_m2": 812.5, "drawn": build.square()}
    season.applied("close-order", body, order=True)
    outcome = PatchOutcome.objects.get()
    assert (outcome.percent_complete, outcome.stems_cut, outcome.area_done_m2) == (80, 40, 812.5)
    assert outcome.drawn == build.square()
    assert str(CloseOut.objects.get().public_id) == body["id"]
    assert _state() == "closed"


def test_it_cannot_read_an_outline_that_is_none(season):
    body = season.statement()
    body["outcomes"][0]["drawn"] = {"type": "Polygon", "coordinates": [[[0, 0], [1, 1], [0, 0]]]}
    assert season.send("close-order", body, order=True)["state"] == "unreadable"
    assert _state() == "issued"


def test_it_takes_stock_and_closes_once_however_often_it_is_sent(season):
    visit = str(order_visits(season.order).get().public_id)
    used = {"id": str(uuid4()), "visit": visit, "lot": str(season.lot.public_id), "value": "160", "unit": "mL"}
    body = season.statement(materials=[used])
    season.applied("close-order", body, order=True)
    season.applied("close-order", body, order=True)
    assert CloseOut.objects.count() == 1
    assert StockMovement.objects.get(kind="use").amount == -160_000


def test_it_holds_a_close_that_somebody_else_was_faster_with(season):
    season.applied("close-order", season.statement(), order=True)
    answer = season.send("close-order", season.statement(minutes=100), order=True)
    assert (answer["state"], answer["code"]) == ("held", "wrong_state")
    assert CloseOut.objects.count() == 1


def test_it_holds_a_close_of_another_crews_order(season):
    WorkOrder.objects.update(crew=build.CrewFactory(people=2))
    answer = season.send("close-order", season.statement(), order=True)
    assert (answer["state"], answer["code"], _state()) == ("held", "order_not_yours", "issued")


def test_it_amends_with_a_reason(season):
    season.applied("close-order", season.statement(), order=True)
    body = {**season.statement(minutes=300), "reason": "One break was not taken out"}
    season.applied("amend-order", body, order=True)
    season.applied("amend-order", body, order=True)
    assert list(CloseOut.objects.order_by("revision").values_list("revision", "reason")) == [
        (1, ""),
        (2, "One break was not taken out"),
    ]


def test_it_notes_hours_far_from_the_estimate(season):
    """16 paid hours are estimated; three people with 161 minutes make 8.05, with 159 they make 7.95."""
    season.applied("close-order", season.statement(minutes=161), order=True)
    assert flags() == []
    season.applied("amend-order", {**season.statement(minutes=159), "reason": "Read wrong"}, order=True)
    assert flags() == [("hours_differ", "note")]


def test_it_notes_a_lot_that_gave_more_than_it_held(season):
    visit = str(order_visits(season.order).get().public_id)
    used = {"id": str(uuid4()), "visit": visit, "lot": str(season.lot.public_id), "value": "11", "unit": "L"}
    season.applied("close-order", season.statement(materials=[used]), order=True)
    assert flags() == [("stock_below_zero", "note")]


def test_it_flags_somebody_too_young_on_a_herbicide_order(season):
    young = season.people[2]
    young.born_on = date(2009, 2, 11)
    young.save()
    season.applied("close-order", season.statement(), order=True)
    assert flags() == [("under_age", "urgent")]


def test_it_flags_one_person_alone_with_herbicide_or_a_saw(season):
    asked = order_prescriptions(season.order).get()
    build.RateFactory(book=asked.estimate.rate_book, method=asked.method.code, skill="sawyer")
    body = season.statement(minutes=900)
    body["times"] = body["times"][:1]
    season.applied("close-order", body, order=True)
    assert flags() == [("lone_herbicide_work", "settle"), ("lone_saw_work", "settle")]


def test_it_counts_who_was_checked_in_as_company(season):
    season.applied("check-in", season.check_in())
    body = season.statement(minutes=900)
    body["times"] = body["times"][:1]
    season.applied("close-order", body, order=True)
    assert flags() == []


def test_it_counts_who_was_timed_as_company(season):
    other = str(season.people[1].public_id)
    season.applied("time-span", season.span(person=other, code="repair"), order=True)
    body = season.statement(minutes=900)
    body["times"] = body["times"][:1]
    season.applied("close-order", body, order=True)
    assert flags() == []


def test_it_flags_work_by_nobody_who_may(season):
    season.lead.qualifications.all().delete()
    season.applied("close-order", season.statement(), order=True)
    assert flags() == [("license_missing", "urgent")]


def test_it_flags_a_day_of_more_than_24_hours_over_two_orders(season):
    other = build.CloseOutFactory()
    entry = {"close_out": other, "person": season.lead, "work_date": season.order.first_day, "minutes": 1100}
    build.TimeEntryFactory(**entry)
    season.applied("close-order", season.statement(minutes=341), order=True)
    assert flags() == [("over_24_hours", "settle")]


def test_it_says_that_an_application_still_wants_its_record(season):
    season.applied("check-in", season.check_in())
    batch = season.batch()
    build.RecordProfileFactory(jurisdiction=season.site.jurisdiction.code, first_day=date(2020, 1, 1))
    season.applied("mix-batch", batch)
    alone = {"people": [str(season.lead.public_id)]}
    season.applied("application", season.application(batch, **alone), order=True)
    season.applied("close-order", season.statement(), order=True)
    assert flags() == [("material_differs", "note"), ("record_incomplete", "note")]
    assert {flag.order for flag in Flag.objects.all()} == {season.order}
