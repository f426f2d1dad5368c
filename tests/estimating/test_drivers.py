import math

import numpy as np
import pytest

from estimating.drivers import total_drivers
from estimating.explain import explain
from estimating.inputs import pair_all
from estimating.spread import draws_range, group_moments, season_draws, shared_and_own_variance
from tests.estimating import make
from tests.estimating.test_estimate import LEAF, STEM, with_mix

CLASS = {"cover_low": [0.25], "cover_likely": [0.375], "cover_high": [0.5], "cover_from_class": [True]}


def opened(form="ground cover", method="hand-pull", patch=None, **component):
    facts = make.patches(**(patch or {})), make.components(form=form, **component)
    return make.estimated(*facts, [method], rate_book=make.book())


def drivers(made, job=0):
    return {driver["name"]: driver for driver in explain(made, job)["range"]["drivers"]}


def everything():
    facts = make.patches(3, area_mapped=[True, False, True], repeat_year=[1, 2, 4])
    forms = ["climbing", "ground cover", "shrub", "sprawling"]
    stems = [[9, 3, 1], [np.nan] * 3, [np.nan, 4, 2], [np.nan] * 3]
    parts = make.components([0, 0, 1, 2], form=forms, infested_area_m2=2000, stems=stems)
    return make.estimated(facts, parts, make.methods().codes, rate_book=make.book())


def test_it_splits_each_orders_variance_without_a_rest():
    made = everything()
    for job in np.flatnonzero(made.ok).tolist():
        found = explain(made, job)["range"]["drivers"]
        total = made.shared_log_sd[job] ** 2 + made.own_log_sd[job] ** 2 + made.survey_log_sd[job] ** 2
        assert math.fsum(driver["log_sd"] ** 2 for driver in found) == pytest.approx(total, rel=1e-12)
        assert math.fsum(driver["share_of_variance"] for driver in found) == pytest.approx(1)


@pytest.mark.parametrize("mix", [LEAF, STEM])
def test_it_splits_the_variance_of_sprayed_jobs_too(mix):
    method, form = ("dormant-foliar", "ground cover") if mix is LEAF else ("cut-stem", "climbing")
    facts = make.patches(), make.components(form=form, infested_area_m2=2000)
    made = make.estimated(*facts, rate_book=make.book(), jobs=with_mix(facts, method), mixes=[mix])
    total = made.shared_log_sd[0] ** 2 + made.order_log_sd()[0] ** 2
    assert math.fsum(driver["log_sd"] ** 2 for driver in drivers(made).values()) == pytest.approx(total, rel=1e-12)


def test_it_puts_the_widest_first():
    found = [driver["share_of_variance"] for driver in explain(opened(**CLASS), 0)["range"]["drivers"]]
    assert found == sorted(found, reverse=True)


def test_it_tells_what_the_class_of_the_cover_does_alone():
    made = opened(**CLASS)
    cover = drivers(made)["cover"]
    low, high = (made.hours.likely[0] * math.exp(sign * 1.2816 * cover["log_sd"]) for sign in (-1, 1))
    assert (cover["low_hours"], cover["high_hours"]) == pytest.approx((low, high), rel=1e-4)
    assert cover["text"] == (f"Cover came as a class, 25–50%: that alone moves the hours from {low:.0f} to {high:.0f}.")


def test_it_moves_cover_by_the_b_of_the_steps_it_moves():
    # Pulling goes by cover to the 0.5 in the small book, and search not at all.
    made = make.estimated(make.patches(), make.components())
    cover = drivers(made)["cover"]["log_sd"]
    assert cover == pytest.approx(0.1 * 0.5 * 50 / 52.5)


@pytest.mark.parametrize(
    ("changed", "name", "start"),
    [
        ({"patch": {"area_mapped": [False]}}, "infested area", "The area was judged by eye"),
        ({"patch": {"repeat_year": [3]}}, "cover", "From year 3 on a usual cover of 3%"),
        ({"form": "shrub", "method": "cut"}, "stem count", "Stems were not counted"),
        ({"form": "shrub", "method": "cut", "stems": [[5, 5, 5]]}, "stem count", "Stems were counted"),
        ({"cover_low": [0.1], "cover_high": [0.5]}, "cover", "Cover was judged at 10–50%"),
    ],
)
def test_it_says_what_each_error_rests_on(changed, name, start):
    assert drivers(opened(**changed))[name]["text"].startswith(start)


def test_it_leaves_out_what_moves_nothing():
    assert "stem count" not in drivers(opened())


def season(count=40):
    facts = make.patches(count), make.components(range(count), form="shrub", cover=np.linspace(0.1, 0.9, count))
    return make.estimated(
        *facts, ["cut", "hand-pull"], rate_book=make.book(), jobs=pair_all(*facts, ["cut", "hand-pull"])
    )


def drivers_of(made, names=None):
    figures = made.hours.likely, made.order_log_sd(), made.shared_log_sd, made.jobs.method_index
    return total_drivers(*figures, codes=made.jobs.methods, names=names)


def test_it_parts_a_seasons_variance_into_rates_and_the_orders_own():
    made = season()
    found = drivers_of(made, {"cut": "cutting"})
    assert {driver.name for driver in found} == {"rates: cut", "rates: hand-pull", "orders' own"}
    assert math.fsum(driver.share_of_variance for driver in found) == pytest.approx(1)
    assert found[0].text.startswith("The rates of hand-pull")
    assert all(driver.low_hours < made.season_hours(np.arange(80)).mean < driver.high_hours for driver in found)


def test_it_agrees_with_draws_in_which_one_method_alone_is_wrong():
    made = season()
    (rates,) = (driver for driver in drivers_of(made) if driver.name == "rates: hand-pull")
    pulled = made.jobs.method_index == 1
    alone = np.where(pulled, made.shared_log_sd, 0.0)
    means = made.hours.likely * np.exp((made.order_log_sd() ** 2 + made.shared_log_sd**2 - alone**2) / 2)
    totals = season_draws(means, np.zeros(80), alone, made.jobs.method_index, draws=200_000, seed=4)
    simulated = draws_range(totals)
    assert rates.low_hours == pytest.approx(simulated.low.item(), rel=0.01)
    assert rates.high_hours == pytest.approx(simulated.high.item(), rel=0.01)


def test_it_has_no_drivers_without_orders():
    none = np.array([])
    assert total_drivers(none, none, none, np.array([], int), codes=()) == ()


def test_it_adds_both_parts_of_the_variance_to_the_groups():
    random = np.random.default_rng(2)
    facts = random.lognormal(2, 0.7, 30), random.uniform(0.1, 0.5, 30), random.uniform(0.1, 0.5, 30)
    likely, own, shared = facts
    parts = shared_and_own_variance(*facts)
    assert sum(parts) == pytest.approx(group_moments(*facts)[1])
    means = likely * np.exp((own**2 + shared**2) / 2)
    exact = means @ np.expm1(np.outer(shared, shared)) @ means
    assert parts[0] == pytest.approx(exact)
