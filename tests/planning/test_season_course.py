"""Weeks of work and money, and where everything of a season stands."""

from datetime import date

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext

from orders.crews.models import Absence
from orders.planning.season_course import cost_weeks, crew_weeks, season_rows
from tests import build

pytestmark = pytest.mark.django_db
MONDAY, NEXT = date(2027, 2, 1), date(2027, 2, 8)


@pytest.fixture
def season():
    return build.SeasonFactory()


@pytest.fixture
def crew():
    return build.CrewFactory(name="Hollow crew", people=3)


def _visit(season, crew, day=MONDAY, **more):
    shares = more.pop("prescriptions", None) or [build.PrescriptionFactory(season=season)]
    return build.VisitFactory(season=season, crew=crew, day=day, prescriptions=shares, **more)


def _week(season, crew, monday=MONDAY, run=None):
    return next(week for week in crew_weeks(season, run) if (week.crew, week.monday) == (crew, monday))


def test_it_counts_work_and_drive_against_what_the_days_leave(season, crew):
    visit = _visit(season, crew, site=build.SiteFactory(drive_minutes=30))
    week = _week(season, crew)
    hours = sum(share.planned_hours for share in visit.shares.all()) + 3 * 1.0
    assert (week.hours, week.capacity_hours) == pytest.approx((hours, 5 * 3 * 8))


def test_it_counts_a_drive_once_for_two_visits_of_a_day(season, crew):
    site = build.SiteFactory(drive_minutes=30)
    one = _visit(season, crew, site=site)
    alone = _week(season, crew).hours
    two = _visit(season, crew, site=site)
    work = sum(share.planned_hours for visit in (one, two) for share in visit.shares.all())
    assert _week(season, crew).hours == pytest.approx(work + 3)
    assert alone < work


def test_it_gives_no_hours_on_days_off_and_fewer_when_somebody_is_away(season, crew):
    person = crew.memberships.order_by("id")[0].person
    Absence.objects.create(crew=crew, first_day=date(2027, 2, 1), last_day=date(2027, 2, 2), why="Training")
    Absence.objects.create(person=person, first_day=date(2027, 2, 3), last_day=date(2027, 2, 3), why="Dentist")
    assert _week(season, crew).capacity_hours == pytest.approx((2 + 3 + 3) * 8)


def test_it_has_every_week_of_the_season_for_every_crew(season, crew):
    build.CrewFactory(name="Idle crew", people=1)
    weeks = crew_weeks(season)
    assert len(weeks) == 2 * 50
    assert (weeks[0].monday, weeks[-1].monday) == (date(2027, 1, 4), date(2027, 12, 13))
    assert {week.hours for week in weeks} == {0}


@pytest.mark.parametrize("state", ["proposed", "not_done", "dropped"])
def test_it_leaves_out_what_does_not_stand(season, crew, state):
    _visit(season, crew, state=state)
    assert _week(season, crew).hours == 0
    assert cost_weeks(season)[-1].likely_cents == 0


def _seen(season, run):
    return {visit.visit for row in season_rows(season, run) for visit in row.visits}


def test_it_shows_a_plan_as_if_it_were_accepted(season, crew):
    run = build.PlanRunFactory(season=season, state="done")
    _visit(season, crew, state="planned")
    kept = _visit(season, crew, state="planned", is_kept=True)
    ordered, done = (_visit(season, crew, state=state) for state in ("ordered", "done"))
    new = _visit(season, crew, day=NEXT, state="proposed", plan_run=run)
    assert _seen(season, run) == {visit.public_id for visit in (kept, ordered, done, new)}


def test_it_shows_what_a_plan_made_again_leaves_where_it_is(season, crew):
    run = build.PlanRunFactory(season=season, state="done", purpose="replan")
    moved, left_out, planned, ordered = (
        _visit(season, crew, state=state) for state in ("ordered", "ordered", "planned", "ordered")
    )
    new = _visit(season, crew, day=NEXT, state="proposed", plan_run=run, replaces=moved)
    run.moved = [{"visit": str(left_out.public_id), "new_day": None}, {"visit": None, "new_day": str(NEXT)}]
    run.save()
    assert _seen(season, run) == {visit.public_id for visit in (planned, ordered, new)}
    hours = {monday: _week(season, crew, monday, run).hours for monday in (MONDAY, NEXT)}
    assert hours[NEXT] > 0
    assert hours[MONDAY] < _week(season, crew).hours


def test_its_cost_rises_to_what_the_visits_cost(season, crew):
    for day in (MONDAY, NEXT):
        _visit(season, crew, day=day)
    weeks = cost_weeks(season)
    likely = [round(week.likely_cents) for week in weeks]
    assert likely == sorted(likely)
    assert likely[3] == 0
    assert [week.mean_cents for week in weeks[5:]] == [pytest.approx(weeks[-1].mean_cents)] * len(weeks[5:])
    assert weeks[4].mean_cents == pytest.approx(weeks[-1].mean_cents / 2)
    assert weeks[-1].low_cents < weeks[-1].likely_cents < weeks[-1].high_cents


def test_its_range_is_that_of_one_estimate_however_many_visits_serve_it(season, crew):
    asked = build.PrescriptionFactory(season=season)
    visits = [_visit(season, crew, day=day, prescriptions=[asked]) for day in (MONDAY, NEXT)]
    for visit in visits:
        visit.shares.update(share=0.5)
    last = cost_weeks(season)[-1]
    low, high = asked.estimate.cost_low_cents, asked.estimate.cost_high_cents
    assert last.high_cents / last.low_cents == pytest.approx(high / low, rel=0.01)


def test_it_lists_prescriptions_with_their_visits(season, crew):
    visit = _visit(season, crew)
    asked = visit.shares.get().prescription
    build.PrescriptionFactory(season=season, state="dropped")
    (row,) = season_rows(season)
    assert (row.prescription, row.patch, row.site, row.method) == (asked, asked.patch, asked.patch.site, asked.method)
    assert [(part.day, part.crew, part.hours, part.state) for part in row.visits] == [(MONDAY, crew, 12.0, "planned")]


def test_it_narrows_by_site_and_by_crew(season, crew):
    asked = _visit(season, crew).shares.get().prescription
    build.PrescriptionFactory(season=season)
    assert len(season_rows(season)) == 2
    assert [row.prescription for row in season_rows(season, site=asked.patch.site)] == [asked]
    assert [row.prescription for row in season_rows(season, crew=crew)] == [asked]
    assert season_rows(season, crew=build.CrewFactory(name="Far crew")) == []


@pytest.mark.parametrize(
    ("due", "share", "said"),
    [(None, 1.0, ""), (MONDAY, 1.0, "met"), (date(2027, 1, 31), 1.0, "late"), (MONDAY, 0.5, "owed")],
)
def test_it_says_what_becomes_of_a_seed_deadline(season, crew, due, share, said):
    asked = build.PrescriptionFactory(season=season, seed_due_on=due)
    visit = _visit(season, crew, prescriptions=[asked])
    visit.shares.update(share=share)
    (row,) = season_rows(season)
    assert row.deadline == said


def test_it_asks_as_often_for_many_visits_and_crews_as_for_few(season):
    counts: set[int] = set()
    for _ in range(2):
        for number in range(3):
            _visit(season, build.CrewFactory(name=f"Crew {number} of {len(counts)}", people=2))
        with CaptureQueriesContext(connection) as asked:
            crew_weeks(season), cost_weeks(season), season_rows(season)
        counts.add(len(asked))
    assert len(counts) == 1
