"""Windows of a season on a surveyed patch: calendar, closures, the label's intervals, and the seed deadline."""

from datetime import date

import pytest

from estimating.seeds import SeedDeadline
from orders.common.errors import Invalid
from orders.estimates.models import Method
from orders.planning.windows import Days, SeasonWindows, method_codes_check
from tests import build

pytestmark = pytest.mark.django_db
RECORDS = {"ephemerals": (3, 15), "leaf_out": (4, 12), "leaf_off": (11, 14)}


@pytest.fixture
def season():
    return build.SeasonFactory(first_day=date(2027, 1, 4), last_day=date(2027, 12, 17))


@pytest.fixture
def site():
    """Three years of records, all alike: the spread is 0."""
    site = build.SiteFactory()
    build.calendar_records(site, **RECORDS)
    return site


@pytest.fixture
def survey(site):
    return build.SurveyFactory(patch__site=site, spring_ephemerals="yes")


@pytest.fixture(autouse=True)
def methods():
    for code, rule in (("dormant-foliar", "dormant season"), ("cut", "any time")):
        build.MethodFactory(code=code, facts=FACTS | {"code": code, "name": code, "season_rule": rule})


FACTS = {
    "growth_forms": "ground cover|climbing|sprawling|shrub|herb",
    "uses_herbicide": "no",
    "needs_license": "no",
    "treats_stems": "no",
    "removes_fruit": "yes",
    "kills_roots": "no",
    "lowest_temp_c": "4.4",
    "highest_slope_deg": "40",
    "wet_ground_allowed": "yes",
    "smallest_use": "any",
    "needs_follow_up_days": "60",
    "summary": "invented",
    "source": "invented",
}


def days(windows: SeasonWindows, survey, method) -> Days:
    found = windows.days(survey, method)
    assert found is not None
    return found


def first_from(windows: SeasonWindows, survey, method, day) -> Days:
    found = windows.first_from(survey, method, day)
    assert found is not None
    return found


def seed_due(windows: SeasonWindows, survey) -> SeedDeadline:
    found = windows.seed_due(survey)
    assert found is not None
    return found


def spans(found):
    return [(days.first, days.last) for days in found]


def test_it_opens_a_dormant_method_at_both_ends_of_a_calendar_year(season, survey):
    found = SeasonWindows(season).all_days(survey, "dormant-foliar")
    assert spans(found) == [(date(2027, 1, 4), date(2027, 3, 8)), (date(2027, 11, 21), date(2027, 12, 17))]
    assert "spring ephemerals emerge, less 7 days" in found[0].because


def test_it_takes_the_longest_for_the_work(season, survey):
    assert days(SeasonWindows(season), survey, "dormant-foliar").first == date(2027, 1, 4)


def test_it_finds_what_is_left_of_the_first_window_from_a_day_on(season, survey):
    windows = SeasonWindows(season)
    assert first_from(windows, survey, "dormant-foliar", date(2027, 2, 1)).first == date(2027, 2, 1)
    assert first_from(windows, survey, "dormant-foliar", date(2027, 3, 9)).first == date(2027, 11, 21)
    assert windows.first_from(survey, "dormant-foliar", date(2027, 12, 18)) is None


def test_it_does_not_rest_on_records_of_too_few_years(season, survey):
    survey.patch.site.calendar.filter(year__lt=2024).delete()
    windows = SeasonWindows(season)
    assert windows.all_days(survey, "dormant-foliar") == ()
    assert "only 2 years on record, 3 are needed" in " ".join(windows.notes(survey, "dormant-foliar"))


def test_it_leaves_out_the_days_of_a_closure_and_says_why(season, site, survey):
    build.ClosureFactory(
        site=site, first_day=date(2027, 2, 1), last_day=date(2027, 2, 10), kind="burn", why="North unit"
    )
    before, after, _ = SeasonWindows(season).all_days(survey, "dormant-foliar")
    assert (before.last, after.first) == (date(2027, 1, 31), date(2027, 2, 11))
    assert "the site closes for a prescribed burn: North unit" in before.because


def test_it_takes_the_work_over_a_closure_and_tells_it(season, site, survey):
    closed = {"first_day": date(2027, 3, 1), "last_day": date(2027, 3, 7)}
    build.ClosureFactory(site=site, **closed, kind="burn", why="North unit")
    found = days(SeasonWindows(season), survey, "cut")
    assert (found.first, found.last) == (date(2027, 1, 4), date(2027, 12, 17))
    assert "Not from 2027-03-01 to 2027-03-07: the site closes for a prescribed burn: North unit." in found.because


def test_it_counts_the_open_days_of_a_window(season, site, survey):
    build.ClosureFactory(site=site, first_day=date(2027, 1, 1), last_day=date(2027, 2, 28))
    found = days(SeasonWindows(season), survey, "dormant-foliar")
    assert found.first == date(2027, 11, 21)  # 27 days, against 8 in March


def test_it_repeats_a_yearly_closure_that_crosses_the_new_year(season, site, survey):
    yearly = {"kind": "hunting", "repeats_yearly": True, "why": "Deer"}
    build.ClosureFactory(site=site, first_day=date(2024, 12, 1), last_day=date(2025, 1, 20), **yearly)
    first, last = SeasonWindows(season).all_days(survey, "dormant-foliar")
    assert (first.first, last.last) == (date(2027, 1, 21), date(2027, 11, 30))


def test_it_keeps_out_only_the_methods_that_a_closure_names(season, site, survey):
    build.ClosureFactory(site=site, first_day=date(2027, 1, 1), last_day=date(2027, 3, 31), methods=["cut"])
    windows = SeasonWindows(season)
    assert first_from(windows, survey, "cut", date(2027, 1, 4)).first == date(2027, 4, 1)
    assert first_from(windows, survey, "dormant-foliar", date(2027, 1, 4)).first == date(2027, 1, 4)


def test_it_waits_for_the_labels_interval_after_the_last_use(monkeypatch, season, survey):
    product = build.ProductFactory(code="GLY")
    product.label_uses.filter(method="dormant-foliar").update(least_days_between=60)
    mix = build.MixFactory(products=[(product, 2.0, "herbicide")])
    Method.objects.filter(code="dormant-foliar").update(default_mix=mix)
    used = {(survey.patch_id, "GLY"): [date(2026, 12, 10)]}
    monkeypatch.setattr("orders.planning.windows._USES_READ", [lambda: used])
    first = SeasonWindows(season).all_days(survey, "dormant-foliar")[0]
    assert first.first == date(2027, 2, 8)
    assert "interval of 60 days after the use of" in first.because


def vine(survey, **facts):
    form = build.GrowthFormFactory(code="climbing")
    return build.SurveyComponentFactory(survey=survey, growth_form=form, **{"fertile": "yes", **facts})


def test_it_ends_work_that_removes_fruit_at_the_seed_deadline_and_other_windows_not(season, survey):
    vine(survey)
    windows = SeasonWindows(season)
    assert seed_due(windows, survey).due == date(2027, 8, 18)  # September 1 less 14 days
    assert days(windows, survey, "cut").last == date(2027, 8, 18)
    assert windows.all_days(survey, "cut")[-1].last == date(2027, 12, 17)


def test_it_has_no_deadline_where_nothing_can_fruit_or_nobody_told_when(season, survey):
    windows = SeasonWindows(season)
    assert windows.seed_due(survey) is None
    vine(survey, species=build.SpeciesFactory(code="VINE", fruit_first_month=None, fruit_first_day=None))
    assert windows.seed_due(survey) is None


def test_it_takes_the_species_that_fruits_first(season, survey):
    vine(survey)
    vine(survey, species=build.SpeciesFactory(code="EARLY", fruit_first_month=6))
    windows = SeasonWindows(season)
    assert seed_due(windows, survey).due == date(2027, 5, 18)
    assert [species.code for species, _ in windows.seed_dues(survey)] == ["EUFO", "EARLY"]


def seen(survey, on, condition, **species):
    later = build.SurveyFactory(patch=survey.patch, observed_on=on, components=[])
    part = vine(later, reproductive_condition=condition, fertile="unknown", species=build.SpeciesFactory(**species))
    vine(survey, species=part.species, fertile="unknown")


def test_it_brings_the_deadline_forward_where_flowers_were_seen(season, survey):
    seen(survey, date(2027, 6, 1), "flowers", code="VINE", flower_to_fruit_days=60)
    due = seed_due(SeasonWindows(season), survey)
    assert (due.due, due.late) == (date(2027, 7, 17), False)


def test_it_is_late_where_fruit_was_seen_and_never_later(season, survey):
    seen(survey, date(2027, 9, 20), "fruit", code="VINE")
    due = seed_due(SeasonWindows(season), survey)
    assert (due.due, due.late, due.bag_fruit, due.seed_prevented) == (date(2027, 8, 18), True, True, False)


def test_it_reads_the_program_once_whatever_the_patches(season, site, survey, django_assert_max_num_queries):
    surveys = [survey, *(build.SurveyFactory(patch__site=site) for _ in range(4))]
    parts = [list(row.components.select_related("species", "growth_form")) for row in surveys]
    for row, found in zip(surveys, parts, strict=True):
        row._prefetched_objects_cache = {"components": found}
    windows = SeasonWindows(season)
    with django_assert_max_num_queries(12):
        for row in surveys:
            for method in ("dormant-foliar", "cut"):
                windows.days(row, method)
                windows.notes(row, method)


def test_it_counts_both_ends():
    assert Days(date(2027, 1, 1), date(2027, 1, 1), "").count == 1


def test_it_refuses_a_closure_of_methods_that_there_are_not():
    method_codes_check(["cut"])
    with pytest.raises(Invalid) as refusal:
        method_codes_check(["cut", "burn"])
    assert [(error.field, error.message) for error in refusal.value.errors] == [("methods", "burn")]


def test_it_goes_on_after_a_closure_from_a_day_on(season, site, survey):
    build.ClosureFactory(site=site, first_day=date(2027, 6, 7), last_day=date(2027, 6, 11), why="Line work")
    found = first_from(SeasonWindows(season), survey, "cut", date(2027, 5, 4))
    assert (found.first, found.last) == (date(2027, 5, 4), date(2027, 12, 17))
    assert "Not from 2027-06-07 to 2027-06-11" in found.because
    assert first_from(SeasonWindows(season), survey, "cut", date(2027, 6, 9)).first == date(2027, 6, 12)
