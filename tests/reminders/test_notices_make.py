"""Who gets which notice, once."""

from datetime import UTC, date, datetime, timedelta

import pytest

from orders.common.models import Change
from orders.common.stamp import Stamp
from orders.planning.models import Visit
from orders.reminders.models import Deadline, Notice, ReminderStep
from orders.reminders.services import notices, notices_make
from tests import build
from tests.reminders.build import RECORDED, crew_with_lead, job

pytestmark = pytest.mark.django_db

FOUR_WEEKS, TWO_WEEKS = datetime(2027, 7, 21, 12, tzinfo=UTC), datetime(2027, 8, 4, 12, tzinfo=UTC)
ONE_WEEK, OVERDUE = datetime(2027, 8, 11, 12, tzinfo=UTC), datetime(2027, 8, 19, 12, tzinfo=UTC)


@pytest.fixture
def deadline():
    patch = build.PatchFactory(site__time_zone="America/New_York", site__name="Hollow Run", code="HR-7")
    return build.DeadlineFactory(patch=patch, survey__recorded_at=RECORDED)


def make(at):
    return notices_make(at=at, stamp=Stamp(by=None, at=at))


def made(at):
    return [(notice.step.code, notice.user) for notice in make(at)]


def lead(crew):
    return crew.memberships.get(is_lead=True).person.user


def test_it_tells_each_coordinator_of_the_step_that_has_come(deadline):
    people = [build.UserFactory(roles=["coordinator"]) for _ in range(2)]
    assert made(FOUR_WEEKS) == [("four-weeks", person) for person in people]


def test_it_tells_nobody_twice(deadline, coordinator):
    assert [made(TWO_WEEKS), made(TWO_WEEKS), made(ONE_WEEK - timedelta(seconds=1))] == [
        [("two-weeks", coordinator)],
        [],
        [],
    ]


def test_it_makes_only_the_latest_step_when_it_runs_late(deadline, coordinator):
    assert made(ONE_WEEK + timedelta(days=1)) == [("one-week", coordinator)]
    assert made(ONE_WEEK + timedelta(days=1, minutes=5)) == []


@pytest.mark.parametrize("state", ["issued", "underway"])
def test_it_tells_the_lead_of_a_crew_with_an_order_there(deadline, state):
    work = job(deadline.patch, state=state)
    assert made(TWO_WEEKS) == [("two-weeks", lead(work.crew))]


@pytest.mark.parametrize("state", ["draft", "closed", "void"])
def test_it_tells_no_lead_whose_order_is_not_under_way(deadline, state):
    job(deadline.patch, state=state)
    assert made(TWO_WEEKS) == []


def test_it_tells_no_lead_of_a_patch_elsewhere_or_of_a_visit_that_fell_away(deadline):
    job(build.PatchFactory(site=deadline.patch.site))
    fallen = job(deadline.patch)
    Visit.objects.filter(order_visit__order=fallen.order).update(state="dropped")
    assert made(TWO_WEEKS) == []


def test_it_tells_no_lead_of_what_is_for_coordinators_alone(deadline, coordinator):
    job(deadline.patch)
    assert made(FOUR_WEEKS) == [("four-weeks", coordinator)]


def test_it_tells_who_leads_on_the_day_and_nobody_else_of_the_crew(deadline):
    crew = crew_with_lead()
    today = crew.memberships.get().person.user
    for facts in ({"is_lead": False}, {"last_day": date(2027, 8, 3)}, {"first_day": date(2027, 8, 5)}):
        build.CrewMembershipFactory(crew=crew, person__user=build.UserFactory(), **{"is_lead": True, **facts})
    job(deadline.patch, crew=crew)
    assert made(TWO_WEEKS) == [("two-weeks", today)]


def test_it_tells_once_who_is_coordinator_and_lead_in_one(deadline):
    work = job(deadline.patch)
    person = lead(work.crew)
    person.roles.set(build.UserFactory(roles=["coordinator"]).roles.all())
    job(deadline.patch, crew=work.crew)
    told = [user for _, user in made(TWO_WEEKS)]
    assert told.count(person) == 1


def test_it_tells_nobody_who_may_not_log_in_any_more(deadline):
    build.UserFactory(roles=["coordinator"], is_active=False)
    work = job(deadline.patch)
    type(lead(work.crew)).objects.filter(pk=lead(work.crew).pk).update(is_active=False)
    assert made(TWO_WEEKS) == []


def test_it_tells_the_lead_of_an_order_issued_since_of_the_step_that_runs(deadline, coordinator):
    make(TWO_WEEKS)
    work = job(deadline.patch)
    assert made(TWO_WEEKS + timedelta(days=1)) == [("two-weeks", lead(work.crew))]


@pytest.mark.parametrize("facts", [{"state": "met"}, {"state": "ended"}, {"state": "missed", "done_on": OVERDUE}])
def test_it_is_silent_about_what_is_not_owed_or_done_since(deadline, coordinator, facts):
    Deadline.objects.update(**facts)
    assert made(OVERDUE) == []


def test_it_says_when_the_day_has_passed(deadline, coordinator):
    Deadline.objects.update(state="missed")
    assert made(OVERDUE) == [("overdue", coordinator)]


def test_it_says_at_once_that_fruit_was_seen(deadline, coordinator):
    seen = datetime(2027, 9, 10, 17, tzinfo=UTC)
    Deadline.objects.update(state="late", known_at=seen)
    assert made(seen) == [("fruit-seen", coordinator)]
    assert "Cut it anyway and bag the fruit." in Notice.objects.get().body


def test_it_is_none_for_a_step_from_before_the_deadline_was_known(deadline, coordinator):
    Deadline.objects.update(known_at=TWO_WEEKS + timedelta(hours=1))
    assert made(TWO_WEEKS + timedelta(hours=2)) == []
    assert made(ONE_WEEK) == [("one-week", coordinator)]


def test_it_makes_the_next_step_though_the_last_was_acknowledged(deadline, coordinator):
    make(TWO_WEEKS)
    Notice.objects.update(acknowledged_at=TWO_WEEKS)
    assert made(ONE_WEEK) == [("one-week", coordinator)]


def test_it_leaves_out_a_step_that_is_switched_off(deadline, coordinator):
    ReminderStep.objects.filter(code="two-weeks").update(is_active=False)
    assert made(TWO_WEEKS) == [("four-weeks", coordinator)]


def test_it_follows_a_schedule_longer_than_its_own(deadline, coordinator):
    build.ReminderStepFactory(code="long-before", days_before=90)
    Deadline.objects.update(known_at=datetime(2027, 1, 1, tzinfo=UTC))
    assert made(datetime(2027, 5, 20, 12, tzinfo=UTC)) == [("long-before", coordinator)]


def test_it_writes_what_the_reader_needs(deadline, coordinator):
    notice = make(TWO_WEEKS)[0]
    assert notice.subject == "Cut before fruit by August 18, 2027: wintercreeper, Hollow Run, patch HR-7"
    for said in (
        "Two weeks left.",
        "Site: Hollow Run",
        "Patch: HR-7",
        "Species: wintercreeper (Euonymus fortunei EUFO), climbing",
        "Due: August 18, 2027",
        f"Because: {deadline.because}",
        "What to do: Cut or pull it by that day",
        "the label is the law, and local rules and a licensed applicator decide",
    ):
        assert said in notice.body


def test_it_keeps_the_subject_on_one_line_whatever_the_names_hold(deadline, coordinator):
    type(deadline.patch.site).objects.update(name="Hollow\nRun")
    assert "Hollow Run" in make(TWO_WEEKS)[0].subject


def test_it_names_the_mail_by_deadline_step_and_person(deadline, coordinator, settings):
    settings.MESSAGE_ID_DOMAIN = "mail.example.org"
    wanted = f"<fencerow.{deadline.public_id}.two-weeks.{coordinator.public_id}@mail.example.org>"
    assert make(TWO_WEEKS)[0].message_id == wanted


def test_it_records_each(deadline, coordinator):
    notice = make(TWO_WEEKS)[0]
    change = Change.objects.get(verb="notice_make", entity_id=notice.public_id)
    assert change.after == {
        "step": "two-weeks",
        "user": str(coordinator.public_id),
        "deadline": str(deadline.public_id),
    }


def test_it_makes_none_that_another_run_made_between_its_look_and_its_lock(deadline, coordinator, monkeypatch):
    look, looks = notices._due, []

    def interrupted(at):
        found = list(look(at))
        looks.append(at)
        if len(looks) == 1:
            make(at)
        return iter(found)

    monkeypatch.setattr(notices, "_due", interrupted)
    assert make(TWO_WEEKS) == []
    assert Notice.objects.count() == 1


def test_it_asks_the_same_number_of_queries_for_one_deadline_and_for_many(coordinator, django_assert_num_queries):
    for _ in range(5):
        patch = build.PatchFactory()
        build.DeadlineFactory(patch=patch, survey__recorded_at=RECORDED)
        job(patch)
    make(TWO_WEEKS + timedelta(hours=1))
    with django_assert_num_queries(7):
        make(TWO_WEEKS + timedelta(hours=1))
