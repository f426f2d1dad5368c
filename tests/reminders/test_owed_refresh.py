"""Deadlines of every kind but seed follow plans, orders, licenses, labels and stock."""

from datetime import UTC, date, datetime, timedelta

import pytest

from orders.common.models import Change
from orders.common.stamp import Stamp
from orders.crews.models import Qualification
from orders.planning.models import Prescription, Visit
from orders.reminders.models import Deadline
from orders.reminders.services import OwedRefreshed, owed_refresh
from orders.supplies.models import Product
from orders.workorders.models import RecordProfile
from tests import build

pytestmark = pytest.mark.django_db

DAY = date(2026, 7, 2)


def refresh(day, hour=17):
    """As of an hour in UTC: 13:00 in New York by default."""
    at = datetime(day.year, day.month, day.day, hour, tzinfo=UTC)
    return owed_refresh(stamp=Stamp(by=None, at=at))


def only(kind):
    return Deadline.objects.get(kind=kind)


def states(kind):
    return list(Deadline.objects.filter(kind=kind).order_by("id").values_list("state", flat=True))


def order(*, jurisdiction="MO", herbicide=True, days=(DAY,), state="issued", **facts):
    site = build.SiteFactory(time_zone="America/New_York", jurisdiction=build.JurisdictionFactory(code=jurisdiction))
    method = build.MethodFactory(code="spray" if herbicide else "pull", uses_herbicide=herbicide)
    patch = build.PatchFactory(site=site)
    asked = build.PrescriptionFactory(
        patch=patch, estimate=build.EstimateFactory(survey__patch=patch, method=method), state="ordered"
    )
    visits = [build.VisitFactory(site=site, day=day, state="ordered") for day in days]
    for visit in visits:
        build.VisitShareFactory(visit=visit, prescription=asked, share=1 / len(days))
    issued = datetime(2026, 6, 20, 15, tzinfo=UTC)
    last = max(days)
    return build.WorkOrderFactory(site=site, visits=visits, state=state, last_day=last, issued_at=issued, **facts)


def close(row, received_at):
    row.state = "closed"
    row.save()
    build.CloseOutFactory(order=row, work_date=DAY, happened_at=received_at, received_at=received_at)


# Records: the terms of the states as the facts have them; the days are computed by hand.
@pytest.mark.parametrize(
    ("jurisdiction", "due_on"),
    [("OH", DAY), ("MO", date(2026, 7, 8)), ("IN", date(2026, 8, 1)), ("KY", date(2026, 7, 16))],
)
def test_it_owes_the_record_of_a_herbicide_use_by_the_rule_of_the_state(jurisdiction, due_on):
    order(jurisdiction=jurisdiction)
    refresh(DAY)
    row = only("record")
    assert (row.due_on, row.state) == (due_on, "open")
    assert RecordProfile.objects.get(jurisdiction=jurisdiction).source in row.because


def test_it_goes_by_the_rule_that_was_in_force_on_the_day_of_the_use():
    RecordProfile.objects.filter(jurisdiction="OH").update(last_day=date(2026, 7, 1))
    build.RecordProfileFactory(jurisdiction="OH", counts="days", days=2, first_day=DAY)
    order(jurisdiction="OH", days=(DAY - timedelta(days=1), DAY))
    refresh(DAY)
    dues = Deadline.objects.filter(kind="record").order_by("due_on").values_list("due_on", flat=True)
    assert list(dues) == [date(2026, 7, 1), date(2026, 7, 4)]


def test_it_owes_no_record_before_the_day_nor_for_work_without_herbicide():
    order(days=(DAY + timedelta(days=1),))
    order(herbicide=False)
    refresh(DAY)
    assert states("record") == []


def test_it_owes_a_record_for_each_day_and_none_for_a_day_that_fell_away():
    row = order(days=(DAY, DAY + timedelta(days=1)))
    refresh(DAY + timedelta(days=1))
    assert states("record") == ["open", "open"]
    Visit.objects.filter(order_visit__order=row, day=DAY).update(state="not_done")
    refresh(DAY + timedelta(days=1))
    assert states("record") == ["ended", "open"]


@pytest.mark.parametrize(
    ("received_at", "state"),
    [
        (datetime(2026, 7, 9, 3, 59, tzinfo=UTC), "met"),  # 23:59 on July 8 in New York
        (datetime(2026, 7, 9, 4, 0, tzinfo=UTC), "missed"),
    ],
)
def test_it_settles_a_record_when_the_order_is_closed(received_at, state):
    row = order()
    refresh(DAY)
    close(row, received_at)
    refresh(date(2026, 7, 10))
    assert only("record").state == state
    assert only("record").done_on == received_at.date() - timedelta(days=received_at.hour == 3)


def test_it_owes_the_close_of_an_issued_order_by_its_last_standing_visit():
    row = order(herbicide=False, days=(DAY, DAY + timedelta(days=5)))
    refresh(DAY)
    assert (only("close").due_on, only("close").known_at) == (date(2026, 7, 7), row.issued_at)
    refresh(date(2026, 7, 8))
    assert only("close").state == "missed"


def test_it_tells_of_the_new_last_day_when_visits_move():
    row = order(herbicide=False)
    refresh(DAY)
    Visit.objects.filter(order_visit__order=row).update(day=date(2026, 7, 20))
    refresh(DAY)
    rows = Deadline.objects.filter(kind="close").order_by("id").values_list("due_on", "state")
    assert list(rows) == [(DAY, "ended"), (date(2026, 7, 20), "open")]


def test_it_settles_the_close_and_ends_that_of_a_void_order():
    closed, void = order(herbicide=False), order(herbicide=False)
    refresh(DAY)
    close(closed, datetime(2026, 7, 2, 20, tzinfo=UTC))
    type(void).objects.filter(pk=void.pk).update(state="void")
    refresh(DAY)
    assert states("close") == ["met", "ended"]


def test_it_owes_nothing_for_drafts_and_for_what_was_closed_before_anybody_knew():
    order(state="draft")
    close(order(), datetime(2026, 7, 2, 20, tzinfo=UTC))
    refresh(DAY)
    assert states("close") + states("record") == []


@pytest.fixture
def asked():
    patch = build.PatchFactory(site__time_zone="America/New_York")
    return build.PrescriptionFactory(patch=patch, last_day=date(2026, 7, 20), first_day=date(2026, 3, 1))


@pytest.mark.parametrize("state", ["open", "planned", "ordered"])
def test_it_owes_work_until_its_window_closes(asked, state):
    Prescription.objects.update(state=state)
    refresh(DAY)
    assert (only("window").due_on, only("window").state) == (date(2026, 7, 20), "open")
    assert asked.window_because in only("window").because
    refresh(date(2026, 7, 21))
    assert only("window").state == "missed"


def test_it_settles_a_window_on_the_last_day_of_work(asked):
    refresh(DAY)
    Prescription.objects.update(state="done")
    build.PatchOutcomeFactory(prescription=asked, close_out__work_date=date(2026, 7, 6))
    refresh(date(2026, 7, 10))
    assert (only("window").state, only("window").done_on) == ("met", date(2026, 7, 6))


def test_it_ends_a_window_whose_prescription_was_dropped_or_moved(asked):
    refresh(DAY)
    Prescription.objects.update(state="dropped")
    refresh(DAY)
    assert (only("window").state, only("window").because) == ("ended", "The prescription was dropped.")
    Prescription.objects.update(state="open", last_day=date(2026, 8, 1))
    refresh(DAY)
    rows = Deadline.objects.filter(kind="window").order_by("id").values_list("due_on", "state")
    assert list(rows) == [(date(2026, 7, 20), "ended"), (date(2026, 8, 1), "open")]


def test_it_knows_a_window_from_the_moment_when_it_was_prescribed(asked):
    at = datetime(2026, 6, 1, 15, tzinfo=UTC)
    Change.objects.create(at=at, verb="prescription_add", entity="prescription", entity_id=asked.public_id)
    refresh(DAY)
    assert only("window").known_at == at


@pytest.fixture
def license(db):
    return build.QualificationFactory(first_day=date(2024, 8, 1), last_day=date(2026, 8, 1))


def test_it_owes_the_renewal_of_a_license_that_runs_out(license):
    refresh(DAY)
    assert (only("license").due_on, only("license").qualification) == (date(2026, 8, 1), license)


def test_it_leaves_out_a_license_that_runs_for_long_and_one_of_a_person_who_left(license):
    Qualification.objects.update(last_day=date(2027, 8, 1))
    build.QualificationFactory(last_day=date(2026, 8, 1), first_day=date(2024, 8, 1), person__is_active=False)
    assert refresh(DAY) == OwedRefreshed()


@pytest.mark.parametrize(
    ("first_day", "state", "done_on"),
    [
        (date(2026, 7, 20), "met", date(2026, 8, 1)),
        (date(2026, 8, 2), "met", date(2026, 8, 1)),
        (date(2026, 8, 3), "missed", date(2026, 8, 3)),
    ],
)
def test_it_settles_a_license_by_its_renewal(license, first_day, state, done_on):
    refresh(DAY)
    build.QualificationFactory(
        person=license.person,
        kind=license.kind,
        jurisdiction=license.jurisdiction,
        first_day=first_day,
        last_day=date(2028, 8, 1),
    )
    refresh(date(2026, 8, 4))
    assert (only("license").state, only("license").done_on) == (state, done_on)


def test_it_begins_anew_when_the_last_day_of_a_license_is_edited(license):
    refresh(DAY)
    Qualification.objects.update(last_day=date(2026, 9, 1))
    refresh(DAY)
    assert states("license") == ["ended", "open"]


def test_it_owes_a_label_review_a_year_after_the_last_and_settles_it():
    product = build.ProductFactory(reviewed_on=date(2025, 8, 1))
    build.ProductFactory(reviewed_on=None)
    refresh(DAY)
    assert (only("label").due_on, only("label").product) == (date(2026, 8, 1), product)
    Product.objects.filter(pk=product.pk).update(reviewed_on=date(2026, 7, 3))
    refresh(date(2026, 7, 4))
    assert (only("label").state, only("label").done_on) == ("met", date(2026, 7, 3))


def test_it_owes_no_review_of_a_product_that_is_out_of_use():
    product = build.ProductFactory(reviewed_on=date(2025, 8, 1))
    refresh(DAY)
    Product.objects.filter(pk=product.pk).update(is_active=False)
    refresh(DAY)
    assert states("label") == ["ended"]
    Product.objects.filter(pk=product.pk).update(is_active=True)
    refresh(DAY)
    assert states("label")[-1] == "open"


@pytest.fixture
def product(db):
    made = build.ProductFactory(code="blue", name="Blue", reviewed_on=DAY)
    build.StockLotFactory(product=made, received_ul=2_000_000)
    return made


def planned(liters, last_day=date(2026, 8, 10), **facts):
    season = build.SeasonFactory(first_day=date(2026, 1, 5), last_day=date(2026, 12, 18))
    estimate = build.EstimateFactory(products_ul={"blue": liters * 1_000_000})
    return build.PrescriptionFactory(
        season=season, estimate=estimate, patch=estimate.survey.patch, first_day=DAY, last_day=last_day, **facts
    )


def test_it_owes_nothing_while_there_is_enough_in_stock(product):
    planned(2.0)
    refresh(DAY)
    assert states("stock") == []


def test_it_owes_stock_by_the_day_on_which_the_plan_runs_out_of_it(product):
    first, second = planned(1.5), planned(1.5)
    visit = build.VisitFactory(day=date(2026, 7, 15), prescriptions=[second], state="ordered")
    Prescription.objects.filter(pk=second.pk).update(state="ordered")
    refresh(DAY)
    row = only("stock")
    assert (row.due_on, row.product) == (first.last_day, product)
    assert "takes 0.79 gal (3.00 L)" in row.because
    assert "0.53 gal (2.00 L) are on hand" in row.because
    Visit.objects.filter(pk=visit.pk).update(day=date(2026, 8, 20))
    refresh(DAY)
    assert only("stock").due_on == date(2026, 8, 20)


def test_it_counts_what_is_left_of_a_remainder(product):
    planned(5.0, share_left=0.3)
    refresh(DAY)
    assert states("stock") == []


def test_it_settles_a_shortage_and_begins_anew_with_the_next(product):
    planned(3.0)
    refresh(DAY)
    build.StockMovementFactory(lot=product.lots.get(), amount=2_000_000)
    refresh(DAY + timedelta(days=1))
    assert (only("stock").state, only("stock").done_on) == ("met", date(2026, 7, 3))
    planned(3.0)
    refresh(DAY + timedelta(days=2))
    assert states("stock") == ["met", "open"]


def test_it_changes_nothing_the_second_time(asked, license, product):
    order()
    planned(3.0)
    first = refresh(DAY)
    before = [list(model.objects.order_by("pk").values()) for model in (Deadline, Change)]
    assert refresh(DAY) == OwedRefreshed(unchanged=first.added)
    assert [list(model.objects.order_by("pk").values()) for model in (Deadline, Change)] == before
    assert first.added == Deadline.objects.count() >= 5


def test_it_asks_the_database_as_often_for_much_as_for_little(django_assert_max_num_queries):
    order()
    planned(3.0)
    refresh(DAY)
    with django_assert_max_num_queries(30) as few:
        refresh(DAY)
    for _ in range(5):
        order()
        planned(3.0)
    refresh(DAY)
    with django_assert_max_num_queries(len(few.captured_queries)):
        refresh(DAY)


def test_it_records_what_was_and_what_is(asked):
    refresh(DAY)
    refresh(date(2026, 7, 21))
    change = Change.objects.get(verb="deadline_change")
    assert (change.before, change.after) == ({"state": "open"}, {"state": "missed"})
