"""Every figure of an explanation, done again with plain arithmetic from what the explanation itself shows."""

import json
import math
from fractions import Fraction

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from estimating.explain import explain
from tests.estimating import make
from tests.estimating.test_estimate import LEAF, STEM, with_mix

FORMS = ("ground cover", "climbing", "sprawling", "shrub", "herb")
CODES = make.methods().codes
CATEGORIES = ("labor", "material", "equipment", "mileage")
# 10 and 90% points of the standard normal: from a printed table.
Z = {0.8: 0.8416212, 0.9: 1.2815516}

PRICES = make.prices(
    role_rate_e4_per_hour={"crew lead": 361_234, "crew member": 280_001, "certified applicator": 400_007},
    equipment_e4_per_hour={"mow-mulch": 853_333},
    product_source={"blue label": "stock: lot of May"},
    fuel_e4_per_l=11_111,
    blade_e4=123_457,
    contract_e4_per_ha={"cut": 41_234_567, "mow-mulch": 20_000_001},
    contract_minimum_e4={"cut": 12_000_050},
)


def near(value):
    return pytest.approx(value, rel=1e-9, abs=1e-9)


def recompute_steps(shown):
    for step in shown["steps"]:
        for part in step["parts"]:
            hours = part["quantity"] * part["hours_per_unit"] * part.get("cover_term", 1.0)
            hours *= math.prod(factor["multiplier"] for factor in part["factors"])
            assert part["hours"] == near(hours)
            if part.get("cover_exponent"):
                assert part["cover_term"] == near(part["cover"] ** part["cover_exponent"])
        assert step["hours"] == near(math.fsum(part["hours"] for part in step["parts"]))
    return math.fsum(step["hours"] for step in shown["steps"])


def recompute_field_hours(shown, standard_hours):
    pace = shown["pace"]
    assert pace["standard_person_hours"] == near(standard_hours)
    people = shown["crew_day"]["people"]
    by_role = sum(count * pace["pace_by_role"][role] for role, count in people.items()) / pace["crew_size"]
    assert pace["pace"] == near(by_role * pace["heat_share"])
    n, room = pace["crew_sent"], pace["elbow_room_m2"]
    assert n == min(pace["crew_size"], pace["crew_most"] or math.inf)
    crowding = 1 + (n - 1) * room / (room + pace["worked_area_m2"]) if room else 1.0
    assert pace["crowding"] == near(crowding)
    assert pace["effective_people"] == near(n * pace["pace"] / crowding)
    assert pace["field_person_hours"] == near(standard_hours * n / pace["effective_people"])
    return standard_hours * crowding / pace["pace"]


def recompute_crew_day(shown, field_hours):
    day = shown["crew_day"]
    taken = ("drive_hours", "walk_in_hours", "briefing_hours", "setup_hours", "cleanup_hours", "break_hours")
    productive = (day["shift_hours"] - sum(day[name] for name in taken)) * day["work_minutes_per_hour"] / 60
    assert day["productive_hours"] == near(productive)
    job_basis = day["allowance_basis"] == "job"
    stretch = 1 + day["allowance"] if job_basis else 1 / (1 - day["allowance"])
    assert day["crew_days"] == near(field_hours * stretch / (day["crew_sent"] * productive))
    assert day["crew_hours"] == near(day["crew_days"] * day["shift_hours"])
    assert day["paid_person_hours"] == near(day["crew_hours"] * day["crew_sent"])


def recompute_quantities(shown, field_hours):
    """Where the whole quantities of the lines come from; each is off by half its small unit at most."""
    day, found = shown["crew_day"], shown["materials"]
    lines = {line["what"]: line["quantity"] for line in shown["money"]["lines"]}
    paid = sum(line["quantity"] for line in shown["money"]["lines"] if line["category"] == "labor")
    assert paid == pytest.approx(day["paid_person_hours"] * 3600, abs=4)
    for step_skill in {step["skill"] for step in shown["steps"]}:
        standard = math.fsum(step["hours"] for step in shown["steps"] if step["skill"] == step_skill)
        expected = standard * shown["pace"]["stretch"] * 3600
        assert lines.get(f"field work: {step_skill}", 0) == pytest.approx(expected, abs=0.6)
    parts_of_mile = day["crew_days"] * day["round_trip_miles"] * 1000
    assert lines.get("vehicle: crew-days x round trip", 0) == pytest.approx(parts_of_mile, abs=0.6)
    crew_seconds = field_hours / day["crew_sent"] * 3600
    assert lines.get("equipment: field crew-hours", crew_seconds) == pytest.approx(crew_seconds, abs=0.6)
    assert lines.get("fuel", 0) == pytest.approx(found["fuel_l"] * 1e6, abs=0.6)
    assert lines.get("blades", 0) == pytest.approx(found["blades"] * 1000, abs=0.6)
    assert lines.get("debris bags", 0) == found["bags"]
    for product, volume_l in found["product_l"].items():
        assert lines[product] == pytest.approx(volume_l * 1e6, abs=0.6)


def round_half_up(dollars_e4):
    return math.floor(dollars_e4 / 100 + Fraction(1, 2))


def recompute_money(shown):
    money = shown["money"]
    exact = dict.fromkeys(CATEGORIES, Fraction(0))
    by_survey = Fraction(0)
    for line in money["lines"]:
        amount = Fraction(line["quantity"], line["units_in_priced_unit"]) * Fraction(line["price_e4"])
        assert Fraction(line["amount_e4"]) == amount
        assert float(line["amount_shown"]) == pytest.approx(float(amount) / 10_000, abs=5.1e-5)
        exact[line["category"]] += amount
        by_survey += amount if line["moves_with"] == "survey" else 0
    for category, amount in exact.items():
        assert money[f"{category}_cents"] == round_half_up(amount)
    total = sum(money[f"{category}_cents"] for category in CATEGORIES)
    assert money["total_cents"] == total
    recompute_money_range(shown, total, float(by_survey) / 100)


def recompute_money_range(shown, total, by_survey):
    money, sds = shown["money"], shown["field_person_hours"]
    by_hours, survey_sd = total - by_survey, sds["survey_log_sd"]
    sd = math.sqrt(sds["shared_log_sd"] ** 2 + sds["own_log_sd"] ** 2 + survey_sd**2)

    def point(z):
        return by_hours * math.exp(z * sd) + by_survey * math.exp(z * survey_sd)

    assert money["low_cents"] == pytest.approx(point(-Z[0.9]), abs=0.6, rel=1e-6)
    assert money["high_cents"] == pytest.approx(point(Z[0.9]), abs=0.6, rel=1e-6)
    mean = by_hours * math.exp(sd**2 / 2) + by_survey * math.exp(survey_sd**2 / 2)
    assert money["mean_cents"] == pytest.approx(mean, abs=0.6, rel=1e-9)
    asked = point(Z[money["contingency_level"]]) - total
    assert money["contingency_cents"] == pytest.approx(asked, abs=0.6, rel=1e-6)


def recompute_contract(shown):
    terms = shown["money"]["contract"]
    if terms is None:
        assert shown["money"]["contract_cents"] == -1
        return
    by_area = Fraction(terms["treated_area_m2"] * terms["price_e4_per_ha"], 10_000)
    assert shown["money"]["contract_cents"] == round_half_up(max(by_area, Fraction(terms["minimum_e4"])))


def recompute_range(shown):
    hours, found = shown["range"], shown["range"]["drivers"]
    sd = math.sqrt(math.fsum(driver["log_sd"] ** 2 for driver in found))
    assert hours["low_hours"] == pytest.approx(hours["likely_hours"] * math.exp(-Z[0.9] * sd), rel=1e-6)
    assert hours["high_hours"] == pytest.approx(hours["likely_hours"] * math.exp(Z[0.9] * sd), rel=1e-6)
    assert hours["mean_hours"] == near(hours["likely_hours"] * math.exp(sd**2 / 2))
    for driver in found:
        assert driver["share_of_variance"] == near(driver["log_sd"] ** 2 / sd**2)
        assert driver["high_hours"] == pytest.approx(hours["likely_hours"] * math.exp(Z[0.9] * driver["log_sd"]))
    assert hours["reasons"] == [driver["text"] for driver in found[:3]]


def check(result):
    """All that can be done again from the explanation of each job alone, after it went through JSON."""
    for job in range(len(result.jobs)):
        shown = json.loads(json.dumps(explain(result, job), allow_nan=False))
        if not shown["ok"]:
            assert shown["money"]["total_cents"] == 0
            continue
        field_hours = recompute_field_hours(shown, recompute_steps(shown))
        assert shown["field_person_hours"]["likely"] == near(field_hours)
        assert shown["range"]["likely_hours"] == near(field_hours)
        recompute_crew_day(shown, field_hours)
        recompute_quantities(shown, field_hours)
        recompute_money(shown)
        recompute_contract(shown)
        recompute_range(shown)


@st.composite
def facts(draw):
    patch = make.patches(
        gross_area_m2=[draw(st.floats(200, 80_000))],
        slope_deg=[draw(st.floats(0, 45))],
        ground=[draw(st.integers(0, 3))],
        wet_ground=[draw(st.integers(0, 2))],
        repeat_year=[draw(st.integers(1, 4))],
        walk_in_distance_m=[draw(st.floats(0, 900))],
        drive_minutes=[draw(st.floats(0, 70))],
        drive_km=[draw(st.floats(0, 60))],
        area_mapped=[draw(st.booleans())],
    )
    count = draw(st.integers(1, 4))
    area_m2 = float(patch.gross_area_m2[0]) / count
    parts = make.components(
        [0] * count,
        form=[draw(st.sampled_from(FORMS)) for _ in range(count)],
        cover=[draw(st.floats(0.01, 1)) for _ in range(count)],
        infested_area_m2=[draw(st.floats(0.05, 1)) * area_m2 for _ in range(count)],
        height_m=[draw(st.floats(0, 20)) for _ in range(count)],
        cut_height_m=[draw(st.one_of(st.just(math.nan), st.floats(0.3, 6))) for _ in range(count)],
        reroots=[draw(st.integers(0, 2)) for _ in range(count)],
        stems=[[draw(st.one_of(st.just(math.nan), st.integers(0, 900))) for _ in range(3)] for _ in range(count)],
    )
    return patch, parts


@st.composite
def crew_days(draw):
    people = {"crew lead": 1, "crew member": draw(st.integers(0, 7)), "certified applicator": draw(st.integers(0, 2))}
    return make.book().crew_day(
        people,
        pace={"crew member": draw(st.floats(0.3, 1.5))},
        new_workers=draw(st.integers(0, 1)),
        day_in_heat=draw(st.integers(1, 6)),
        air_temperature_f=draw(st.one_of(st.none(), st.floats(50, 112))),
        allowance_basis=draw(st.sampled_from(["job", "shift"])),
    )


@settings(max_examples=25, deadline=None, suppress_health_check=[HealthCheck.too_slow])
@given(facts(), crew_days())
def test_it_can_be_done_again_with_a_pencil(pair, crew_day):
    patch, parts = pair
    check(make.estimated(patch, parts, CODES, rate_book=make.book(), crew_day=crew_day, prices=PRICES))


@pytest.mark.parametrize(("mix", "method"), [(LEAF, "dormant-foliar"), (LEAF, "spot-foliar"), (STEM, "cut-stem")])
@settings(max_examples=15, deadline=None, suppress_health_check=[HealthCheck.too_slow])
@given(pair=facts(), crew_day=crew_days())
def test_it_can_be_done_again_where_herbicide_is_mixed(mix, method, pair, crew_day):
    jobs = with_mix(pair, method)
    given = {"rate_book": make.book(), "jobs": jobs, "mixes": [mix], "crew_day": crew_day, "prices": PRICES}
    check(make.estimated(*pair, **given))
