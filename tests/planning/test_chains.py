"""Chains of treatment as dated prescriptions: what follows what, when, and what becomes of it."""

from datetime import date, timedelta

import pytest

from orders import flow
from orders.common.models import Change
from orders.planning.chain_links import chain_links
from orders.planning.chains import follow_ups_date, follow_ups_prescribe, later_steps
from orders.planning.models import Prescription
from orders.planning.selectors import prescriptions
from orders.planning.services import prescription_drop
from orders.planning.windows import SeasonWindows
from tests import build
from tests.flow.world import BEGIN
from tests.planning.choices import ground_build

pytestmark = pytest.mark.django_db


def rule(after, method, purpose, least, most=365, **more):
    return build.ChainRuleFactory(
        after=build.MethodFactory(code=after),
        method=build.MethodFactory(code=method),
        purpose=purpose,
        least_days=least,
        most_days=most,
        **more,
    )


@pytest.fixture
def ground():
    return ground_build()


@pytest.fixture
def season(ground):
    return ground.world.season


def prescribe(ground):
    return flow.prescribe_season(season=ground.world.season, stamp=ground.world.stamp())


def follow(ground, *firsts, **more):
    season = ground.world.season
    windows = SeasonWindows(season)
    return follow_ups_prescribe(
        season=season, windows=windows, firsts=list(firsts) or None, stamp=ground.world.stamp(), **more
    )


def first_on(patch, method):
    return Prescription.objects.get(patch=patch, method__code=method, origin="survey")


def own(ground, method, patch, first=date(2027, 2, 1), last=date(2027, 11, 30)):
    estimate = patch.surveys.get().estimates.get(method__code=method, rate_book__crew_kind="staff")
    return build.PrescriptionFactory(
        season=ground.world.season, patch=patch, estimate=estimate, first_day=first, last_day=last
    )


def test_a_pull_is_revisited_after_the_lag(ground):
    revisit = rule("hand-pull", "hand-pull", "revisit", 120, 200, share=0.3)
    prescribe(ground)
    first, second = first_on(ground.pulled, "hand-pull"), Prescription.objects.get(purpose="revisit")
    assert (second.origin, second.follows, second.chain_rule) == ("follow_up", first, revisit)
    assert (second.least_lag_days, second.most_lag_days, second.share_left) == (120, 200, 0.3)
    assert second.first_day == first.first_day + timedelta(days=120)
    assert second.last_day == min(first.last_day + timedelta(days=200), ground.world.season.last_day)
    assert f"Not before {second.first_day}, 120 days after its first possible day" in second.window_because
    assert "120 to 200 days after hand pulling" in second.why


def test_it_asks_once(ground):
    rule("hand-pull", "hand-pull", "revisit", 120)
    prescribe(ground)
    assert follow(ground) == prescribe(ground) == []
    assert Prescription.objects.filter(purpose="revisit").count() == 1


def test_a_dormant_spray_is_checked_when_symptoms_can_show_and_sprayed_again_in_the_next_dormant_window(ground):
    rule("dormant-foliar", "monitor", "check", 180)
    rule("monitor", "dormant-foliar", "again", 14, after_purpose="check")
    prescribe(ground)
    spray, check, again = Prescription.objects.filter(patch=ground.wide).order_by("id")
    assert (spray.method.code, check.method.code, again.method.code) == ("dormant-foliar", "monitor", "dormant-foliar")
    assert check.first_day == spray.first_day + timedelta(days=180)
    assert again.follows == check
    assert again.first_day > date(2027, 11, 1)
    assert "natives are out of leaf" in again.window_because


def test_again_repeats_what_was_checked_and_nothing_else(ground):
    rule("dormant-foliar", "monitor", "check", 100)
    rule("monitor", "spot-foliar", "again", 14, after_purpose="check")
    prescribe(ground)
    assert not Prescription.objects.filter(purpose="again").exists()


def test_a_cut_is_followed_by_the_first_alternative_that_can_be_estimated(ground):
    own(ground, "mow-mulch", ground.wide)
    rule("mow-mulch", "cut-stem", "regrowth", 60, code="a-1")  # no estimate: nothing there has stems
    rule("mow-mulch", "hand-pull", "regrowth", 60, code="a-3")
    rule("mow-mulch", "spot-foliar", "regrowth", 60, code="a-2")
    (second,) = follow(ground)
    assert second.method.code == "spot-foliar"
    assert second.first_day >= date(2027, 4, 2)
    assert "the plant is in leaf" in second.window_because


def test_the_alternative_that_is_recommended_there_comes_first(ground):
    own(ground, "mow-mulch", ground.wide)
    rule("mow-mulch", "spot-foliar", "regrowth", 60, code="a-1")
    rule("mow-mulch", "dormant-foliar", "regrowth", 60, code="a-2")
    (second,) = follow(ground)
    assert second.method.code == "dormant-foliar"


@pytest.mark.parametrize(("species", "resprouts", "count"), [("resprouts", False, 0), ("does_not", False, 1)])
def test_a_rule_is_for_species_that_resprout_or_do_not(ground, species, resprouts, count):
    build.SpeciesFactory(code="EUFO")
    ground.pulled.surveys.get().components.get().species.__class__.objects.update(resprouts=resprouts)
    rule("hand-pull", "hand-pull", "revisit", 120, species=species)
    prescribe(ground)
    assert Prescription.objects.filter(purpose="revisit").count() == count


def test_a_rule_that_is_off_makes_nothing(ground):
    rule("hand-pull", "hand-pull", "revisit", 120, is_active=False)
    prescribe(ground)
    assert not Prescription.objects.filter(origin="follow_up").exists()


def test_a_step_after_the_season_is_told_and_not_made(ground):
    rule("hand-pull", "hand-pull", "revisit", 400, 500)
    prescribe(ground)
    first = first_on(ground.pulled, "hand-pull")
    assert not Prescription.objects.filter(origin="follow_up").exists()
    (step,) = later_steps(first)
    assert (step.first_day, step.method.code) == (first.first_day + timedelta(days=400), "hand-pull")
    assert step.because.startswith("Comes after season 2027")


def test_a_step_that_nobody_can_estimate_is_told_as_not_possible_yet(ground):
    rule("hand-pull", "cut-stem", "regrowth", 60)
    prescribe(ground)
    (step,) = later_steps(first_on(ground.pulled, "hand-pull"))
    assert step.because == "Not possible yet: there is no estimate of cut-stem treatment on this survey."


def test_a_step_without_a_window_is_told(ground):
    rule("mow-mulch", "dormant-foliar", "regrowth", 60, 90)
    first = own(ground, "mow-mulch", ground.wide, date(2027, 4, 10), date(2027, 4, 20))
    assert follow(ground) == []
    (step,) = later_steps(first)
    assert "No window of dormant-season foliar spray is open in season 2027" in step.because


def test_it_follows_what_was_done_in_an_earlier_season(ground):
    rule("hand-pull", "hand-pull", "revisit", 120, 400)
    before = build.SeasonFactory(first_day=date(2026, 1, 1), last_day=date(2026, 12, 31))
    estimate = ground.pulled.surveys.get().estimates.get(method__code="hand-pull")
    done = build.PrescriptionFactory(
        season=before,
        patch=ground.pulled,
        estimate=estimate,
        state="done",
        first_day=date(2026, 1, 1),
        last_day=date(2026, 12, 1),
    )
    build.VisitFactory(season=before, state="done", day=date(2026, 11, 20), prescriptions=[done])
    (second,) = follow(ground)
    assert (second.follows, second.season) == (done, ground.world.season)
    assert (second.first_day, second.last_day) == (date(2027, 3, 20), date(2027, 12, 17))
    assert "it was done on 2026-11-20" in second.window_because


def test_what_was_done_too_long_ago_is_left(ground):
    rule("hand-pull", "hand-pull", "revisit", 30, 40)
    before = build.SeasonFactory(first_day=date(2026, 1, 1), last_day=date(2026, 12, 31))
    estimate = ground.pulled.surveys.get().estimates.get(method__code="hand-pull")
    build.PrescriptionFactory(
        season=before,
        patch=ground.pulled,
        estimate=estimate,
        state="done",
        first_day=date(2026, 3, 1),
        last_day=date(2026, 10, 1),
    )
    assert follow(ground) == []


def test_its_hours_are_its_share_and_count_in_the_season(ground):
    prescribe(ground)
    before = ground.look().before.paid_hours
    rule("hand-pull", "hand-pull", "revisit", 120, share=0.5)
    (second,) = follow(ground)
    assert ground.look().before.paid_hours - before == pytest.approx(second.estimate.paid_person_hours / 2)


def test_dropping_work_drops_what_follows_it_to_the_end(ground):
    rule("dormant-foliar", "monitor", "check", 180)
    rule("monitor", "dormant-foliar", "again", 14, after_purpose="check")
    prescribe(ground)
    prescription_drop(
        prescription=first_on(ground.wide, "dormant-foliar"), stamp=ground.world.stamp(reason="Sold to the county.")
    )
    states = dict(Prescription.objects.filter(patch=ground.wide).values_list("purpose", "state"))
    assert states == {"": "dropped", "check": "dropped", "again": "dropped"}
    reason = Change.objects.filter(verb="prescription_drop").latest("id").reason
    assert reason.endswith("Sold to the county.")
    assert Prescription.objects.filter(patch=ground.other, state="open").count() == 3


def test_a_step_that_somebody_dropped_stays_dropped(ground):
    rule("hand-pull", "hand-pull", "revisit", 120)
    prescribe(ground)
    prescription_drop(
        prescription=Prescription.objects.get(purpose="revisit"), stamp=ground.world.stamp(reason="Not needed.")
    )
    assert follow(ground) == []
    (step,) = later_steps(first_on(ground.pulled, "hand-pull"))
    assert step.because == "It was dropped in season 2027."


def test_another_method_may_be_chosen_where_it_only_follows(ground):
    rule("dormant-foliar", "hand-pull", "revisit", 60)
    own(ground, "dormant-foliar", ground.pulled, date(2027, 1, 10), date(2027, 2, 20))
    follow(ground)
    made = prescribe(ground)
    assert ("hand-pull", ground.pulled.pk, "survey") in {(row.method.code, row.patch_id, row.origin) for row in made}


def test_an_own_choice_is_followed_too(ground):
    rule("spot-foliar", "monitor", "check", 30)
    estimate = ground.wide.surveys.get().estimates.get(method__code="spot-foliar")
    first = flow.prescribe_own_choice(
        season=ground.world.season,
        estimate=estimate,
        first_day=date(2027, 5, 1),
        last_day=date(2027, 6, 30),
        window_because="The crew is near.",
        why="Late.",
        on=BEGIN.date(),
        stamp=ground.world.stamp(),
    )
    assert Prescription.objects.get(follows=first).first_day == date(2027, 5, 31)


def test_links_tell_the_planner_the_lags(ground, season):
    rule("dormant-foliar", "monitor", "check", 180, 400)
    prescribe(ground)
    asked = list(prescriptions(season))
    first, check = first_on(ground.wide, "dormant-foliar"), Prescription.objects.get(patch=ground.wide, purpose="check")
    assert (first, check, 180, 400) in chain_links(asked)
    assert len(chain_links(asked)) == 2
    assert chain_links([row for row in asked if row != first and row.patch_id == ground.wide.pk]) == []


def test_links_hold_for_the_rest_of_part_done_work(ground, season):
    rule("dormant-foliar", "monitor", "check", 180, 400)
    prescribe(ground)
    first = first_on(ground.wide, "dormant-foliar")
    Prescription.objects.filter(pk=first.pk).update(state="done")
    rest = build.PrescriptionFactory(
        season=season, patch=ground.wide, estimate=first.estimate, origin="remainder", follows=first, share_left=0.4
    )
    asked = list(prescriptions(season).exclude(state="done").filter(patch=ground.wide))
    (link,) = chain_links(asked)
    assert (link[0], link[1].purpose) == (rest, "check")


def dated(ground, first, day, **more):
    windows = SeasonWindows(ground.world.season)
    return follow_ups_date(prescription=first, done_on=day, windows=windows, stamp=ground.world.stamp(), **more)


def done(first):
    Prescription.objects.filter(pk=first.pk).update(state="done")
    first.refresh_from_db()
    return first


def test_what_follows_is_dated_from_the_real_day(ground):
    rule("dormant-foliar", "monitor", "check", 180)
    rule("monitor", "dormant-foliar", "again", 14, after_purpose="check")
    prescribe(ground)
    first = done(first_on(ground.wide, "dormant-foliar"))
    changed = dated(ground, first, date(2027, 2, 20))
    check = Prescription.objects.get(patch=ground.wide, purpose="check")
    assert (check.first_day, check.last_day) == (date(2027, 8, 19), date(2027, 12, 17))
    assert "it was done on 2027-02-20" in check.window_because
    again = Prescription.objects.get(patch=ground.wide, purpose="again")
    assert "Not before 2027-09-02" in again.window_because
    assert changed == [check, again]
    assert dated(ground, first, date(2027, 2, 20)) == []


def test_what_falls_out_of_the_season_is_dropped_and_told(ground):
    rule("hand-pull", "hand-pull", "revisit", 200)
    prescribe(ground)
    first = done(first_on(ground.pulled, "hand-pull"))
    build.VisitFactory(season=ground.world.season, state="done", day=date(2027, 9, 1), prescriptions=[first])
    (second,) = dated(ground, first, date(2027, 9, 1))
    second.refresh_from_db()
    assert second.state == "dropped"
    assert "no longer falls in season 2027" in Change.objects.filter(verb="prescription_drop").latest("id").reason
    (step,) = later_steps(first)
    assert (step.first_day, step.because[:24]) == (date(2028, 3, 19), "Comes after season 2027.")


def test_what_was_put_off_is_asked_for_in_the_next_season(ground):
    rule("hand-pull", "hand-pull", "revisit", 200)
    prescribe(ground)
    first = done(first_on(ground.pulled, "hand-pull"))
    build.VisitFactory(season=ground.world.season, state="done", day=date(2027, 9, 1), prescriptions=[first])
    dated(ground, first, date(2027, 9, 1))
    following = build.SeasonFactory(first_day=date(2028, 1, 3), last_day=date(2028, 12, 15))
    (second,) = follow_ups_prescribe(season=following, windows=SeasonWindows(following), stamp=ground.world.stamp())
    assert (second.follows, second.first_day) == (first, date(2028, 3, 19))


def test_it_waits_while_a_part_is_still_to_be_done(ground, season):
    rule("dormant-foliar", "monitor", "check", 180)
    prescribe(ground)
    first = done(first_on(ground.wide, "dormant-foliar"))
    rest = build.PrescriptionFactory(
        season=season, patch=ground.wide, estimate=first.estimate, origin="remainder", follows=first, share_left=0.4
    )
    build.VisitFactory(season=season, state="done", day=date(2027, 2, 20), prescriptions=[first])
    assert dated(ground, first, date(2027, 2, 20)) == []
    (check,) = dated(ground, done(rest), date(2027, 3, 1))
    assert check.first_day == date(2027, 8, 28)


def test_what_is_on_an_order_keeps_its_days(ground):
    rule("dormant-foliar", "monitor", "check", 180)
    prescribe(ground)
    Prescription.objects.filter(purpose="check").update(state="ordered")
    assert dated(ground, done(first_on(ground.wide, "dormant-foliar")), date(2027, 2, 20)) == []
