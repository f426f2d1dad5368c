"""Estimates made again in memory: whether one still stands, and what another rate book would change."""

from datetime import date

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext

from estimating.spread import HIGH_Z
from orders import flow
from orders.common.models import Change
from orders.estimates.again import estimates_stale, rate_book_effect, rate_book_warnings
from orders.estimates.models import Estimate
from orders.estimates.selectors import estimates, rate_book_in_force
from orders.estimates.services import rate_book_put_in_force
from orders.planning.models import Prescription
from tests import build
from tests.estimates.books import changed_rows, draft, volunteer_book
from tests.flow.world import BEGIN, csv_rows, prescribed, world_build

pytestmark = pytest.mark.django_db
DAY = BEGIN.date()


@pytest.fixture
def world():
    return world_build()


def _made(world, method="hand-pull"):
    return next(row for row in flow.estimate_patches(on=DAY, stamp=world.stamp()) if row.method.code == method)


def _stale(estimate):
    return estimates_stale([estimate], DAY)[estimate.pk]


def test_it_finds_an_estimate_current_that_it_would_make_again(world):
    flow.estimate_patches(on=DAY, stamp=world.stamp())
    assert not any(estimates_stale(estimates(), DAY).values())


def test_it_says_that_a_newer_survey_counts(world):
    made = _made(world)
    build.SurveyFactory(patch=world.patch)
    assert _stale(made) == ["A newer survey of its patch counts now."]


def test_it_says_that_another_book_holds(world):
    made, book = _made(world), draft(world, changed_rows())
    rate_book_put_in_force(book=book, from_day=DAY, stamp=world.stamp())
    assert _stale(made) == ["Reference 2 holds now."]


def test_it_says_that_prices_changed_only_where_the_job_has_them(world):
    made = _made(world)
    build.PriceFactory(kind="product", code="GLY", from_day=date(2026, 1, 1), price_e4=90_000)
    assert _stale(made) == []
    build.StandardRateFactory(role__code="crew-member", from_day=date(2026, 11, 1), rate_e4=250_000)
    assert _stale(made) == ["Standard rates or prices have changed."]


def test_it_says_that_a_species_is_known_better(world):
    made = _made(world)
    species = made.survey.components.get().species
    species.pulled_stems_reroot = "yes"
    species.save()
    assert _stale(made) == ["A fact of its components or their species has changed."]


def test_it_looks_at_many_estimates_as_fast_as_at_one(world):
    flow.estimate_patches(on=DAY, stamp=world.stamp())
    counts = []
    for few in (1, 5):
        listed = list(estimates()[:few])
        with CaptureQueriesContext(connection) as asked:
            estimates_stale(listed, DAY)
        counts.append(len(asked))
    assert counts[0] == counts[1]


def test_it_gives_what_estimating_by_the_book_would_give(world):
    made = _made(world)
    book = draft(world, changed_rows())
    row = rate_book_effect(book, [made], DAY).rows[0]
    rate_book_put_in_force(book=book, from_day=DAY, stamp=world.stamp())
    again = _made(world)
    assert (row.old_hours, row.old_cents) == (made.hours_likely, made.total_cents)
    assert row.new_hours == pytest.approx(again.hours_likely)
    assert row.new_cents == again.total_cents
    assert (again.hours_likely > made.hours_likely, row.same_prices) == (True, True)


def test_it_stores_nothing(world):
    made, book = _made(world), draft(world, changed_rows())
    before = Estimate.objects.count(), Change.objects.count(), book.version
    rate_book_effect(book, [made], DAY)
    book.refresh_from_db()
    assert before == (Estimate.objects.count(), Change.objects.count(), book.version)


def test_it_changes_nothing_by_a_copy_of_the_book_in_force(world):
    made = flow.estimate_patches(on=DAY, stamp=world.stamp())
    effect = rate_book_effect(draft(world), made, DAY)
    assert len(effect.rows) == len(made)
    assert effect.total.new_hours == pytest.approx(effect.total.old_hours)
    assert effect.total.cents_change == 0
    assert effect.old_range.high == pytest.approx(effect.new_range.high)


def test_it_sums_by_method_and_in_all(world):
    made = flow.estimate_patches(on=DAY, stamp=world.stamp())
    effect = rate_book_effect(draft(world, changed_rows()), made, DAY)
    assert effect.total.new_cents == sum(part.new_cents for part in effect.by_method)
    assert effect.total.old_cents == sum(row.total_cents for row in made)
    changed = [part.name for part in effect.by_method if part.cents_change]
    assert changed == ["hand pulling with roots"]


def test_it_gives_the_range_of_the_total(world):
    made = _made(world)
    effect = rate_book_effect(draft(world), [made], DAY)
    assert effect.old_range.low < effect.old_range.likely < effect.old_range.high
    log_sd = (made.own_log_sd**2 + made.shared_log_sd**2) ** 0.5
    assert effect.old_range.high == pytest.approx(made.hours_likely * 2.718281828 ** (HIGH_Z * log_sd), rel=0.01)


def test_it_counts_only_the_share_that_is_left(world):
    made = _made(world)
    row = rate_book_effect(draft(world), [made], DAY, {made.pk: 0.25}).rows[0]
    assert row.old_hours == pytest.approx(made.hours_likely / 4)
    assert row.old_cents == pytest.approx(made.total_cents / 4, abs=0.5)


def test_it_leaves_out_what_the_book_has_no_rates_for_and_says_so(world):
    made = flow.estimate_patches(on=DAY, stamp=world.stamp())
    rows = [row for row in csv_rows("rate_book.csv") if row["method"] != "hand-pull"]
    effect = rate_book_effect(draft(world, rows), made, DAY)
    assert [row.new_hours for row in effect.rows if row.estimate.method.code == "hand-pull"] == [None]
    assert (effect.total.left_out, effect.total.rows) == (1, len(made))


def test_it_says_where_the_change_is_in_part_one_of_prices(world):
    made = _made(world)
    build.PriceFactory(kind="bag", code="bag", unit="each", from_day=date(2026, 11, 1), price_e4=19_000)
    effect = rate_book_effect(draft(world), [made], DAY)
    assert effect.total.new_hours == pytest.approx(effect.total.old_hours)
    assert effect.other_prices == 1


def test_it_touches_estimates_for_its_own_kind_of_crew_alone(world):
    _made(world)
    book = volunteer_book(world)
    made = flow.estimate_patches(on=DAY, crew_kind="volunteers", stamp=world.stamp())
    effect = rate_book_effect(book, estimates(), DAY)
    assert {row.estimate.pk for row in effect.rows} == {row.pk for row in made}


def test_it_finds_no_effect_where_nothing_is_open(world):
    effect = flow.rate_book_effect_on_open(book=draft(world), on=DAY)
    assert (effect.rows, effect.total.rows, effect.new_range.high) == ((), 0, 0)


def test_it_finds_the_open_prescriptions(world):
    one = prescribed(world)
    effect = flow.rate_book_effect_on_open(book=draft(world, changed_rows()), on=DAY)
    assert {row.estimate.pk for row in effect.rows} == set(Prescription.objects.values_list("estimate", flat=True))
    Prescription.objects.filter(pk=one.pk).update(state="ordered")
    left = flow.rate_book_effect_on_open(book=draft(world, changed_rows()), on=DAY)
    assert one.estimate_id not in {row.estimate.pk for row in left.rows}


def test_it_asks_as_often_for_much_open_work_as_for_little(world):
    book, counts = draft(world), []
    made = flow.estimate_patches(on=DAY, stamp=world.stamp())
    for few in (made[:1], made):
        with CaptureQueriesContext(connection) as asked:
            rate_book_effect(book, few, DAY)
        counts.append(len(asked))
    assert counts[0] == counts[1]


def test_it_warns_where_a_book_goes_against_what_is_published(world):
    rows = changed_rows(0.001, method="dig")
    assert len(rate_book_warnings(draft(world, rows))) > len(rate_book_warnings(rate_book_in_force()))
