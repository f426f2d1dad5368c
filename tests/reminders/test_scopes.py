"""Who sees which deadlines and notices: the owner, a colleague, an outsider."""

from uuid import uuid4

import pytest

from orders.common.errors import NotFound
from orders.planning.models import Visit
from orders.reminders.selectors import deadlines_of, notice_get, notices_of
from tests import build
from tests.build import WORK_DAY
from tests.reminders.build import crew_with_lead, job

pytestmark = pytest.mark.django_db


def lead(crew):
    return crew.memberships.get(is_lead=True).person.user


def seen(actor):
    return list(deadlines_of(actor, on=WORK_DAY))


@pytest.mark.parametrize("role", ["coordinator", "pesticide_supervisor", "finance", "administrator"])
def test_it_shows_all_deadlines_to_those_who_see_all_orders(role):
    rows = [build.DeadlineFactory(), build.DeadlineFactory()]
    assert seen(build.UserFactory(roles=[role])) == rows


@pytest.mark.parametrize(("state", "shown"), [("draft", 0), ("issued", 1), ("underway", 1), ("closed", 0), ("void", 0)])
def test_it_shows_a_crew_lead_those_of_patches_on_own_issued_orders(state, shown):
    deadline = build.DeadlineFactory()
    work = job(deadline.patch, state=state)
    assert len(seen(lead(work.crew))) == shown


def test_it_shows_a_crew_lead_nothing_of_other_crews_and_other_patches():
    deadline = build.DeadlineFactory()
    job(deadline.patch)
    own = job(build.PatchFactory(site=deadline.patch.site))
    assert seen(lead(own.crew)) == []


def test_it_shows_a_crew_lead_nothing_that_only_a_visit_that_fell_away_served():
    deadline = build.DeadlineFactory()
    work = job(deadline.patch)
    Visit.objects.update(state="dropped")
    assert seen(lead(work.crew)) == []


def test_it_shows_a_deadline_once_though_two_orders_serve_its_patch():
    deadline, crew = build.DeadlineFactory(), crew_with_lead()
    for _ in range(2):
        job(deadline.patch, crew=crew)
    assert seen(lead(crew)) == [deadline]


@pytest.mark.parametrize("facts", [{}, {"roles": ["coordinator"], "is_active": False}])
def test_it_shows_nothing_to_a_user_without_a_role(facts):
    build.DeadlineFactory()
    assert seen(build.UserFactory(**facts)) == []


def test_it_shows_own_notices_newest_first_and_all_of_them_to_a_coordinator(coordinator):
    reader = build.UserFactory(roles=["crew_lead"])
    first, second = build.NoticeFactory(user=reader), build.NoticeFactory(user=reader)
    other = build.NoticeFactory()
    assert list(notices_of(reader)) == [second, first]
    assert list(notices_of(coordinator)) == [other, second, first]


def test_it_gets_one_notice_in_the_scope_and_none_outside_it(coordinator):
    notice = build.NoticeFactory()
    assert notice_get(notice.user, notice.public_id) == notice_get(coordinator, notice.public_id) == notice
    for actor, wanted in ((build.UserFactory(roles=["finance"]), notice.public_id), (coordinator, uuid4())):
        with pytest.raises(NotFound):
            notice_get(actor, wanted)
