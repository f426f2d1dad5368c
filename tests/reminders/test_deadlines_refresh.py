"""Deadlines follow surveys, species and close-outs, and only stale rows are computed again."""

from datetime import UTC, date, datetime

import pytest

from orders.common.models import Change
from orders.common.stamp import Stamp
from orders.reminders.models import Deadline
from orders.reminders.services import Refreshed, deadlines, deadlines_refresh
from orders.sites.models import Species, Survey
from tests import build
from tests.reminders.build import DUE, YEAR, close, job, remainder, survey

pytestmark = pytest.mark.django_db

BEFORE, AFTER = date(2027, 8, 1), date(2027, 8, 19)


@pytest.mark.parametrize("form", ["climbing", "sprawling"])
@pytest.mark.parametrize("fertile", ["yes", "unknown"])
def test_it_adds_one_for_what_may_fruit_with_or_without_an_order(refresh, form, fertile):
    survey(form=form, fertile=fertile)
    assert refresh(BEFORE) == Refreshed(year=YEAR, added=1)
    assert Deadline.objects.get().due_on == DUE


@pytest.mark.parametrize(
    ("form", "fertile"), [("climbing", "no"), ("ground cover", "yes"), ("shrub", "yes"), ("herb", "unknown")]
)
def test_it_adds_none_for_what_does_not(refresh, form, fertile):
    survey(form=form, fertile=fertile)
    assert refresh(BEFORE) == Refreshed(year=YEAR)


def test_it_adds_one_for_each_species_and_form_of_a_patch(refresh):
    climbing, sprawling = build.GrowthFormFactory(code="climbing"), build.GrowthFormFactory(code="sprawling")
    other = build.SpeciesFactory(code="CEOR2", common_name="oriental bittersweet")
    parts = [{"growth_form": climbing}, {"growth_form": sprawling}, {"growth_form": climbing, "species": other}]
    survey(components=[{**part, "fertile": "unknown"} for part in parts])
    assert refresh(BEFORE).added == 3


def test_it_changes_nothing_the_second_time(refresh):
    survey()
    refresh(BEFORE)
    changes = Change.objects.count()
    assert refresh(BEFORE) == Refreshed(year=YEAR, unchanged=1)
    assert Change.objects.count() == changes


def test_it_asks_nothing_of_the_database_but_reads_when_all_is_fresh(refresh, django_assert_num_queries):
    for _ in range(3):
        survey()
    refresh(BEFORE)
    with django_assert_num_queries(7) as asked:
        refresh(BEFORE)
    assert {query["sql"].split()[0] for query in asked} == {"SELECT"}


def test_it_computes_only_the_row_that_is_stale(refresh):
    first, second = survey(), survey()
    refresh(BEFORE)
    close(job(first.patch), on=date(2027, 7, 1))
    assert refresh(BEFORE) == Refreshed(year=YEAR, changed=1, unchanged=1)
    assert Deadline.objects.get(patch=second.patch).version == 1


def test_it_ends_a_deadline_whose_component_a_newer_survey_no_longer_shows_and_keeps_the_row(deadline_on, refresh):
    seen = survey()
    notice = build.NoticeFactory(deadline=deadline_on(BEFORE))
    survey(seen.patch, form="ground cover", observed_on=date(2027, 7, 15))
    assert refresh(BEFORE) == Refreshed(year=YEAR, ended=1)
    assert Deadline.objects.get(state="ended", survey=seen, due_on=DUE).notices.get() == notice


def test_it_ends_a_deadline_whose_survey_was_voided_and_opens_it_when_it_is_surveyed_again(deadline_on):
    seen = survey()
    deadline_on(BEFORE)
    Survey.objects.update(voided_at=seen.recorded_at, void_reason="Wrong patch.")
    assert deadline_on(BEFORE).state == "ended"
    survey(seen.patch)
    assert deadline_on(BEFORE).state == "open"


def test_it_moves_the_due_day_with_the_species_range(deadline_on):
    survey()
    deadline_on(BEFORE)
    Species.objects.update(fruit_first_month=9, fruit_first_day=11)
    assert deadline_on(BEFORE).due_on == date(2027, 8, 28)


@pytest.mark.parametrize("first", [(None, None), (9, None), (9, 31), (13, 1), (0, 0)])
def test_it_counts_what_may_fruit_but_has_no_range_on_record(refresh, first):
    survey()
    Species.objects.update(fruit_first_month=first[0], fruit_first_day=first[1])
    assert refresh(BEFORE) == Refreshed(year=YEAR, no_range=1)


def test_it_reads_february_29_as_a_day_that_every_year_has(deadline_on):
    survey(observed_on=date(2026, 10, 12))
    Species.objects.update(fruit_first_month=2, fruit_first_day=29)
    assert deadline_on(date(2027, 1, 5)).due_on == date(2027, 2, 14)


def test_it_is_late_when_fruit_was_seen(deadline_on):
    seen = survey(fertile="yes", observed_on=date(2027, 9, 10))
    deadline = deadline_on(date(2027, 9, 11))
    assert (deadline.state, deadline.due_on, deadline.survey) == ("late", DUE, seen)


@pytest.mark.parametrize(
    ("at", "state"),
    [
        (datetime(2027, 8, 19, 3, 59, tzinfo=UTC), "open"),  # 23:59 on August 18 in New York
        (datetime(2027, 8, 19, 4, 0, tzinfo=UTC), "missed"),
    ],
)
def test_it_is_missed_by_the_date_of_the_site(at, state):
    survey(patch=build.PatchFactory(site__time_zone="America/New_York"))
    deadlines_refresh(year=YEAR, stamp=Stamp(by=None, at=at))
    assert Deadline.objects.get().state == state


@pytest.mark.parametrize(("on", "state"), [(DUE, "met"), (AFTER, "missed")])
def test_it_is_met_by_a_close_out_up_to_the_due_day(deadline_on, on, state):
    close(job(survey().patch), on=on)
    deadline = deadline_on(AFTER)
    assert (deadline.state, deadline.done_on) == (state, on)


def test_it_is_met_after_it_was_missed_when_the_close_out_comes_in_late(deadline_on):
    work = job(survey().patch)
    assert deadline_on(AFTER).state == "missed"
    close(work, on=DUE)
    assert deadline_on(AFTER).state == "met"


def test_it_is_not_met_by_a_method_that_leaves_the_fruit(deadline_on):
    close(job(survey().patch, removes_fruit="no"), on=DUE)
    assert deadline_on(AFTER).state == "missed"


def test_it_is_not_met_by_work_that_treated_something_else_on_the_patch(deadline_on):
    ground_cover = ({"species": "EUFO", "growth_form": 0, "infested_area_m2": 100.0},)
    close(job(survey().patch, treats=ground_cover), on=DUE)
    assert deadline_on(AFTER).state == "missed"


def test_it_is_met_by_work_whose_estimate_names_no_component(deadline_on):
    close(job(survey().patch, treats=None), on=DUE)
    assert deadline_on(AFTER).state == "met"


def test_it_is_not_met_by_work_of_the_year_before(deadline_on):
    close(job(survey(observed_on=date(2026, 10, 12)).patch), on=date(2026, 12, 30))
    assert deadline_on(BEFORE).state == "open"


def test_it_is_not_met_by_a_part_and_is_met_when_the_rest_is_done(deadline_on):
    work = job(survey().patch)
    close(work, on=date(2027, 6, 1), percent=60)
    assert deadline_on(BEFORE).state == "open"
    close(remainder(work, share_left=0.4), on=date(2027, 7, 1))
    assert deadline_on(BEFORE).done_on == date(2027, 7, 1)


def test_it_is_met_only_when_each_of_sibling_orders_is_done(deadline_on):
    first = job(survey().patch, share=0.5)
    second = job(first.prescription.patch, share=0.5, prescription=first.prescription)
    close(first, on=date(2027, 6, 1))
    assert deadline_on(BEFORE).state == "open"
    close(second, on=date(2027, 6, 20))
    assert deadline_on(BEFORE).done_on == date(2027, 6, 20)


def test_it_is_not_met_by_the_rest_of_one_order_while_its_sibling_is_not_done(deadline_on):
    first = job(survey().patch, share=0.5)
    second = job(first.prescription.patch, share=0.5, prescription=first.prescription)
    close(first, on=date(2027, 6, 1), percent=60)
    close(remainder(first, share_left=0.2), on=date(2027, 6, 10))
    assert deadline_on(BEFORE).state == "open"
    close(second, on=date(2027, 6, 20))
    assert deadline_on(BEFORE).done_on == date(2027, 6, 20)


def test_it_follows_an_amendment_both_ways(deadline_on):
    work = job(survey().patch)
    stated = close(work, on=date(2027, 7, 1))
    assert deadline_on(AFTER).state == "met"
    amended = close(work, on=date(2027, 7, 1), percent=80, amends=stated)
    assert deadline_on(AFTER).state == "missed"
    close(work, on=date(2027, 7, 1), amends=amended)
    assert deadline_on(AFTER).state == "met"


def test_it_records_each_change_for_the_crews_with_an_order_there(deadline_on):
    work = job(survey().patch)
    deadline = deadline_on(BEFORE)
    change = Change.objects.get(verb="deadline_add", entity_id=deadline.public_id)
    after = {"state": "open", "because": deadline.because, "done_on": None, "due_on": "2027-08-18"}
    assert (change.actor, change.after) == (None, after)
    assert [told.crew_id for told in change.audience.all()] == [work.crew.public_id]


def test_it_records_what_was_and_what_is(deadline_on):
    survey()
    deadline_on(BEFORE)
    deadline = deadline_on(AFTER)
    change = Change.objects.get(verb="deadline_change")
    assert (change.before, change.after) == ({"state": "open"}, {"state": "missed"})
    assert (deadline.version, change.entity_version) == (2, 2)


def test_it_finds_what_another_run_wrote_between_its_look_and_its_lock(refresh, monkeypatch):
    survey()
    look, looks = deadlines._compare, []

    def interrupted(year, stamp):
        found = look(year, stamp)
        looks.append(year)
        if len(looks) == 1:
            deadlines_refresh(year=year, stamp=stamp)
        return found

    monkeypatch.setattr(deadlines, "_compare", interrupted)
    assert refresh(BEFORE) == Refreshed(year=YEAR, unchanged=1)
    assert Deadline.objects.count() == 1
