"""What the planner is told: what is asked for, who is there, and what stands already."""

from dataclasses import replace
from datetime import date, timedelta

import pytest

from estimating.plan_check import check_plan
from estimating.schedule import schedule
from orders import flow
from orders.estimates.selectors import rate_book_in_force
from orders.planning.convert import demand
from orders.planning.models import Visit
from orders.planning.what_if import WhatIf
from tests import build
from tests.flow.world import world_build
from tests.planning.small import FRIDAY, MONDAY, accepted, asked, other_crew, planned, replanned

pytestmark = pytest.mark.django_db


@pytest.fixture
def world():
    return world_build()


def _demand(world, **how):
    return demand(world.season, rate_book_in_force(), **how)


def _crew(found, name="Hollow crew"):
    return next(supply for supply in found.plan_input.crews if supply.id == name)


def _need(found, prescription):
    return next(visit for visit in found.plan_input.visits if found.needs[visit.id].prescription.pk == prescription.pk)


def test_it_names_crews_and_sites_as_people_do(world):
    asked(world, "A")
    found = _demand(world)
    assert [supply.id for supply in found.plan_input.crews] == ["Hollow crew"]
    assert found.plan_input.visits[0].site == world.patch.site.code


def test_it_keeps_visits_on_orders_and_leaves_the_rest_of_their_day_free(world):
    first = asked(world, "A", 0.4, last_day=MONDAY)
    accepted(world)
    second = asked(world, "B", 0.5, last_day=MONDAY)
    run = planned(world)
    found = _demand(world)
    assert [entry.day for entry in found.plan_input.fixed] == [MONDAY]
    assert [visit.day for visit in run.visits.all()] == [MONDAY]
    assert {share.prescription for share in run.visits.get().shares.all()} == {second}
    assert first.visit_shares.get().visit.state == "ordered"


def test_it_asks_for_no_more_than_no_visit_serves(world):
    prescription = asked(world, "A", 2.0)
    visit = build.VisitFactory(season=world.season, crew=world.crew, site=world.patch.site, state="done", day=MONDAY)
    build.VisitShareFactory(visit=visit, prescription=prescription, share=0.25, planned_hours=5)
    needs = _demand(world).needs
    assert sum(need.share for need in needs.values() if need.visit is None) == pytest.approx(0.75)
    assert [need.share for need in needs.values() if need.visit] == [0.25]


def test_it_asks_for_nothing_that_stands_outside_the_seasons_days(world):
    prescription = asked(world, "A")
    early = build.VisitFactory(season=world.season, crew=world.crew, site=world.patch.site, state="done")
    build.VisitShareFactory(visit=early, prescription=prescription)
    type(early).objects.update(day=world.season.first_day - timedelta(days=1))
    assert _demand(world).needs == {}


def test_it_counts_what_was_done_against_the_budgets(world):
    fund = build.SeasonFundFactory(season=world.season, budget_cents=1)
    done = asked(world, "A", fund=fund, state="done")
    visit = build.VisitFactory(season=world.season, crew=world.crew, site=world.patch.site, state="done", day=MONDAY)
    build.VisitShareFactory(visit=visit, prescription=done, planned_hours=9)
    asked(world, "B", fund=fund)
    run = planned(world)
    (use,) = run.funds
    assert (use["fund"], use["chance_over"]) == (fund.code, 1.0)
    assert use["cost_cents"] > 9 * 2_400
    assert [left["constraint"] for left in run.left_out] == ["budget"]


def test_it_counts_material_equipment_and_mileage_in_cost_and_budgets(world):
    fund = build.SeasonFundFactory(season=world.season, budget_cents=500_000)
    other = {"material_cents": 9_000, "equipment_cents": 700, "mileage_cents": 301, "labor_cents": 55_555}
    asked(world, "A", 2.0, fund=fund, **{f"estimate__{name}": cents for name, cents in other.items()})
    found = _demand(world)
    assert len(found.plan_input.visits) > 1
    assert sum(visit.other_cents for visit in found.plan_input.visits) == 10_001
    plain = [replace(visit, other_cents=0) for visit in found.plan_input.visits]
    least = schedule(replace(found.plan_input, visits=tuple(plain)))
    run = planned(world)
    assert (run.faults, run.left_out) == ([], [])
    assert run.cost_cents == run.figures["cost_cents"] == run.funds[0]["cost_cents"] == least.cost_cents + 10_001


def test_it_has_fewer_hours_on_a_day_on_which_somebody_is_away(world):
    person = world.crew.memberships.order_by("id").first().person
    build.AbsenceFactory(person=person, first_day=MONDAY, last_day=MONDAY)
    asked(world, "A")
    crew = _crew(_demand(world))
    assert crew.people == 3
    assert crew.hours_on(MONDAY) == pytest.approx(crew.day_hours * 2 / 3)
    assert crew.hours_on(FRIDAY) == crew.day_hours


def test_it_lacks_a_license_on_days_on_which_its_holder_is_away_or_it_has_run_out(world):
    person = world.crew.memberships.order_by("id").first().person
    build.QualificationFactory(person=person, last_day=FRIDAY, jurisdiction=world.patch.site.jurisdiction)
    build.AbsenceFactory(person=person, first_day=MONDAY, last_day=MONDAY)
    crew = _crew(_demand(world))
    skill = "certified-applicator@KY"
    later = FRIDAY + timedelta(days=3)
    assert [skill in crew.skills_on(day) for day in (MONDAY, FRIDAY, later)] == [False, True, False]


def test_it_puts_licensed_work_on_a_day_on_which_the_license_is_there(world):
    method = build.MethodFactory(code="spot-foliar")
    method.qualification = build.QualificationKindFactory()
    method.save()
    person = world.crew.memberships.order_by("id").first().person
    build.QualificationFactory(person=person, jurisdiction=world.patch.site.jurisdiction)
    build.AbsenceFactory(person=person, first_day=MONDAY, last_day=MONDAY + timedelta(days=2))
    asked(world, "A", 0.5, method=method)
    assert {visit.day for visit in planned(world).visits.all()} <= {MONDAY + timedelta(days=3), FRIDAY}


def test_it_plans_a_crew_that_begins_in_the_season(world):
    crew = build.CrewFactory(name="Summer crew", people=0)
    build.CrewMembershipFactory(crew=crew, first_day=date(2027, 5, 3))
    supply = _crew(_demand(world), "Summer crew")
    assert supply.hours_on(date(2027, 4, 30)) == 0
    assert supply.hours_on(date(2027, 5, 3)) > 0


def test_it_keeps_what_follows_its_lag_after_the_first(world):
    first = asked(world, "A", 0.5)
    second = asked(
        world,
        "A2",
        0.5,
        patch=first.patch,
        origin="follow_up",
        follows=first,
        purpose="regrowth",
        least_lag_days=14,
        most_lag_days=40,
        last_day=MONDAY + timedelta(days=60),
    )
    run = planned(world)
    day = {share.prescription_id: visit.day for visit in run.visits.all() for share in visit.shares.all()}
    assert 14 <= (day[second.pk] - day[first.pk]).days <= 40
    assert run.faults == []


def test_it_sends_out_no_more_equipment_than_there_is(world):
    method = build.MethodFactory(code="cut")
    saw = build.EquipmentFactory(count=1)
    build.MethodEquipmentFactory(method=method, equipment=saw, units_per_crew=1)
    other_crew()
    for code in "AB":
        asked(world, code, method=method, last_day=MONDAY)
    run = planned(world)
    assert run.visits.count() == 1
    assert [left["constraint"] for left in run.left_out] == ["equipment"]


def test_it_plans_nothing_for_days_before_the_plan_was_asked_for(world):
    asked(world, "A", 0.5)
    found = _demand(world, from_day=MONDAY + timedelta(days=2))
    (entry,) = schedule(found.plan_input).assignments
    assert entry.day >= MONDAY + timedelta(days=2)
    assert _demand(world, from_day=date(2026, 12, 1)).fingerprint == _demand(world).fingerprint


def test_it_keeps_a_method_out_while_a_closure_does(world):
    method = build.MethodFactory(code="cut")
    build.ClosureFactory(site=world.patch.site, first_day=MONDAY, last_day=MONDAY + timedelta(days=2), methods=["cut"])
    kept_out = asked(world, "A", 0.3, method=method)
    free = asked(world, "B", 0.3, method=build.MethodFactory(code="hand-pull"))
    found = _demand(world)
    assert _need(found, kept_out).first_day == MONDAY + timedelta(days=3)
    assert _need(found, free).first_day == MONDAY


def test_it_says_so_where_closures_of_the_method_leave_no_day(world):
    build.ClosureFactory(site=world.patch.site, first_day=MONDAY, last_day=FRIDAY, methods=["cut"])
    asked(world, "A")
    (left,) = planned(world).left_out
    assert (left["constraint"], left["change"]) == ("closed", "")


def test_it_serves_what_is_owed_first_and_holds_budgets_at_the_seasons_level(world):
    begun = build.PatchFactory(site=world.patch.site, control_state="under_treatment")
    owed, new = asked(world, "A", patch=begun), asked(world, "B")
    world.season.budget_level = 0.8
    found = _demand(world)
    assert (_need(found, owed).owed, _need(found, new).owed) == (True, False)
    assert found.plan_input.budget_level == 0.8
    assert _need(found, new).own_log_sd > 0


def test_it_gives_a_what_if_other_crews_and_money(world):
    asked(world, "A")
    world.season.budget_cents = 200_000
    world.season.save()
    found = _demand(world, what=WhatIf(extra_crews=2, budget_percent=90))
    assert [supply.id for supply in found.plan_input.crews] == [
        "Hollow crew",
        "Hollow crew (what if 1)",
        "Hollow crew (what if 2)",
    ]
    assert found.plan_input.budget_cents == 180_000


def test_it_starts_a_what_if_with_more_means_from_the_plan_beside_it(world):
    for code, crew_days in (("A", 2.4), ("B", 0.4), ("C", 0.3)):
        asked(world, code, crew_days)
    run = planned(world, iterations=40)
    placed = {(share.prescription, share.visit.day) for visit in run.visits.all() for share in visit.shares.all()}
    for _ in range(2):  # proposed, then on orders
        found = _demand(world, what=WhatIf(extra_crews=1))
        given = found.plan_input
        assert {entry.visit for entry in given.previous} == found.needs.keys()
        assert {(found.needs[entry.visit].prescription, entry.day) for entry in given.previous} == placed
        begun = schedule(replace(given, crews=given.crews[:1]))
        assert begun.moved == ()
        if run.accepted_at is None:
            flow.accept_plan(run=run, stamp=world.stamp())
            run.refresh_from_db()
            Visit.objects.filter(plan_run=run).update(state="ordered")


@pytest.mark.parametrize(("what", "starts"), [({"budget_percent": 110}, True), ({"budget_percent": 90}, False)])
def test_it_starts_afresh_where_a_what_if_takes_means_away(world, what, starts):
    asked(world, "A")
    planned(world)
    assert bool(_demand(world, what=WhatIf(**what, extra_crews=1)).plan_input.previous) is starts
    assert _demand(world).plan_input.previous == ()


def test_it_starts_a_what_if_from_where_a_new_proposal_has_what_it_replaces(world):
    asked(world, "A", 0.5)
    accepted(world)
    build.AbsenceFactory(crew=world.crew, first_day=MONDAY, last_day=MONDAY)
    again = replanned(world)
    (entry,) = _demand(world, what=WhatIf(extra_crews=1)).plan_input.previous
    assert entry.day == again.visits.get().day > MONDAY
    flow.drop_plan(run=again, stamp=world.stamp())
    (entry,) = _demand(world, what=WhatIf(extra_crews=1)).plan_input.previous
    assert entry.day == MONDAY


def test_it_gives_facts_that_the_checker_accepts_whatever_stands(world):
    for code in "ABC":
        asked(world, code, 0.7)
    accepted(world)
    asked(world, "D", 1.6)
    for how in ({}, {"again": True}, {"what": WhatIf(extra_crews=1)}):
        found = _demand(world, **how)
        assert check_plan(found.plan_input, schedule(found.plan_input, 10)) == ()


def test_it_says_the_planners_ids_as_people_name_them(world):
    build.QualificationKindFactory()
    prescription = asked(world, "A")
    found = _demand(world)
    key = _need(found, prescription).id
    said = found.words(f"It comes after {key}, with certified-applicator@KY.")
    assert said == f"It comes after {prescription.patch} ({prescription.method}), with Certified applicator in KY."


def test_it_says_a_funds_name_for_its_code(world):
    grant = build.SeasonFundFactory(season=world.season, code="GRANT", name="Hollow grant")
    asked(world, "A", fund=grant)
    said = _demand(world).words("$12 more in the budget of fund GRANT, not of fund GRANT-2.")
    assert said == "$12 more in the budget of Hollow grant, not of fund GRANT-2."


def test_it_keeps_the_lag_after_work_that_is_done(world):
    done = asked(world, "A", state="done")
    visit = build.VisitFactory(season=world.season, crew=world.crew, site=world.patch.site, state="done", day=MONDAY)
    build.VisitShareFactory(visit=visit, prescription=done, planned_hours=9)
    chain = {"origin": "follow_up", "follows": done, "least_lag_days": 3, "most_lag_days": 30}
    after = asked(world, "A", 0.5, patch=done.patch, **chain)
    found = _demand(world, again=True)
    (link,) = found.plan_input.chains
    assert (found.needs[link.first].visit, found.needs[link.second].prescription) == (visit, after)
    assert min(visit.day for visit in planned(world).visits.all()) >= MONDAY + timedelta(days=3)


def test_it_leaves_a_crew_what_other_seasons_do_not_take(world):
    season = build.SeasonFactory(name="Winter", first_day=MONDAY, last_day=MONDAY + timedelta(days=60))
    visit = build.VisitFactory(season=season, crew=world.crew, site=world.patch.site, state="ordered", day=MONDAY)
    build.VisitShareFactory(visit=visit, prescription=asked(world, "B"), planned_hours=7)
    asked(world, "A", 0.5)
    crew = _crew(_demand(world))
    drive_hours = crew.people * 2 * world.patch.site.drive_minutes / 60
    assert crew.day_hours - crew.hours_on(MONDAY) == pytest.approx(7 + drive_hours)
    assert crew.hours_on(MONDAY + timedelta(days=1)) == crew.day_hours
