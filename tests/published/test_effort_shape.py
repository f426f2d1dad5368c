"""What is published about the shape of effort, against the reference rate book. Rates are tunable; the shape is not."""

import pytest

from estimating import evidence
from tests.estimating import make

STEM_METHODS = ("cut", "cut-stem", "girdle", "hack-squirt", "basal-bark")
# At the midpoints of the classes 1-5% and 75-100%.
SCATTERED, CLOSED = 0.03, 0.875
HECTARE_ACRES = 2.47105


def hours(form, method, cover, **patch):
    made = make.estimated(
        make.patches(**patch), make.components(form=form, cover=cover), (method,), rate_book=make.book()
    )
    return float(made.time.field_person_hours[0])


def cost(form, method, cover=CLOSED):
    patch, component = make.patches(drive_minutes=[20]), make.components(form=form, cover=cover)
    return int(make.estimated(patch, component, (method,), rate_book=make.book()).money.total_cents[0])


@pytest.mark.parametrize(
    ("form", "method"),
    [(form, "hand-pull") for form in ("ground cover", "climbing", "sprawling", "shrub", "herb")]
    + [(form, "dig") for form in ("ground cover", "climbing", "sprawling", "shrub", "herb")]
    + [("shrub", method) for method in STEM_METHODS]
    + [("ground cover", "spot-foliar"), ("herb", "cut")],
)
def test_it_costs_3_to_25_times_as_much_when_closed_as_when_scattered(form, method):
    # Marais & Wannenburgh 2008, abstract. Soft: midpoints are our choice, the figure is of costs along rivers.
    assert 3 <= hours(form, method, CLOSED) / hours(form, method, SCATTERED) <= 25


@pytest.mark.parametrize("method", ["hand-pull", "dig", "cut", "cut-stem", "girdle", "spot-foliar"])
def test_it_takes_longer_the_denser_it_grows(method):
    # Marais, van Wilgen & Stevens 2004, S. Afr. J. Sci. 100:97-103: costs rise sharply with density.
    rising = [hours("shrub", method, cover) for cover in (0.02, 0.1, 0.3, 0.6, 1.0)]
    assert rising == sorted(set(rising))


def test_it_pulls_by_density_and_mows_without_it():
    # SARE GNE10-004, https://projects.sare.org/project-reports/gne10-004: hand tools proportional, wheeled tools not.
    steps = {step.name: step for step in make.book().method_steps("hand-pull")}
    assert (steps["pull with roots"].cover_exponent >= 0.9).all()
    assert hours("shrub", "mow-mulch", 0.1) == hours("shrub", "mow-mulch", 0.9)


def test_it_orders_the_methods_as_the_acacia_clearing_did():
    # S. Afr. J. Plant Soil 6(1):39-45 (1989): felling cheapest, ringbarking second dearest, digging dearest.
    costs = [cost("shrub", method) for method in ("cut", "cut-stem", "girdle", "dig")]
    assert costs == sorted(costs)


@pytest.mark.parametrize("cover", [0.5, CLOSED])
def test_it_spreads_the_methods_as_far_apart_as_the_acacia_clearing_did(cover):
    # Same paper, derived: dearest over cheapest 11.0 (moderate), 4.6 (average thicket), 17.3 (densest).
    costs = [cost("shrub", method, cover) for method in ("cut", "cut-stem", "girdle", "dig")]
    assert 4.6 <= max(costs) / min(costs) <= 17.3


def test_it_about_doubles_the_cost_of_cutting_by_treating_the_stumps():
    # Same paper; tolerance 30% on the factor 2.
    assert cost("shrub", "cut-stem") / cost("shrub", "cut") == pytest.approx(2, rel=0.30)


def test_it_costs_6_to_12_times_as_much_to_treat_stumps_as_to_spray_leaves():
    # Agency cost ladder, "Efficient Control of Bush Honeysuckle": cut and treat 1,200, foliar 100-200 $/ac in-house.
    assert 6 <= cost("shrub", "cut-stem") / cost("shrub", "spot-foliar") <= 12


@pytest.mark.parametrize("form", ["climbing", "sprawling"])
def test_it_pulls_dense_vines_within_the_band_of_practice(form):
    # 100-750 person-hours an acre: Brock 2017 (lower) and "Bittersweet battles", Northern Woodlands, x 1.3 (upper).
    assert 100 <= hours(form, "hand-pull", CLOSED) / HECTARE_ACRES <= 750


@pytest.mark.parametrize("method", ["hand-pull", "cut-stem", "mow-mulch", "spot-foliar"])
def test_it_takes_a_fifth_to_all_of_the_first_year_in_the_second(method):
    # Bound of sanity from "drops markedly after the first year" (doi:10.5061/dryad.rbnzs7hpb).
    second = hours("shrub", method, 0.5, repeat_year=[2]) / hours("shrub", method, 0.5)
    assert 0.2 <= second <= 1.0


@pytest.mark.parametrize(
    ("form", "method"),
    [(form, method.code) for method in make.methods().methods for form in sorted(method.growth_forms)],
)
def test_it_forgets_the_first_cover_from_the_third_year_on(form, method):
    # Dryad doi:10.5061/dryad.rbnzs7hpb (2025): related to the first invasion level in years 1 and 2 only.
    sparse, dense = (hours(form, method, cover, repeat_year=[3]) for cover in (0.05, 0.95))
    assert sparse == dense


def test_it_searches_the_whole_patch_but_treats_the_infested_part():
    # Panetta & Timmins 2004, Plant Prot. Q. 19(1), https://weedinfo.com.au/ppq_abs19/ppq_19-1-05.html
    drivers = {step.name: step.driver for step in make.book().method_steps("hand-pull")}
    assert (drivers["search"], drivers["pull with roots"]) == ("gross_area_m2", "infested_area_m2")


def test_it_finds_nothing_to_warn_of_in_the_reference_book():
    assert evidence.book_warnings(make.book(), make.methods()) == ()


@pytest.mark.parametrize(
    ("published", "low", "high"),
    [
        (evidence.DENSITY, 3, 25),  # Marais & Wannenburgh 2008: "between 3 and 25 times cheaper"
        (evidence.BETWEEN, 4.6, 17.3),  # Acacia clearing 1989, derived from its costs by density
        (evidence.STUMPS, 2 * 0.7, 2 * 1.3),  # the same: herbicide on the stump about doubles the cost; 30% tolerance
        (evidence.TO_FOLIAR, 1200 / 200, 1200 / 100),  # agency cost ladder, in-house
        (evidence.SECOND, 0.2, 1.0),  # bound of sanity
        (evidence.DENSE_VINES, 100, 750),  # Brock 2017, and "Bittersweet battles" x 1.3 rounded down
    ],
)
def test_it_warns_by_the_ranges_as_published(published, low, high):
    assert (published.low, published.high) == pytest.approx((low, high))
