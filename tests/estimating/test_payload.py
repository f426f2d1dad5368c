import dataclasses
import json
from datetime import date

import numpy as np
import pytest

from estimating.columns import Known
from estimating.errors import InvalidFact, UnknownCode
from estimating.explain import explain
from estimating.label_guard import check_applications
from estimating.labels import WeatherLimit
from estimating.payload import KINDS, from_payload, to_payload
from estimating.schedule import schedule
from estimating.timing import CalendarDay, SeasonCalendar
from tests.estimating import make
from tests.estimating.labelled import POLICY, label, use
from tests.estimating.planned import random_season
from tests.estimating.test_estimate import LEAF, with_mix


def through_json(value):
    return from_payload(json.loads(json.dumps(to_payload(value), allow_nan=False)))


def result():
    facts = make.patches(2, walk_in_minutes=[np.nan, 300]), make.components([0, 1])
    jobs = with_mix(facts, "dormant-foliar")
    return make.estimated(*facts, rate_book=make.book(), jobs=jobs, mixes=[LEAF])


def test_it_brings_an_estimate_back_to_the_last_digit():
    made = result()
    again = through_json(made)
    assert json.dumps(to_payload(again)) == json.dumps(to_payload(made))
    np.testing.assert_array_equal(again.hours.mean, made.hours.mean)
    np.testing.assert_array_equal(again.money.total_cents, made.money.total_cents)


def test_it_explains_a_frozen_estimate_as_it_explained_the_fresh_one():
    made = result()
    assert [explain(through_json(made), job) for job in (0, 1)] == [explain(made, job) for job in (0, 1)]


def test_it_estimates_again_from_frozen_inputs():
    made = result()
    frozen = through_json(made.inputs)
    again = make.estimated(
        frozen.patches, frozen.components, rate_book=frozen.rate_book, jobs=frozen.jobs, mixes=frozen.mixes
    )
    np.testing.assert_array_equal(again.money.total_cents, made.money.total_cents)


@pytest.mark.parametrize(
    "value",
    [
        make.methods(),
        make.book(),
        make.prices(),
        make.book().crew_day(make.PEOPLE),
        label(weather=[WeatherLimit(measure="wind_m_s", high=4.5, reference="invented")]),
        use(desirable_tree_roots=Known.YES),
        POLICY,
        random_season(1, 5),
        schedule(random_season(1, 5)),
        SeasonCalendar(leaf_off=CalendarDay(month=11, day=15, spread_days=5)),
        *check_applications([use(state="IN", product_l=9)], [], {"blue label": label()}, POLICY),
    ],
    ids=lambda value: type(value).__name__,
)
def test_it_brings_every_kind_of_value_back(value):
    assert through_json(value) == value


def test_it_says_its_version():
    assert to_payload(make.prices())["version"] == 1


@pytest.mark.parametrize("version", [0, 2, None, "1"])
def test_it_refuses_a_version_it_does_not_know(version):
    with pytest.raises(InvalidFact, match="version"):
        from_payload({"version": version, "content": None})


@pytest.mark.parametrize("content", [{"$kind": "Popen", "fields": {}}, {"$pickle": "x"}])
def test_it_builds_nothing_but_its_own_kinds(content):
    with pytest.raises(UnknownCode, match="unknown"):
        from_payload({"version": 1, "content": content})


def test_it_validates_again_what_it_reads():
    payload = to_payload(make.patches())
    payload["content"]["fields"]["slope_deg"]["values"] = [90]
    with pytest.raises(InvalidFact, match="at most 75"):
        from_payload(payload)


@pytest.mark.parametrize("value", [object(), {1: "a"}, {"$odd": 1}, {"day": date}])
def test_it_refuses_what_has_no_place_in_a_payload(value):
    with pytest.raises((UnknownCode, InvalidFact)):
        to_payload(value)


def test_it_names_each_kind_once():
    assert all(name == kind.__name__ for name, kind in KINDS.items())


# What payloads of version 1 that were frozen earlier do not have.
LATER = {
    "PatchFacts": {"ground"},
    "ComponentFacts": {"reroots", "cut_height_m"},
    "Jobs": {"search_area_m2"},
    "CrewDay": {"pace", "new_workers", "returning_workers", "day_in_heat", "air_temperature_f", "workload"},
    "Prices": {"product_source", "fuel_e4_per_l", "blade_e4", "contract_e4_per_ha", "contract_minimum_e4"},
    "Materials": {"fuel_l", "blades"},
    "Money": {"contingency_cents", "contract_cents"},
    "PaidTime": {"people"},
    "EstimateResult": {"pace"},
}


def frozen_earlier(value):
    """A payload as it was frozen before the fields of LATER were kept."""
    if isinstance(value, list):
        return [frozen_earlier(entry) for entry in value]
    if not isinstance(value, dict):
        return value
    gone = LATER.get(value.get("$kind", ""), set())
    return {
        name: frozen_earlier(
            {key: entry for key, entry in part.items() if key not in gone} if name == "fields" else part
        )
        for name, part in value.items()
    }


def test_it_still_reads_estimates_that_were_frozen_earlier():
    made = result()
    again = from_payload(frozen_earlier(json.loads(json.dumps(to_payload(made)))))
    np.testing.assert_array_equal(again.money.total_cents, made.money.total_cents)
    assert again.inputs.patches.ground.tolist() == [3, 3]
    assert again.inputs.crew_day == dataclasses.replace(made.inputs.crew_day, pace={})


def test_it_explains_an_estimate_that_was_frozen_earlier_by_todays_formulas():
    made = result()
    again = from_payload(frozen_earlier(json.loads(json.dumps(to_payload(made)))))
    assert [explain(again, job) for job in (0, 1)] == [explain(made, job) for job in (0, 1)]


def test_it_leaves_out_only_what_exists():
    for kind, names in LATER.items():
        assert names <= {field.name for field in dataclasses.fields(KINDS[kind])}
